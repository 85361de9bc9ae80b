import type { Failure, Outcome } from '../base/failure.ts';
import type { Book } from '../project/book.ts';
import type { BookFile } from '../project/bookFile.ts';
import { type OpenedBook, Shelf, type ShelvedBook } from './shelf.ts';

/** Keeps books in this browser while they are worked on. Where there is no storage, work goes on without. */
export class Keeping {
  /** Books on the shelf, newest first. */
  shelved = $state.raw<readonly ShelvedBook[]>([]);
  /** False from an edit until the shelf has it. */
  kept = $state(true);
  readonly #onFailure: (failure: Failure) => void;
  #shelf: Shelf | null = null;
  #newest: Book | null = null;
  #queue: Promise<void> = Promise.resolve();

  /** @param onFailure hears why something could not be kept. */
  constructor(onFailure: (failure: Failure) => void) {
    this.#onFailure = onFailure;
  }

  /** Looks what is on the shelf. */
  async open(): Promise<void> {
    this.#shelf = await Shelf.open();
    await this.#list();
  }

  /** A book from the shelf with its reading and its take; null without storage. */
  async take(id: string): Promise<Outcome<OpenedBook> | null> {
    return (await this.#shelf?.take(id)) ?? null;
  }

  /** The files of a book's take; empty when they are not here. */
  async files(id: string): Promise<readonly File[]> {
    return (await this.#shelf?.files(id)) ?? [];
  }

  /** Keeps the decisions. @param isBeside it is not the book that is worked on, which is the one that is opened first. */
  keepBook(id: string, book: Book, isBeside = false): void {
    this.#newest = book;
    if (!this.#shelf) return;
    this.kept = false;
    this.#inTurn(async (shelf) => {
      const outcome = await shelf.keepBook(id, book, isBeside);
      if (outcome.ok) {
        if (book === this.#newest) this.kept = true;
        await this.#list();
      }
      return outcome;
    });
  }

  /** Keeps what was read so far. */
  keepReading(id: string, file: BookFile): void {
    this.#inTurn((shelf) => shelf.keepReading(id, file));
  }

  /** Keeps the take's own files. */
  keepTake(id: string, files: readonly File[]): void {
    this.#inTurn((shelf) => shelf.keepTake(id, files));
  }

  /** Keeps from which folder a take's pictures come; null = from none any more. */
  keepFolder(id: string, folder: FileSystemDirectoryHandle | null): void {
    this.#inTurn((shelf) => shelf.keepFolder(id, folder));
  }

  /** The folder from which a take's pictures come; null = from none, or without storage. */
  async folder(id: string): Promise<FileSystemDirectoryHandle | null> {
    return (await this.#shelf?.folder(id)) ?? null;
  }

  /** Takes a book off the shelf for good. */
  async discard(id: string): Promise<void> {
    await this.#shelf?.discard(id);
    await this.#list();
  }

  /** Settles when all that was given to be kept so far is kept. */
  settled(): Promise<void> {
    return this.#queue;
  }

  /** One after another: a slow write must not overtake a later one. */
  #inTurn(write: (shelf: Shelf) => Promise<Outcome<null>>): void {
    const shelf = this.#shelf;
    if (!shelf) return;
    this.#queue = this.#queue.then(async () => {
      const outcome = await write(shelf);
      if (!outcome.ok) this.#onFailure(outcome.failure);
    });
  }

  async #list(): Promise<void> {
    this.shelved = (await this.#shelf?.list()) ?? [];
  }
}
