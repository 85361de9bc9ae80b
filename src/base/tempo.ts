import { assert } from './assert.ts';
import type { FrameRate } from './frameRate.ts';

/** Frames from one beat to the next, as a fraction of frames: 60 × fps / beats per minute. */
export function framesPerBeat(rate: FrameRate, beatsPerMinute: number): number {
  assert(beatsPerMinute > 0, `tempo of ${beatsPerMinute}`);
  return (60 * rate.frames) / (rate.seconds * beatsPerMinute);
}

/**
 * The frames on which beats fall, from 0, up to but not including `frameCount`. Each is rounded from its own time, so no
 * rounding adds up. `firstBeatSec` is when beat 0 falls, seconds from the shot's start (may be negative).
 */
export function beatFrames(
  rate: FrameRate,
  beatsPerMinute: number,
  firstBeatSec: number,
  frameCount: number,
): number[] {
  const step = framesPerBeat(rate, beatsPerMinute);
  const first = (firstBeatSec * rate.frames) / rate.seconds;
  const frames: number[] = [];
  for (let beat = Math.ceil((-0.5 - first) / step); ; beat++) {
    const frame = Math.round(first + beat * step);
    if (frame >= frameCount) return frames;
    if (frame >= 0) frames.push(frame);
  }
}
