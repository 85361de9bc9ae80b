import type { DetectedJoint } from '../base/joints.ts';
import type { Columns } from './columns.ts';
import { numberOfJoint } from './columns.ts';
import { quantile } from './quantile.ts';
import { cell } from './sighting.ts';

/** A limb between two detected joints, with its usual length. */
interface Limb {
  readonly from: DetectedJoint;
  readonly to: DetectedJoint;
  /** Share of standing height: Drillis & Contini 1966, as in Winter, Biomechanics, fig. 4.1 (from memory). */
  readonly shareOfHeight: number;
}

/** Limbs whose lengths can be measured in the picture. */
export const limbs: readonly Limb[] = [
  { from: 'leftShoulder', to: 'leftElbow', shareOfHeight: 0.186 },
  { from: 'rightShoulder', to: 'rightElbow', shareOfHeight: 0.186 },
  { from: 'leftElbow', to: 'leftWrist', shareOfHeight: 0.146 },
  { from: 'rightElbow', to: 'rightWrist', shareOfHeight: 0.146 },
  { from: 'leftHip', to: 'leftKnee', shareOfHeight: 0.245 },
  { from: 'rightHip', to: 'rightKnee', shareOfHeight: 0.245 },
  { from: 'leftKnee', to: 'leftAnkle', shareOfHeight: 0.246 },
  { from: 'rightKnee', to: 'rightAnkle', shareOfHeight: 0.246 },
];

/** Shoulder height 0.818 minus hip height 0.530 of standing height (same source). */
export const torsoShareOfHeight = 0.288;

/** The performer's size in the picture. NaN where nothing could be measured. */
export interface BodySize {
  /** Vertex to sole when standing upright, pixels. */
  readonly heightPx: number;
  /** Median distance from mid-shoulder to mid-hip, pixels. */
  readonly torsoPx: number;
  /**
   * True (not foreshortened) length of each of `limbs`, pixels: the longest that it is often seen, made equal left and
   * right; from the height where the limb itself is not seen enough. Shape [limb].
   */
  readonly limbsPx: readonly number[];
}

/** Both ends of a limb must be seen this surely for its length to count. */
const sureConfidence = 0.3;
/** A limb lies in the picture plane only now and then, so its true length is near the longest seen; the very longest are errors. */
const longQuantile = 0.9;
/** Fewer lengths than this say nothing. */
const leastLengths = 5;

/**
 * Measures the performer over the whole take. Height = sum of the limbs' (and torso's) long lengths over the sum of their
 * usual shares of a standing height: limbs are foreshortened in single pictures, and a crouching performer has no
 * upright picture to measure.
 */
export function measureBody(c: Columns): BodySize {
  const n = c.timesSec.length;
  const lengthsOf = (limb: Limb): number[] => {
    const a = numberOfJoint(limb.from);
    const b = numberOfJoint(limb.to);
    const lengths: number[] = [];
    for (let i = 0; i < n; i++) {
      const p = cell(i, a);
      const q = cell(i, b);
      if (Math.min(c.confidence[p]!, c.confidence[q]!) < sureConfidence) continue;
      lengths.push(Math.hypot(c.xPx[p]! - c.xPx[q]!, c.yPx[p]! - c.yPx[q]!));
    }
    return lengths;
  };
  const torsos = torsoLengths(c);
  const torsoPx = torsos.length >= leastLengths ? quantile(torsos, 0.5) : Number.NaN;
  let length = 0;
  let share = 0;
  const long: number[] = [];
  for (let k = 0; k < limbs.length; k += 2) {
    // Left and right of one kind together: one side often hides behind the other.
    const sides = [lengthsOf(limbs[k]!), lengthsOf(limbs[k + 1]!)].filter((s) => s.length >= leastLengths);
    const own = sides.length === 0 ? Number.NaN : Math.max(...sides.map((s) => quantile(s, longQuantile)));
    long.push(own, own);
    if (Number.isNaN(own)) continue;
    length += own;
    share += limbs[k]!.shareOfHeight;
  }
  if (torsos.length >= leastLengths) {
    length += quantile(torsos, longQuantile);
    share += torsoShareOfHeight;
  }
  const heightPx = share > 0 ? length / share : Number.NaN;
  const limbsPx = long.map((own, k) => (Number.isNaN(own) ? heightPx * limbs[k]!.shareOfHeight : own));
  return { heightPx, torsoPx: Number.isNaN(torsoPx) ? heightPx * torsoShareOfHeight : torsoPx, limbsPx };
}

function torsoLengths(c: Columns): number[] {
  const [ls, rs, lh, rh] = (['leftShoulder', 'rightShoulder', 'leftHip', 'rightHip'] as const).map(numberOfJoint) as [
    number,
    number,
    number,
    number,
  ];
  const lengths: number[] = [];
  for (let i = 0; i < c.timesSec.length; i++) {
    const at = [ls, rs, lh, rh].map((j) => cell(i, j));
    if (at.some((p) => c.confidence[p]! < sureConfidence)) continue;
    const [a, b, d, e] = at as [number, number, number, number];
    lengths.push(
      Math.hypot(c.xPx[a]! + c.xPx[b]! - c.xPx[d]! - c.xPx[e]!, c.yPx[a]! + c.yPx[b]! - c.yPx[d]! - c.yPx[e]!) / 2,
    );
  }
  return lengths;
}
