/** A take time as "1:04.25" or "4.25 s". */
export function takeTime(sec: number): string {
  if (sec < 60) return `${sec.toFixed(2)} s`;
  const minutes = Math.floor(sec / 60);
  return `${minutes}:${(sec - minutes * 60).toFixed(2).padStart(5, '0')}`;
}
