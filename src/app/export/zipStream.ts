import { Zip, ZipDeflate, ZipPassThrough } from 'fflate';
import { nextTurn } from '../slices.ts';

/** So much is packed before the page may draw and listen, bytes. */
const sliceBytes = 256 * 1024;
/** So much is held as an array before it is handed to the browser as a blob, which need not stay in memory. */
const heldBytes = 4 * 1024 * 1024;

/** A zip that is written file by file: of each no more than a slice is being packed at a time. */
export class ZipStream {
  readonly #zip: Zip;
  readonly #blobs: Blob[] = [];
  #held: Uint8Array[] = [];
  #heldBytes = 0;
  #count = 0;
  #failure: Error | null = null;

  constructor() {
    this.#zip = new Zip((error, chunk) => {
      if (error) this.#failure = error;
      else this.#keep(chunk);
    });
  }

  /** Files so far. */
  get count(): number {
    return this.#count;
  }

  /**
   * Adds a file, and settles when it is in. @param name path with "/" in between; no two alike. Pictures, movies and zips are stored as
   * they are, since they are packed already. @throws Error when it cannot be packed.
   */
  async add(name: string, content: Uint8Array | Blob | string): Promise<void> {
    const isPacked = /\.(png|mp4|webm|nudgebook|zip)$/.test(name);
    const entry = isPacked ? new ZipPassThrough(name) : new ZipDeflate(name, { level: 6 });
    this.#zip.add(entry);
    const blob = content instanceof Blob ? content : new Blob([content as BlobPart]);
    for (let from = 0; from < blob.size; from += sliceBytes) {
      entry.push(new Uint8Array(await blob.slice(from, from + sliceBytes).arrayBuffer()), false);
      await nextTurn();
      if (this.#failure) throw this.#failure;
    }
    entry.push(new Uint8Array(0), true);
    this.#count++;
    await nextTurn();
    if (this.#failure) throw this.#failure;
  }

  /** The zip, once all files are in. */
  finish(): Blob {
    this.#zip.end();
    this.#release();
    return new Blob(this.#blobs, { type: 'application/zip' });
  }

  #keep(chunk: Uint8Array): void {
    // What is handed out may be written over afterwards.
    this.#held.push(chunk.slice());
    this.#heldBytes += chunk.length;
    if (this.#heldBytes >= heldBytes) this.#release();
  }

  #release(): void {
    this.#blobs.push(new Blob(this.#held as BlobPart[]));
    this.#held = [];
    this.#heldBytes = 0;
  }
}
