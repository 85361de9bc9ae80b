/** The choice made last in this browser, if it is one that can be made; null = none was, or nothing is kept here. */
export function keptChoice<T extends string>(place: string, choices: readonly T[]): T | null {
  try {
    const kept = localStorage.getItem(place);
    return choices.find((choice) => choice === kept) ?? null;
  } catch {
    // No storage in a private window.
    return null;
  }
}

/** Remembers a choice in this browser. */
export function keepChoice(place: string, choice: string): void {
  try {
    localStorage.setItem(place, choice);
  } catch {
    // Not remembered then.
  }
}
