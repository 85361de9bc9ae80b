import { assert } from '../base/assert.ts';
import type { Motion } from '../track/motion.ts';
import type { Exposure, Hold } from './timing.ts';

/**
 * What the audience sees wrong while a pose stays on screen and the performer goes on: for runs of 1 .. `longest` frames from
 * every frame on, the squared distance between the held pose and the real one, summed over the run's frames and all parts,
 * body heights².
 */
export interface RunErrors {
  readonly frameCount: number;
  readonly longest: number;
  /** Parts with a path: by so many a frame's error is divided for a mean. */
  readonly partCount: number;
  /** Of a run of `frames` from `firstFrame` on; the run must lie in the shot and be no longer than `longest`. */
  of(firstFrame: number, frames: number): number;
}

/** Works out the errors of runs. Parts that are not known in a frame count nothing there. */
export function runErrors(motion: Motion, bodyHeightPx: number, longest: number): RunErrors {
  const frameCount = motion.timesSec.length;
  const perHeight = 1 / (bodyHeightPx * bodyHeightPx);
  const columns = Array.from({ length: longest }, () => new Float64Array(frameCount));
  for (let later = 1; later < longest; later++) {
    const column = columns[later] ?? new Float64Array();
    for (const { xPx, yPx } of motion.paths.values()) {
      for (let k = 0; k + later < frameCount; k++) {
        const dx = (xPx[k + later] ?? Number.NaN) - (xPx[k] ?? Number.NaN);
        const dy = (yPx[k + later] ?? Number.NaN) - (yPx[k] ?? Number.NaN);
        const square = (dx * dx + dy * dy) * perHeight;
        if (!Number.isNaN(square)) column[k] = (column[k] ?? 0) + square;
      }
    }
    const shorter = columns[later - 1] ?? new Float64Array();
    for (let k = 0; k < frameCount; k++) column[k] = (column[k] ?? 0) + (shorter[k] ?? 0);
  }
  return {
    frameCount,
    longest,
    partCount: motion.paths.size,
    of(firstFrame, frames) {
      assert(frames >= 1 && frames <= longest && firstFrame + frames <= frameCount, `run ${firstFrame}+${frames}`);
      return columns[frames - 1]?.[firstFrame] ?? 0;
    },
  };
}

/** How far what the audience sees is from what the performer does. Body heights. */
export interface VisibleError {
  /** Root mean square over frames and parts. */
  readonly rms: number;
  /** The same over the frames outside holds: what rests is never off, and thins the mean. 0 where all rests. */
  readonly movingRms: number;
  /** The furthest that any part is off in any frame, and where; `frame` is −1 where nothing is off. */
  readonly worst: number;
  readonly worstFrame: number;
}

/** 1 for the frames outside holds and moving holds: those in which the puppet is seen to move. Shape [frame]. */
export function framesThatMove(frameCount: number, holds: readonly Hold[]): Uint8Array {
  const moves = new Uint8Array(frameCount).fill(1);
  for (const { firstFrame, frames } of holds) moves.fill(0, firstFrame, firstFrame + frames);
  return moves;
}

/**
 * The visible error of exposures that tile the shot: each pose stays until the next is exposed.
 * @param holds where nothing is seen to move; default nowhere.
 */
export function visibleError(
  motion: Motion,
  bodyHeightPx: number,
  exposures: readonly Exposure[],
  holds: readonly Hold[] = [],
): VisibleError {
  const moves = framesThatMove(motion.timesSec.length, holds);
  let sum = 0;
  let count = 0;
  let movingSum = 0;
  let movingCount = 0;
  let worst = 0;
  let worstFrame = -1;
  for (const { firstFrame, frames } of exposures) {
    for (let k = firstFrame; k < firstFrame + frames; k++) {
      for (const { xPx, yPx } of motion.paths.values()) {
        const off = Math.hypot(
          (xPx[k] ?? Number.NaN) - (xPx[firstFrame] ?? Number.NaN),
          (yPx[k] ?? Number.NaN) - (yPx[firstFrame] ?? Number.NaN),
        );
        if (Number.isNaN(off)) continue;
        count++;
        sum += off * off;
        if (moves[k]) {
          movingCount++;
          movingSum += off * off;
        }
        if (off > worst) {
          worst = off;
          worstFrame = k;
        }
      }
    }
  }
  return {
    rms: count === 0 ? 0 : Math.sqrt(sum / count) / bodyHeightPx,
    movingRms: movingCount === 0 ? 0 : Math.sqrt(movingSum / movingCount) / bodyHeightPx,
    worst: worst / bodyHeightPx,
    worstFrame,
  };
}
