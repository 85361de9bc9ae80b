/** The time of day, "14:32", as this machine writes it. */
export function timeWords(atMs: number): string {
  return new Date(atMs).toLocaleTimeString([], { hour: '2-digit', minute: '2-digit' });
}

/** The day, "4 Mar", as this machine writes it. */
export function dayWords(atMs: number): string {
  return new Date(atMs).toLocaleDateString([], { day: 'numeric', month: 'short' });
}
