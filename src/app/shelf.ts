import { type DBSchema, type IDBPDatabase, openDB } from 'idb';
import { failed, good, type Outcome } from '../base/failure.ts';
import type { Book } from '../project/book.ts';
import { type BookFile, packBookFile, unpackBookFile } from '../project/bookFile.ts';
import { readBook, writeBook } from '../project/schema.ts';
import { isSameFile } from './fileKinds.ts';

interface ShelfSchema extends DBSchema {
  books: { key: string; value: { id: string; shotName: string; savedAt: number; json: string } };
  /** A packed book file holds the reading; the decisions in `books` are newer and win. */
  readings: { key: string; value: { id: string; packed: Uint8Array } };
  /** Takes as they were kept before pictures could be added to them: all files in one entry. Only read any more. */
  takes: { key: string; value: { id: string; files: File[] } };
  /** Files of takes, one entry each, so that one more still does not write all others again. */
  takeFiles: { key: [take: string, place: number]; value: KeptFile };
  /** Folders from which the pictures of a take come while it is shot. */
  folders: { key: string; value: { id: string; folder: FileSystemDirectoryHandle } };
}

interface KeptFile {
  take: string;
  /** From 0 up. */
  place: number;
  file: File;
}

/** A book as the shelf lists it. */
export interface ShelvedBook {
  readonly id: string;
  readonly shotName: string;
  /** Milliseconds since 1970. */
  readonly savedAt: number;
}

/** A book taken from the shelf; `files` is empty when the take itself could not be kept. */
export interface OpenedBook extends BookFile {
  readonly id: string;
  readonly files: readonly File[];
}

/**
 * Where books wait in this browser between sessions. Every write is one transaction, so that a crash leaves the state
 * before or after it, never half of it. Failures of the storage are outcomes: work goes on without it.
 */
export class Shelf {
  private constructor(private readonly db: IDBPDatabase<ShelfSchema>) {}

  /** Opens the shelf, or null where the browser gives no storage (a private window, say). */
  static async open(): Promise<Shelf | null> {
    try {
      const db = await openDB<ShelfSchema>('nudgebook', 2, {
        upgrade(fresh, from) {
          if (from < 1) {
            fresh.createObjectStore('books', { keyPath: 'id' });
            fresh.createObjectStore('readings', { keyPath: 'id' });
            fresh.createObjectStore('takes', { keyPath: 'id' });
          }
          fresh.createObjectStore('takeFiles', { keyPath: ['take', 'place'] });
          fresh.createObjectStore('folders', { keyPath: 'id' });
        },
        // A page of a newer version waits for this one: its books are not to be held up.
        blocking: (_from, _to, event) => (event.target as IDBDatabase).close(),
      });
      return new Shelf(db);
    } catch {
      return null;
    }
  }

  /** All books, newest first. */
  async list(): Promise<ShelvedBook[]> {
    const all = await this.db.getAll('books');
    return all.map(({ id, shotName, savedAt }) => ({ id, shotName, savedAt })).sort((a, b) => b.savedAt - a.savedAt);
  }

  /**
   * Keeps the decisions. Called after every edit.
   * @param isBeside it is not the book that is worked on: it stays where it is among the others.
   */
  async keepBook(id: string, book: Book, isBeside = false): Promise<Outcome<null>> {
    return this.guarded('Your plan', async () => {
      const savedAt = (isBeside && (await this.db.get('books', id))?.savedAt) || Date.now();
      await this.db.put('books', { id, shotName: book.shotName, savedAt, json: writeBook(book) });
    });
  }

  /** Keeps what was read so far, so that a half-read take goes on where it stopped. */
  async keepReading(id: string, file: BookFile): Promise<Outcome<null>> {
    return this.guarded('What was read of the take', async () => {
      await this.db.put('readings', { id, packed: packBookFile(file) });
    });
  }

  /** Keeps the take's own files. Those that are there already, at their place, are not written again. */
  async keepTake(id: string, files: readonly File[]): Promise<Outcome<null>> {
    return this.guarded('This take', async () => {
      const tx = this.db.transaction(['takes', 'takeFiles'], 'readwrite');
      const store = tx.objectStore('takeFiles');
      const kept = await store.getAll(placesOf(id));
      const writes: Promise<unknown>[] = [tx.objectStore('takes').delete(id)];
      for (const { place, file } of kept) {
        const now = files[place];
        if (!now || !isSameFile(now, file)) writes.push(store.delete([id, place]));
      }
      for (const [place, file] of files.entries())
        if (!kept.some((k) => k.place === place && isSameFile(k.file, file)))
          writes.push(store.put({ take: id, place, file }));
      await Promise.all([...writes, tx.done]);
    });
  }

  /** Keeps from which folder a take's pictures come; null = from none any more. */
  async keepFolder(id: string, folder: FileSystemDirectoryHandle | null): Promise<Outcome<null>> {
    return this.guarded('Which folder is watched', async () => {
      if (folder) await this.db.put('folders', { id, folder });
      else await this.db.delete('folders', id);
    });
  }

  /** The folder from which a take's pictures come; null = from none. */
  async folder(id: string): Promise<FileSystemDirectoryHandle | null> {
    return (await this.db.get('folders', id))?.folder ?? null;
  }

  /** A book with its reading and its take. Fails as reading a book file does. */
  async take(id: string): Promise<Outcome<OpenedBook>> {
    const [book, reading, files] = await Promise.all([
      this.db.get('books', id),
      this.db.get('readings', id),
      this.files(id),
    ]);
    if (!book)
      return failed('book-unreadable', 'This book is no longer on the shelf. Open it from its file, or begin anew.');
    const decisions = readBook(book.json);
    if (!decisions.ok) return decisions;
    const read = reading ? unpackBookFile(reading.packed) : null;
    return good({
      id,
      book: decisions.value,
      reading: read?.ok ? read.value.reading : null,
      ...(read?.ok && read.value.sources ? { sources: read.value.sources } : {}),
      files,
    });
  }

  /** The files of a book's take; empty when they were not kept. */
  async files(id: string): Promise<readonly File[]> {
    const kept = await this.db.getAll('takeFiles', placesOf(id));
    if (kept.length > 0) return kept.map(({ file }) => file);
    return (await this.db.get('takes', id))?.files ?? [];
  }

  /** Takes a book off the shelf for good. */
  async discard(id: string): Promise<void> {
    const tx = this.db.transaction(['books', 'readings', 'takes', 'takeFiles', 'folders'], 'readwrite');
    await Promise.all([
      tx.objectStore('books').delete(id),
      tx.objectStore('readings').delete(id),
      tx.objectStore('takes').delete(id),
      tx.objectStore('takeFiles').delete(placesOf(id)),
      tx.objectStore('folders').delete(id),
      tx.done,
    ]);
  }

  private async guarded(what: string, write: () => Promise<void>): Promise<Outcome<null>> {
    try {
      await write();
      return good(null);
    } catch (error) {
      const isFull = error instanceof DOMException && error.name === 'QuotaExceededError';
      return failed(
        'storage-full',
        isFull
          ? `No room left in this browser: ${what.toLowerCase()} could not be kept. Everything is still open here. Save the book to a file now (Book → Save to a file).`
          : `${what} could not be kept in this browser. Everything is still open here. Save the book to a file now (Book → Save to a file).`,
      );
    }
  }
}

/** All places of a take's files. */
function placesOf(id: string): IDBKeyRange {
  return IDBKeyRange.bound([id, 0], [id, Number.POSITIVE_INFINITY]);
}
