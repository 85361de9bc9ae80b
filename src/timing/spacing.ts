import { present } from '../base/assert.ts';
import type { Part } from '../base/joints.ts';
import { stepSdOf } from '../track/motion.ts';
import type { Timing } from './timing.ts';

/** How a joint goes from the exposure before to this one. All in the picture plane. */
export interface Step {
  /** Index into the timing's exposures; never 0, since nothing leads to the first picture. */
  readonly exposure: number;
  /** Upright video pixels, y down. NaN where the joint is not known at either end. */
  readonly dxPx: number;
  readonly dyPx: number;
  readonly distance: number;
  readonly distancePx: number;
  readonly distanceMm: number;
  /** Standard deviation of the distance, pixels and millimetres; neighbouring positions err together, which is taken into account. */
  readonly sdPx: number;
  readonly sdMm: number;
  /** True where either end is filled in rather than seen. */
  readonly guessed: boolean;
}

/** A joint's steps from exposure to exposure over the shot, [exposure − 1]; `distance` is in body heights. */
export function stepsOf(timing: Timing, joint: Part): Step[] {
  const path = present(timing.motion.paths.get(joint), `path of ${joint}`);
  const value = (column: ArrayLike<number>, frame: number) => column[frame] ?? Number.NaN;
  return timing.exposures.slice(1).map((exposure, i) => {
    const from = present(timing.exposures[i], 'exposure before').firstFrame;
    const to = exposure.firstFrame;
    const dxPx = value(path.xPx, to) - value(path.xPx, from);
    const dyPx = value(path.yPx, to) - value(path.yPx, from);
    const distancePx = Math.hypot(dxPx, dyPx);
    const sdPx = stepSdOf(timing.motion, joint, from, to);
    return {
      exposure: i + 1,
      dxPx,
      dyPx,
      distance: distancePx / timing.bodyHeightPx,
      distancePx,
      distanceMm: distancePx * timing.mmPerPx,
      sdPx,
      sdMm: sdPx * timing.mmPerPx,
      guessed: value(path.guessed, from) === 1 || value(path.guessed, to) === 1,
    };
  });
}
