import { type BodySize, limbs } from './bodySize.ts';
import { type Columns, numberOfJoint } from './columns.ts';
import type { Foreshortening, JointPath } from './motion.ts';
import { median } from './quantile.ts';
import { cell } from './sighting.ts';

/** The depth estimate bears a limb's angle out from this share of what the angle asks for, and speaks against it below the other. */
const depthAgrees = 0.5;
const depthDisagrees = 0.25;
/**
 * A limb is taken to be at least this share of what the body's height makes it: one that points out of the picture in the
 * whole take would else be measured at its foreshortened length. People differ from the usual shares by about a tenth.
 */
const leastOfUsual = 0.85;

/** True length of a limb (an index of `limbs`), pixels; NaN when nothing was measured. */
export function trueLengthPx(size: BodySize, limb: number): number {
  const usual = size.heightPx * limbs[limb]!.shareOfHeight;
  return Math.max(size.limbsPx[limb]!, leastOfUsual * usual);
}

/** Apparent ÷ true length of a limb at one picture, from the tracks of both its ends; NaN where one is not known. */
export function apparentShare(from: JointPath, to: JointPath, truePx: number, picture: number): number {
  return Math.hypot(from.xPx[picture]! - to.xPx[picture]!, from.yPx[picture]! - to.yPx[picture]!) / truePx;
}

/**
 * What the picture hides of a limb over pictures `first` to `last` (inclusive): θ = acos(apparent ÷ true), hidden length =
 * true · (1 − cos θ). Where a model guesses depth, the difference between the limb's ends is held against true · sin θ.
 */
export function measureForeshortening(
  c: Columns,
  limb: number,
  truePx: number,
  shares: readonly number[],
  first: number,
  last: number,
): Foreshortening {
  const share = Math.min(1, median(shares));
  const sine = Math.sqrt(1 - share * share);
  const from = numberOfJoint(limbs[limb]!.from);
  const to = numberOfJoint(limbs[limb]!.to);
  const deeper: number[] = [];
  for (let i = first; i <= last; i++) {
    const d = c.depthPx[cell(i, to)]! - c.depthPx[cell(i, from)]!;
    if (Number.isFinite(d)) deeper.push(d / truePx);
  }
  return {
    angleDeg: (Math.acos(share) * 180) / Math.PI,
    truePx,
    hiddenPx: truePx * (1 - share),
    depth: deeper.length * 2 < last - first + 1 ? null : opinion(median(deeper), sine),
  };
}

/** @param depth how much further from the lens the limb's outer end is, in limb lengths. */
function opinion(depth: number, sine: number): Foreshortening['depth'] {
  if (Math.abs(depth) < depthDisagrees * sine) return 'disagrees';
  if (Math.abs(depth) < depthAgrees * sine) return null;
  return depth < 0 ? 'toward the lens' : 'away from the lens';
}
