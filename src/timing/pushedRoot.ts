import type { Joint } from '../base/joints.ts';
import type { Point } from '../base/twoBones.ts';
import type { Motion } from '../track/motion.ts';
import { turnedFurther } from './limbGeometry.ts';
import { between, point, stanceAt, turnedAbout } from './posePoints.ts';

/** A leg that may stand, or an arm whose hand may keep its place. Shape of `shares` [frame]: 1 = it does, 0 = it is free. */
export interface KeptLimb {
  readonly near: Joint;
  readonly middle: Joint;
  readonly far: Joint;
  readonly shares: Float64Array;
}

/** Where the trunk goes when a pose is pushed. */
export interface PushedRoot {
  readonly pelvis: [number, number];
  /** By how much the trunk turns about the pelvis, radians. */
  readonly turn: number;
  /** How much of what was asked for is left because hands keep their places: 1 = all, 0 = the trunk stays as filmed. */
  readonly share: number;
}

/**
 * The pelvis further from its neutral place over the feet and the trunk turned further: the pelvis less where a standing foot would
 * no longer be reached, both less where a hand could no longer keep its place. As filmed both always can.
 */
export function pushedRoot(
  motion: Motion,
  neutral: { readonly directions: ReadonlyMap<Joint, Point>; readonly stance: Point | null },
  extra: number,
  k: number,
  legs: readonly KeptLimb[],
  arms: readonly KeptLimb[],
): PushedRoot {
  const { paths } = motion;
  const [px, py] = point(paths, 'pelvis', k);
  const spine = between(paths, 'pelvis', 'neck', k);
  const turn = turnedFurther(spine, neutral.directions.get('neck') ?? spine, extra);
  const [sx, sy] = stanceAt(paths, k);
  const knowsStance = neutral.stance !== null && !Number.isNaN(sx + sy);
  const dx = knowsStance ? extra * (sx - neutral.stance[0]) : 0;
  const dy = knowsStance ? extra * (sy - neutral.stance[1]) : 0;

  let shift = 1;
  for (const leg of legs) {
    if ((leg.shares[k] ?? 0) < 0.5) continue;
    const [hx, hy] = point(paths, leg.near, k);
    shift = mostThat((s) => reaches(motion, leg, [hx + s * dx, hy + s * dy], k), shift);
  }
  const kept = arms.filter((arm) => (arm.shares[k] ?? 0) > 0);
  const keeps = (s: number) =>
    kept.every((arm) => {
      const [x, y] = point(paths, arm.near, k);
      const shoulder = turnedAbout(x - px, y - py, s * turn, px + s * shift * dx, py + s * shift * dy);
      return reaches(motion, arm, shoulder, k);
    });
  // While a hand comes to its place the trunk gives way by as much: no jump when it is there.
  const most = kept.reduce((w, arm) => Math.max(w, arm.shares[k] ?? 0), 0);
  const share = kept.length > 0 ? 1 - most * (1 - mostThat(keeps, 1)) : 1;
  return { pelvis: [px + share * shift * dx, py + share * shift * dy], turn: share * turn, share };
}

/** Does a limb that begins at `near` reach the place where its end was filmed? What is not known is no hindrance. */
function reaches(motion: Motion, limb: KeptLimb, near: readonly [number, number], k: number): boolean {
  const [x, y] = point(motion.paths, limb.far, k);
  const away = Math.hypot(near[0] - x, near[1] - y);
  const upper = Math.hypot(...between(motion.paths, limb.near, limb.middle, k));
  const lower = Math.hypot(...between(motion.paths, limb.middle, limb.far, k));
  return !(away > upper + lower) && !(away < Math.abs(upper - lower));
}

/** The largest share up to `highest` for which something holds, when it holds for 0 and up to one share only. */
function mostThat(holds: (share: number) => boolean, highest: number): number {
  if (holds(highest)) return highest;
  let [low, high] = [0, highest];
  for (let n = 0; n < 30; n++) {
    const middle = (low + high) / 2;
    if (holds(middle)) low = middle;
    else high = middle;
  }
  return low;
}
