import { type FrameRate, frameStartSec, framesIn } from './frameRate.ts';

/** The shot's frames: frame k is on screen from `startSec + k/rate` on, in seconds of the take. */
export interface FrameGrid {
  readonly rate: FrameRate;
  readonly frameCount: number;
  readonly startSec: number;
}

/** Lays a grid over the span [startSec, endSec) of a take: round(span × rate) frames, at least 1. */
export function layGrid(rate: FrameRate, startSec: number, endSec: number): FrameGrid {
  return { rate, frameCount: framesIn(rate, Math.max(0, endSec - startSec)), startSec };
}

/** When each frame begins, in take seconds. Shape [frame]. */
export function gridTimesSec(grid: FrameGrid): Float64Array {
  return Float64Array.from({ length: grid.frameCount }, (_, k) => grid.startSec + frameStartSec(grid.rate, k));
}
