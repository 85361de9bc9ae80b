import { heightAt, type IdealBall } from './idealFall.ts';

/** How high something is at each frame since it was let go, millimetres over the floor (on the puppet). Shape [frame]; NaN = not seen. */
export interface Drop {
  readonly name: string;
  readonly heightMm: Float64Array;
}

/** One frame of two drops side by side. */
export interface DropRow {
  /** Frames since both were let go, from 0. */
  readonly frame: number;
  readonly aMm: number;
  readonly bMm: number;
  /** Down into this frame from the one before, negative = up; NaN in the first. */
  readonly aStepMm: number;
  readonly bStepMm: number;
}

/**
 * An ideal ball at each frame, on the puppet's scale. Frame 0 is the one in which it is let go; `lateFrames` (0 to 1) how long
 * after that frame's moment.
 * @param mmPerM millimetres on the puppet for a metre of the world: 1000 ÷ scale.
 */
export function idealDrop(
  name: string,
  ball: IdealBall,
  frames: number,
  fps: number,
  mmPerM: number,
  lateFrames = 0,
): Drop {
  const heightMm = Float64Array.from({ length: frames }, (_, k) => mmPerM * heightAt(ball, (k - lateFrames) / fps));
  return { name, heightMm };
}

/** Two drops frame by frame, as far as the shorter goes. */
export function besideEachOther(a: Drop, b: Drop): DropRow[] {
  const frames = Math.min(a.heightMm.length, b.heightMm.length);
  return Array.from({ length: frames }, (_, frame) => ({
    frame,
    aMm: a.heightMm[frame]!,
    bMm: b.heightMm[frame]!,
    aStepMm: frame === 0 ? Number.NaN : a.heightMm[frame - 1]! - a.heightMm[frame]!,
    bStepMm: frame === 0 ? Number.NaN : b.heightMm[frame - 1]! - b.heightMm[frame]!,
  }));
}
