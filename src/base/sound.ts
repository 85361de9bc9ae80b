import { assert } from './assert.ts';
import type { FrameRate } from './frameRate.ts';

/**
 * A take's sound in brief: enough to draw it and to find where sounds begin, a hundredth of the sound's own size. Made by
 * `ingest` once. Columns have shape [bin]; bin b spans `startSec + b / binsPerSec` to one bin later.
 */
export interface Soundtrack {
  /** Take seconds; below 0 where the sound begins before the first picture. */
  readonly startSec: number;
  readonly binsPerSec: number;
  /** Lowest and highest sample of all channels' mean, full scale = ±32767. */
  readonly low: Int16Array;
  readonly high: Int16Array;
  /** Root mean square of the samples, full scale = 32767. */
  readonly rms: Int16Array;
  /** How much louder the sound became in the last hundredth of a second, mean over pitch bands, in logarithms of ten; 0 or more. */
  readonly rise: Float32Array;
  /** As the file names it ("aac", "opus"). */
  readonly codec: string;
  readonly channels: number;
}

/** Bins in a second of every soundtrack: a bin is 2.1 ms, a frame at 24 a second 20 of them. */
export const soundBinsPerSec = 480;

/** Full scale of the columns `low`, `high` and `rms`. */
export const soundFullScale = 32767;

/** When the last bin ends, take seconds. */
export function soundEndSec(sound: Soundtrack): number {
  return sound.startSec + sound.rms.length / sound.binsPerSec;
}

/** The lowest and highest sample between two take times, −1 .. 1; both 0 where there is no sound. The bins touched count whole. */
export function soundBetween(sound: Soundtrack, fromSec: number, toSec: number): { low: number; high: number } {
  assert(toSec >= fromSec, `sound from ${fromSec} to ${toSec} s`);
  const first = Math.max(0, Math.floor((fromSec - sound.startSec) * sound.binsPerSec + 1e-6));
  const last = Math.min(sound.rms.length, Math.ceil((toSec - sound.startSec) * sound.binsPerSec - 1e-6));
  let low = 0;
  let high = 0;
  for (let b = first; b < last; b++) {
    low = Math.min(low, sound.low[b]!);
    high = Math.max(high, sound.high[b]!);
  }
  return { low: low / soundFullScale, high: high / soundFullScale };
}

/** Beginnings of sounds are found to a few milliseconds: in this last share of a frame one belongs to the next. */
const endOfFrame = 0.1;

/** The frame that a sound belongs to which begins `shotSec` after the shot's start; negative before the shot. */
export function soundFrame(rate: FrameRate, shotSec: number): number {
  return Math.floor((shotSec * rate.frames) / rate.seconds + endOfFrame);
}

/** How the sound lies against the shot: it starts with the shot's first frame and is moved by the nudge, never stretched. */
export interface SoundPlace {
  /** Take time of the shot's first frame. */
  readonly startSec: number;
  /** The sound is heard this much later than it was recorded, seconds; negative = earlier. */
  readonly nudgeSec: number;
}

/** The take time of the sound that is heard `shotSec` after the shot's start. */
export function soundTakeSec(place: SoundPlace, shotSec: number): number {
  return place.startSec + shotSec - place.nudgeSec;
}

/** When the sound recorded at a take time is heard, seconds from the shot's start. */
export function soundShotSec(place: SoundPlace, takeSec: number): number {
  return takeSec - place.startSec + place.nudgeSec;
}
