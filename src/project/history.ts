import type { Prop } from '../track/prop.ts';
import type { Book } from './book.ts';
import { applyEdit, type Edit, editLabel } from './edits.ts';
import { applyShooting, type ShootingEdit } from './shooting.ts';

/** One step that undo takes back: the book before it, and what the step was called. */
interface Step {
  readonly before: Book;
  readonly label: string;
  /** Edits of one gesture (a drag, a burst of typing) share it and are one step; null = a step of its own. */
  readonly gesture: string | null;
  /** What was said in the shot's own book instead, while this book stayed as it is. */
  readonly marks: MarksChange | null;
}

/**
 * Marked points of the shot that lies beside the plan, which are kept in its own book, before and after something was said of one. To the
 * animator it is one more thing done on the same screen, so it is undone in the order in which things were done.
 */
export interface MarksChange {
  readonly bookId: string;
  /** Of the point that something was said of. */
  readonly name: string;
  readonly before: readonly Prop[];
  /** The same as before where a joint was only passed as not seen. */
  readonly after: readonly Prop[];
}

/**
 * A book with its past and its undone future. Books are small and immutable, so the past is a list of whole books.
 * Immutable itself.
 */
export interface History {
  readonly book: Book;
  readonly past: readonly Step[];
  readonly future: readonly Step[];
}

/** The history after something happened at the set. It is no step: undo leaves it as it is. */
export function note(history: History, edit: ShootingEdit): History {
  const shooting = applyShooting(history.book.shooting, edit);
  return shooting === history.book.shooting ? history : { ...history, book: { ...history.book, shooting } };
}

/** A book of another time, with what has been shot by now. */
function asShot(book: Book, { book: { shooting } }: History): Book {
  return book.shooting === shooting ? book : { ...book, shooting };
}

/** More steps than anyone takes back in a session; bounds the memory. */
const mostSteps = 500;

/** A history that begins with this book and has nothing to undo. */
export function beginHistory(book: Book): History {
  return { book, past: [], future: [] };
}

/**
 * The history after one more edit. What had been undone is dropped. Edits with the same `gesture` in a row merge into one step. Of
 * retimings in one gesture the last counts alone, as if it had been the first: a key that is dragged to and fro takes along what
 * is written at frames once, not at every step.
 */
export function record(history: History, edit: Edit, gesture: string | null = null): History {
  const last = history.past.at(-1);
  const merges = gesture !== null && last?.gesture === gesture && history.future.length === 0;
  const book = applyEdit(merges && edit.kind === 'retime' ? asShot(last.before, history) : history.book, edit);
  const past = merges
    ? history.past
    : [...history.past, { before: history.book, label: editLabel(edit), gesture, marks: null }];
  return { book, past: past.slice(-mostSteps), future: [] };
}

/** The history after something was said of the shot's marked points. What had been undone is dropped. */
export function recordMarks(history: History, marks: MarksChange, label: string): History {
  const step = { before: history.book, label, gesture: null, marks };
  return { ...history, past: [...history.past, step].slice(-mostSteps), future: [] };
}

/** One step back; the same history when there is none. */
export function undo(history: History): History {
  const step = history.past.at(-1);
  if (!step) return history;
  return {
    book: asShot(step.before, history),
    past: history.past.slice(0, -1),
    future: [{ ...step, before: history.book }, ...history.future],
  };
}

/** One step forward again; the same history when nothing was undone. */
export function redo(history: History): History {
  const step = history.future[0];
  if (!step) return history;
  return {
    book: asShot(step.before, history),
    // A redone step is closed: a later edit of the same gesture must not merge into it.
    past: [...history.past, { ...step, before: history.book, gesture: null }],
    future: history.future.slice(1),
  };
}

/** What undo would take back ("move key"), or null. */
export function undoLabel(history: History): string | null {
  return history.past.at(-1)?.label ?? null;
}

/** What redo would bring back, or null. */
export function redoLabel(history: History): string | null {
  return history.future[0]?.label ?? null;
}

/** The marked points that undo would change back to what they were before, or null: it changes the book. */
export function undoMarks(history: History): MarksChange | null {
  return history.past.at(-1)?.marks ?? null;
}

/** The marked points that redo would change again, or null. */
export function redoMarks(history: History): MarksChange | null {
  return history.future[0]?.marks ?? null;
}
