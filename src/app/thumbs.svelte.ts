import type { ShownPictures } from './takeOnScreen.ts';

/** Height of the small pictures, pixels: twice the largest on screen, for dense displays and for print. */
const heightPx = 260;
/** More than a shot has keys, so that moving a key about does not fetch again. */
const mostKept = 80;

/** Small pictures of the take by index, fetched once and kept. */
export class Thumbs {
  /** Rises whenever a picture arrives, so that whoever draws hears of it. */
  #arrivals = $state(0);
  readonly #kept = new Map<number, ImageBitmap | null>();
  #fetching: Promise<void> = Promise.resolve();
  #wanted = new Set<number>();
  #closed = false;

  constructor(private readonly pictures: ShownPictures) {}

  /** The picture, null where the file is damaged, undefined while it is on its way (asked for here). */
  get(index: number): ImageBitmap | null | undefined {
    void this.#arrivals;
    const here = this.#kept.get(index);
    if (here === undefined && !this.#wanted.has(index)) {
      this.#wanted.add(index);
      if (this.#wanted.size === 1) queueMicrotask(() => this.#fetch());
    }
    return here;
  }

  close(): void {
    this.#closed = true;
    for (const bitmap of this.#kept.values()) bitmap?.close();
    this.#kept.clear();
  }

  #fetch(): void {
    // All that was asked for in one turn goes in one run over the file; runs follow one another.
    this.#fetching = this.#fetching.then(async () => {
      const indices = [...this.#wanted];
      if (indices.length === 0 || this.#closed) return;
      await this.pictures.thumbnails(indices, heightPx, (place, bitmap) => this.#keep(indices[place]!, bitmap));
      for (const index of indices) this.#wanted.delete(index);
      if (this.#wanted.size > 0) this.#fetch();
    });
  }

  #keep(index: number, bitmap: ImageBitmap | null): void {
    if (this.#closed) {
      bitmap?.close();
      return;
    }
    this.#kept.set(index, bitmap);
    const oldest = this.#kept.keys().next().value;
    if (this.#kept.size > mostKept && oldest !== undefined) {
      this.#kept.get(oldest)?.close();
      this.#kept.delete(oldest);
    }
    this.#arrivals++;
  }
}
