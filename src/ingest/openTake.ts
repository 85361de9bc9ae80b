import { failed, good, type Outcome } from '../base/failure.ts';
import type { Footage } from '../base/footage.ts';
import type { Picture, PixelWay } from './picture.ts';
import { refuseEmpty } from './refusals.ts';
import type { Settled } from './settle.ts';
import { openStills } from './stillsTake.ts';
import { openVideo } from './videoTake.ts';
import { failureOf } from './worldFailure.ts';

/** A take whose pictures can be read. Works in a worker and on the page. */
export interface OpenTake {
  /** What the file promises: its frame table, sizes and known oddities. Decoding may teach more (see `settle`). */
  readonly footage: Footage;
  /**
   * The pictures in order, from table place `from` (default 0) on; places that cannot be decoded are left out. The
   * receiver closes each. Asking for the next one before closing the last makes decoding overlap with work.
   * @throws WorldFailure (see `failureOf`).
   */
  pictures(from?: number): AsyncGenerator<Picture, void, undefined>;
  /** The footage as decoding left it, once `pictures()` ran from 0 to its end. @throws WorldFailure when nothing was usable. */
  settle(): Settled;
  /** Takes it that the first `count` pictures decode, as an earlier reading found: `pictures` may then begin behind them. */
  trustDecoded(count: number): void;
  /** The table place of the picture with this own time stamp of the file, or −1. */
  placeOfStamp(stampSec: number): number;
  /** How pixels are read; null while the first pictures are still being timed. */
  pixelWay(): PixelWay | null;
  /** Lets go of the file. */
  close(): void;
}

/** How a take is opened. */
export interface OpenOptions {
  /** Pictures per second of numbered stills. Default 24. */
  readonly stillsRate?: number;
  /** Read pixels this way instead of timing both. */
  readonly pixelWay?: PixelWay;
}

/** A video, or the numbered stills of a take, in any order. */
export type TakeSource = File | readonly File[];

/**
 * Opens a video file or numbered stills. Failures: `file-empty`, `file-unreadable`, `not-a-video`, `no-video-track`,
 * `unfinished-recording`, `codec-unsupported`, `take-too-short`, `stills-mixed`.
 */
export async function openTake(source: TakeSource, options: OpenOptions = {}): Promise<Outcome<OpenTake>> {
  const files = source instanceof File ? [source] : source;
  try {
    const only = files[0];
    if (files.length === 0 || only === undefined)
      return failed('not-a-video', 'Nothing was chosen. Choose a video, or all numbered stills of a take together.');
    if (files.length > 1) return good(await openStills(files, options));
    if (only.size === 0) throw refuseEmpty();
    return good(await openVideo(only, options));
  } catch (error) {
    return { ok: false, failure: failureOf(error) };
  }
}
