import { assert } from './assert.ts';
import type { FrameRate } from './frameRate.ts';

/** Slowest and fastest tempo that is offered, beats per minute: a beat lasts from 2.4 s to a sixth of one. */
export const slowestTempo = 25;
export const fastestTempo = 360;

/** Frames from one beat to the next, as a fraction of frames: 60 × fps / beats per minute. */
export function framesPerBeat(rate: FrameRate, beatsPerMinute: number): number {
  assert(beatsPerMinute > 0, `tempo of ${beatsPerMinute}`);
  return (60 * rate.frames) / (rate.seconds * beatsPerMinute);
}

/** The tempo at which a beat lasts so many frames (fractions allowed): 60 × fps / frames. */
export function tempoOfFrames(rate: FrameRate, frames: number): number {
  assert(frames > 0, `a beat of ${frames} frames`);
  return (60 * rate.frames) / (rate.seconds * frames);
}

/**
 * Frames per beat as film composers write them, whole frames and eighths: 12.25 is "12-2". Rounded to the nearest eighth, so that
 * "12-0" may stand for 11.988.
 */
export function framesAndEighths(frames: number): string {
  const eighths = Math.round(frames * 8);
  return `${Math.floor(eighths / 8)}-${eighths % 8}`;
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
  return beatsIn(rate, beatsPerMinute, firstBeatSec, frameCount).map((beat) => beat.frame);
}

/** A beat that falls within the shot. */
export interface Beat {
  /** Beat 0 is the one at `firstBeatSec`; those before it are negative. */
  readonly number: number;
  /** When it falls, seconds from the shot's start, unrounded. */
  readonly shotSec: number;
  /** The nearest frame, from 0. */
  readonly frame: number;
}

/** The beats whose nearest frame is one of the shot's, in order. Frames are rounded from the cumulative time. */
export function beatsIn(rate: FrameRate, beatsPerMinute: number, firstBeatSec: number, frameCount: number): Beat[] {
  const step = framesPerBeat(rate, beatsPerMinute);
  const first = (firstBeatSec * rate.frames) / rate.seconds;
  const beats: Beat[] = [];
  // + 0 turns −0 into 0.
  for (let number = Math.ceil((-0.5 - first) / step) + 0; ; number++) {
    const frame = Math.round(first + number * step);
    if (frame >= frameCount) return beats;
    if (frame >= 0) beats.push({ number, shotSec: firstBeatSec + (number * 60) / beatsPerMinute, frame });
  }
}
