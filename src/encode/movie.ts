import {
  BufferTarget,
  CanvasSource,
  canEncodeVideo,
  Mp4OutputFormat,
  Output,
  Quality,
  WebMOutputFormat,
} from 'mediabunny';
import { present } from '../base/assert.ts';
import { failed, good, type Outcome } from '../base/failure.ts';
import { type FrameRate, fpsOf, frameStartSec } from '../base/frameRate.ts';

/** How a movie is stored. */
export interface MovieForm {
  readonly codec: 'avc' | 'vp9' | 'vp8';
  /** What the file's name ends in, without the dot. */
  readonly ending: 'mp4' | 'webm';
  /** Media type of the file. */
  readonly type: 'video/mp4' | 'video/webm';
  /** What the codec is called on screen. */
  readonly words: string;
  /** The file stores times in fractions of the rate itself; else in whole milliseconds. */
  readonly isExact: boolean;
}

/**
 * Best first: H.264 plays everywhere. MP4 also for VP9, because its clock can be the shot's rate itself (24000 ticks a second for
 * 23.976), where WebM's counts whole milliseconds.
 */
const forms: readonly MovieForm[] = [
  { codec: 'avc', ending: 'mp4', type: 'video/mp4', words: 'H.264', isExact: true },
  { codec: 'vp9', ending: 'mp4', type: 'video/mp4', words: 'VP9', isExact: true },
  { codec: 'vp8', ending: 'webm', type: 'video/webm', words: 'VP8', isExact: false },
];

const quality = new Quality('high');
/** Players step backwards by decoding from the key picture before: none is further away than this. */
const keyPictureEverySec = 1;

/**
 * The form in which this browser can write a movie of this size; null where it can write none.
 * @param among codecs that may be used, for tests.
 */
export async function movieForm(
  widthPx: number,
  heightPx: number,
  among: readonly MovieForm['codec'][] = ['avc', 'vp9', 'vp8'],
): Promise<MovieForm | null> {
  for (const form of forms)
    if (among.includes(form.codec) && (await canEncodeVideo(form.codec, { width: widthPx, height: heightPx, quality })))
      return form;
  return null;
}

/** The largest size of whole pairs of pixels that is no larger: H.264 stores colour for 2 × 2 pixels at once. */
export function evenSize(widthPx: number, heightPx: number): { widthPx: number; heightPx: number } {
  const even = (px: number) => Math.max(2, 2 * Math.floor(px / 2));
  return { widthPx: even(widthPx), heightPx: even(heightPx) };
}

/** A movie to be written. */
export interface MovieWish {
  /** Even in both directions (see `evenSize`). */
  readonly canvas: OffscreenCanvas;
  readonly rate: FrameRate;
  readonly form: MovieForm;
  /** Paints the canvas and yields for how many frames (at least 1) what is on it stays. */
  readonly holds: AsyncIterable<number>;
  readonly signal: AbortSignal;
  /** Hears how many frames are written. */
  readonly onFrame?: (framesDone: number) => void;
}

/**
 * Writes a movie in which every frame of the shot is a picture of its own: frame k appears at exactly k / rate. Held ones too, so that a
 * player steps frame by frame as the sheet counts. Fails with `cancelled` or, where the encoder gives up, `codec-unsupported`.
 */
export async function encodeMovie(wish: MovieWish): Promise<Outcome<Uint8Array>> {
  const { canvas, rate, form, signal } = wish;
  const target = new BufferTarget();
  const output = new Output({
    format: form.ending === 'mp4' ? new Mp4OutputFormat({ fastStart: 'in-memory' }) : new WebMOutputFormat(),
    target,
  });
  const source = new CanvasSource(canvas, { codec: form.codec, quality, keyFrameInterval: keyPictureEverySec });
  output.addVideoTrack(source, { frameRate: fpsOf(rate) });
  let done = 0;
  try {
    await output.start();
    for await (const frames of wish.holds)
      for (let k = 0; k < frames; k++) {
        signal.throwIfAborted();
        const startSec = frameStartSec(rate, done);
        // Waits while the encoder is behind, so that never more than a few pictures are in memory.
        await source.add(startSec, frameStartSec(rate, done + 1) - startSec);
        done++;
        wish.onFrame?.(done);
      }
    signal.throwIfAborted();
    await output.finalize();
  } catch (error) {
    await output.cancel().catch(() => {});
    if (signal.aborted) return failed('cancelled', 'The movie was not written.');
    const reason = error instanceof Error ? error.message : String(error);
    return failed(
      'codec-unsupported',
      `This browser stopped writing the movie at frame ${done + 1} (${reason}). Try a smaller picture size or another browser.`,
    );
  }
  return good(new Uint8Array(present(target.buffer, 'finished movie')));
}
