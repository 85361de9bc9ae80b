import { readShooting } from '../../project/schema.ts';
import type { Shooting } from '../../project/shooting.ts';

// The shelf writes a moment later, and a page that is closed in this moment loses what it was about to write. What happened
// at the set cannot be done again, so it is also written here, where writing is over when the call returns.
const shootingOf = (bookId: string) => `nudgebook-shooting ${bookId}`;
const place = 'nudgebook-on-set';

/** Keeps how far a book is shot, before returning. Where there is no storage the shelf alone has to do. */
export function keepAtOnce(bookId: string, shooting: Shooting): void {
  try {
    localStorage.setItem(shootingOf(bookId), JSON.stringify(shooting));
  } catch {
    // A private window, or no room: the shelf's own failure is told.
  }
}

/** What `keepAtOnce` kept last of a book; null = nothing that the shelf did not have. */
export function keptAtOnce(bookId: string): Shooting | null {
  return readShooting(stored(shootingOf(bookId)) ?? '');
}

/** The shelf has what was kept up to this many changes. */
export function forgetKept(bookId: string, changes: number): void {
  const kept = keptAtOnce(bookId);
  if (kept && kept.changes <= changes) remove(shootingOf(bookId));
}

/** The book that is being shot on this machine, by its id; null = none: the screen at the set is not open. */
export function onSetBook(): string | null {
  return stored(place);
}

/** The screen at the set is open with this book; null = it is closed. */
export function rememberOnSet(bookId: string | null): void {
  try {
    if (bookId === null) localStorage.removeItem(place);
    else localStorage.setItem(place, bookId);
  } catch {
    // The app begins on another screen then.
  }
}

function stored(key: string): string | null {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}

function remove(key: string): void {
  try {
    localStorage.removeItem(key);
  } catch {
    // There was nothing to remove.
  }
}
