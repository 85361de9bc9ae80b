import { assert } from './assert.ts';

/** An exact frame rate: `frames` frames in `seconds` whole seconds (24000/1001 is 23.976). */
export interface FrameRate {
  readonly frames: number;
  readonly seconds: number;
}

/** A frame rate that a shot may have. The label is what animators say. */
export interface NamedRate extends FrameRate {
  readonly label: string;
}

/** The rates offered for a shot. Exact values of the NTSC family: SMPTE ST 12-1. */
export const shotRates: readonly NamedRate[] = [
  { label: '12', frames: 12, seconds: 1 },
  { label: '15', frames: 15, seconds: 1 },
  { label: '18', frames: 18, seconds: 1 },
  { label: '23.976', frames: 24000, seconds: 1001 },
  { label: '24', frames: 24, seconds: 1 },
  { label: '25', frames: 25, seconds: 1 },
  { label: '29.97', frames: 30000, seconds: 1001 },
  { label: '30', frames: 30, seconds: 1 },
  { label: '48', frames: 48, seconds: 1 },
  { label: '50', frames: 50, seconds: 1 },
  { label: '60', frames: 60, seconds: 1 },
];

/** Frames per second as a number, rounded to double precision once. */
export function fpsOf(rate: FrameRate): number {
  return rate.frames / rate.seconds;
}

/** The offered rate with this label ("24", "23.976"), or null when there is none. */
export function rateLabelled(label: string): NamedRate | null {
  return shotRates.find((r) => r.label === label) ?? null;
}

/** When frame `index` begins, in seconds from the shot's start. Multiplied before dividing, so that no rounding adds up. */
export function frameStartSec(rate: FrameRate, index: number): number {
  return (index * rate.seconds) / rate.frames;
}

/** How many whole frames a span lasts: round(seconds × rate), never less than 1. */
export function framesIn(rate: FrameRate, spanSec: number): number {
  assert(Number.isFinite(spanSec) && spanSec >= 0, `span of ${spanSec} s`);
  return Math.max(1, Math.round((spanSec * rate.frames) / rate.seconds));
}

/** The frame on screen at `sec` seconds from the shot's start (may be negative or past the end: the caller clamps). */
export function frameAt(rate: FrameRate, sec: number): number {
  // A picture exactly on a frame boundary belongs to the frame that begins there, also after double rounding.
  return Math.floor((sec * rate.frames) / rate.seconds + 1e-6);
}
