import { assert } from '../base/assert.ts';
import type { Failure } from '../base/failure.ts';
import type { Footage } from '../base/footage.ts';
import { WorkerCalls } from './calls.ts';
import type { TakeSource } from './openTake.ts';
import { PictureStore, runFor } from './pictureStore.ts';
import type { PictureCalls } from './picturesProtocol.ts';

/** How pictures are shown. */
export interface PicturesOptions {
  /** The longer side of the bitmaps, pixels. Default 960. Never more than the footage's own. */
  readonly longestSidePx?: number;
  /** Memory that bitmaps may take, bytes. Default 160 MB: 80 pictures of 960 × 540. */
  readonly bytes?: number;
  /** Pictures per second of numbered stills. Default 24. */
  readonly stillsRate?: number;
  /** Hears why no more pictures come, once. */
  readonly onFailure?: (failure: Failure) => void;
}

/**
 * The exact pictures of a take as bitmaps at view size, for scrubbing, stepping and playing: decoded in a worker, kept by
 * index in bounded memory, neighbours fetched in advance. (A video element's seeking shows a neighbouring picture about
 * one time in three, so it is not used.)
 */
export class TakePictures {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly #footage: Footage;
  readonly #options: PicturesOptions;
  readonly #calls = new WorkerCalls<PictureCalls>(
    new Worker(new URL('./pictures.worker.ts', import.meta.url), { type: 'module', name: 'pictures' }),
  );
  readonly #store: PictureStore<ImageBitmap>;
  readonly #waiting = new Map<number, ((bitmap: ImageBitmap | null) => void)[]>();
  readonly #listeners = new Set<(index: number) => void>();
  #run: { readonly indices: readonly number[]; next: number; readonly stop: AbortController } | null = null;
  #wanted = 0;
  #direction: 1 | -1 = 1;
  #failed = false;
  #closed = false;

  /** @param footage as reading settled it; its times find the pictures in the file again. */
  constructor(source: TakeSource, footage: Footage, options: PicturesOptions = {}) {
    this.#footage = footage;
    this.#options = options;
    const longest = Math.max(footage.widthPx, footage.heightPx);
    const scale = Math.min(1, (options.longestSidePx ?? 960) / longest);
    this.widthPx = Math.max(1, Math.round(footage.widthPx * scale));
    this.heightPx = Math.max(1, Math.round(footage.heightPx * scale));
    const capacity = Math.max(8, Math.floor((options.bytes ?? 160e6) / (4 * this.widthPx * this.heightPx)));
    this.#store = new PictureStore(capacity, (bitmap) => bitmap.close());
    const stampsSec = footage.timesSec.map((time) => time + footage.firstStampSec);
    void this.#calls
      .call('show', {
        source: source instanceof File ? source : [...source],
        stillsRate: options.stillsRate ?? 24,
        stampsSec,
      })
      .then((outcome) => {
        if (!outcome.ok) this.#fail(outcome.failure);
      });
  }

  /**
   * The bitmap of a picture if it is at hand: null where the file is damaged; undefined while it is not fetched. It stays
   * ours and may be closed when others are fetched: draw it now, do not keep it.
   */
  atHand(index: number): ImageBitmap | null | undefined {
    return this.#store.get(index);
  }

  /**
   * Fetches a picture and its neighbours in the direction of travel. Resolves with the bitmap (as `atHand`), null where
   * the file is damaged, fetching failed or `close` was called.
   */
  picture(index: number): Promise<ImageBitmap | null> {
    assert(index >= 0 && index < this.#footage.timesSec.length, `picture ${index} of ${this.#footage.timesSec.length}`);
    if (index !== this.#wanted) this.#direction = index > this.#wanted ? 1 : -1;
    this.#wanted = index;
    this.#store.focus = index;
    const here = this.#store.get(index);
    if (here === undefined && !this.#failed && !this.#closed) {
      const arrives = new Promise<ImageBitmap | null>((resolve) => {
        this.#waiting.set(index, [...(this.#waiting.get(index) ?? []), resolve]);
      });
      this.#fetch();
      return arrives;
    }
    this.#fetch();
    return Promise.resolve(here ?? null);
  }

  /** Hears of each picture that comes to hand; the returned function ends that. */
  listen(listener: (index: number) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  /**
   * Small pictures at some indices, in their order; null where the file is damaged. They are the caller's: close them.
   * @param heightPx their height; the width follows.
   * @param onEach hears of each as it is made, by place in `indices`.
   */
  async thumbnails(
    indices: readonly number[],
    heightPx: number,
    onEach?: (place: number, bitmap: ImageBitmap | null) => void,
    signal?: AbortSignal,
  ): Promise<(ImageBitmap | null)[]> {
    const widthPx = Math.max(1, Math.round((heightPx * this.#footage.widthPx) / this.#footage.heightPx));
    const rising = [...new Set(indices)].sort((a, b) => a - b);
    const made: (ImageBitmap | null)[] = indices.map(() => null);
    await this.#calls.call(
      'bitmaps',
      { indices: rising, widthPx, heightPx },
      {
        signal,
        onProgress: ({ index, bitmap }) => {
          for (const [place, wanted] of indices.entries()) {
            if (wanted !== index) continue;
            made[place] = bitmap;
            onEach?.(place, bitmap);
          }
        },
      },
    );
    return made;
  }

  /** Ends the worker and releases all bitmaps. */
  close(): void {
    this.#closed = true;
    this.#calls.close();
    this.#settleAll();
    this.#store.clear();
    this.#listeners.clear();
  }

  /** Starts fetching what is wanted, unless the run under way soon brings it. */
  #fetch(): void {
    if (this.#failed || this.#closed) return;
    const indices = runFor(this.#wanted, this.#direction, this.#footage.timesSec.length, this.#store);
    if (indices.length === 0) return;
    if (this.#run) {
      // Only a wanted picture that is missing, and not on its way, is worth breaking off for.
      const coming = this.#run.indices.includes(this.#wanted, this.#run.next);
      if (coming || this.#store.get(this.#wanted) !== undefined) return;
      this.#run.stop.abort();
    }
    const run = { indices, next: 0, stop: new AbortController() };
    this.#run = run;
    void this.#calls
      .call(
        'bitmaps',
        { indices, widthPx: this.widthPx, heightPx: this.heightPx },
        {
          signal: run.stop.signal,
          onProgress: ({ index, bitmap }) => {
            run.next++;
            this.#arrive(index, bitmap);
          },
        },
      )
      .then((outcome) => {
        if (this.#run !== run) return;
        this.#run = null;
        if (outcome.ok) this.#fetch();
        else if (outcome.failure.code !== 'cancelled') this.#fail(outcome.failure);
      });
  }

  #arrive(index: number, bitmap: ImageBitmap | null): void {
    if (this.#closed) {
      bitmap?.close();
      return;
    }
    this.#store.put(index, bitmap);
    const waiting = this.#waiting.get(index) ?? [];
    this.#waiting.delete(index);
    for (const resolve of waiting) resolve(bitmap);
    for (const listener of this.#listeners) listener(index);
    // Those who waited for a picture that nobody comes back to are sent away empty when another is wanted.
    for (const [missed, resolvers] of this.#waiting) {
      if (missed === this.#wanted || this.#run?.indices.includes(missed)) continue;
      this.#waiting.delete(missed);
      for (const resolve of resolvers) resolve(null);
    }
  }

  #fail(failure: Failure): void {
    if (this.#failed || this.#closed) return;
    this.#failed = true;
    this.#settleAll();
    this.#options.onFailure?.(failure);
  }

  #settleAll(): void {
    const waiting = [...this.#waiting.values()].flat();
    this.#waiting.clear();
    for (const resolve of waiting) resolve(null);
  }
}
