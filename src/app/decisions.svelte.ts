import type { Book } from '../project/book.ts';
import { newBook } from '../project/book.ts';
import type { Edit } from '../project/edits.ts';
import {
  beginHistory,
  type History,
  type MarksChange,
  note,
  record,
  recordMarks,
  redo,
  redoLabel,
  redoMarks,
  undo,
  undoLabel,
  undoMarks,
} from '../project/history.ts';
import type { ShootingEdit } from '../project/shooting.ts';

/** What undo took back, or redo brought back. */
interface StepTaken {
  readonly label: string;
  /** Marked points of the shot's own book; null = the book itself changed. */
  readonly marks: MarksChange | null;
}

/** The animator's book with its past and its undone future, as the screen follows it. */
export class Decisions {
  #history = $state.raw<History>(beginHistory(newBook('')));
  readonly book = $derived<Book>(this.#history.book);
  #lastDecided: Book | null = null;
  /** The book for whatever is computed: the same object while only shooting goes on, so that a mark computes nothing again. */
  readonly decided = $derived.by<Book>(() => {
    const { book } = this;
    const before = this.#lastDecided;
    const isSame = before && Object.entries(book).every(([k, v]) => k === 'shooting' || before[k as keyof Book] === v);
    this.#lastDecided = isSame ? before : book;
    return this.#lastDecided;
  });
  /** What undo would take back ("move key"), or null. */
  readonly undoLabel = $derived(undoLabel(this.#history));
  /** What redo would bring back, or null. */
  readonly redoLabel = $derived(redoLabel(this.#history));

  /** Another book, with nothing to undo. */
  begin(book: Book): void {
    this.#history = beginHistory(book);
  }

  /** Records a decision. Edits of one gesture share `gesture` and are undone together. */
  record(edit: Edit, gesture: string | null): void {
    this.#history = record(this.#history, edit, gesture);
  }

  /** Records what was said of marked points in the shot's own book, which is undone in order with everything else. */
  mark(marks: MarksChange, label: string): void {
    this.#history = recordMarks(this.#history, marks, label);
  }

  /** Notes what happened at the set, which undo leaves alone. */
  note(edit: ShootingEdit): void {
    this.#history = note(this.#history, edit);
  }

  /** One step back. @returns what was taken back, or null when there was nothing; `marks` where the book stays as it is. */
  undo(): StepTaken | null {
    const step = { label: this.undoLabel, marks: undoMarks(this.#history) };
    this.#history = undo(this.#history);
    return step.label === null ? null : { ...step, label: step.label };
  }

  /** One step forward again. @returns what was brought back, or null when nothing was undone. */
  redo(): StepTaken | null {
    const step = { label: this.redoLabel, marks: redoMarks(this.#history) };
    this.#history = redo(this.#history);
    return step.label === null ? null : { ...step, label: step.label };
  }
}
