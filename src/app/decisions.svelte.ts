import type { Book } from '../project/book.ts';
import { newBook } from '../project/book.ts';
import type { Edit } from '../project/edits.ts';
import { beginHistory, type History, note, record, redo, redoLabel, undo, undoLabel } from '../project/history.ts';
import type { ShootingEdit } from '../project/shooting.ts';

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

  /** Notes what happened at the set, which undo leaves alone. */
  note(edit: ShootingEdit): void {
    this.#history = note(this.#history, edit);
  }

  /** One step back. @returns what was taken back, or null when there was nothing. */
  undo(): string | null {
    const label = this.undoLabel;
    this.#history = undo(this.#history);
    return label;
  }

  /** One step forward again. @returns what was brought back, or null when nothing was undone. */
  redo(): string | null {
    const label = this.redoLabel;
    this.#history = redo(this.#history);
    return label;
  }
}
