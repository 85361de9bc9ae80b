import type { Part } from '../base/joints.ts';
import { stepSdOf } from '../track/motion.ts';
import type { Timing } from './timing.ts';

/** A way that exposures lie along: a part's in the picture, or its counterpart's on the puppet. Frames are the shot's. */
export interface SpacedPath {
  /** Millimetres on the puppet for one of the path's own units; NaN where nothing tells how large things are. */
  readonly mmPerUnit: number;
  /** How far apart the places at two frames are, own units; NaN where one is not known. */
  between(frame: number, other: number): number;
  /** Standard deviation along one axis of the way between two frames, own units. */
  stepSd(from: number, to: number): number;
  /** 1 where the place is filled in rather than seen. Shape [frame]. */
  readonly guessed: ArrayLike<number>;
}

/** A part as it was filmed, pixels; null where it is not known. */
export function filmedPath({ motion, mmPerPx }: Pick<Timing, 'motion' | 'mmPerPx'>, part: Part): SpacedPath | null {
  const path = motion.paths.get(part);
  return (
    (path && {
      mmPerUnit: mmPerPx,
      between: (a, b) => Math.hypot(path.xPx[b]! - path.xPx[a]!, path.yPx[b]! - path.yPx[a]!),
      stepSd: (a, b) => stepSdOf(motion, part, a, b),
      guessed: path.guessed,
    }) ??
    null
  );
}
