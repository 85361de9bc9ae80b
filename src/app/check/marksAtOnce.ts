import { readProps } from '../../project/schema.ts';
import type { Prop } from '../../track/prop.ts';

// Joints are pressed quickly, one after the other, and the shelf writes a moment later: a page that is closed in this moment would lose
// the last. Here writing is over when the call returns.
const marksOf = (bookId: string) => `nudgebook-marks ${bookId}`;

/** Keeps the marked points of a shot's book, before returning. Where there is no storage the shelf alone has to do. */
export function keepMarksAtOnce(bookId: string, props: readonly Prop[]): void {
  try {
    localStorage.setItem(marksOf(bookId), JSON.stringify(props));
  } catch {
    // A private window, or no room: the shelf's own failure is told.
  }
}

/** What `keepMarksAtOnce` kept last of a book; null = nothing that the shelf did not have. */
export function marksKeptAtOnce(bookId: string): readonly Prop[] | null {
  return readProps(stored(bookId) ?? '');
}

/** The shelf has these marked points; newer ones stay kept here. */
export function forgetMarks(bookId: string, props: readonly Prop[]): void {
  if (stored(bookId) === JSON.stringify(props)) localStorage.removeItem(marksOf(bookId));
}

function stored(bookId: string): string | null {
  try {
    return localStorage.getItem(marksOf(bookId));
  } catch {
    return null;
  }
}
