import type { DetectedJoint } from '../base/joints.ts';
import { type Motion, stepSdOf } from './motion.ts';
import { quantile } from './quantile.ts';

/** Where the joints really were, for measuring how well they were tracked. */
export interface JointTruth {
  /** Seconds, rising. Shape [sample]. */
  readonly timesSec: Float64Array;
  /** Upright video pixels; `visible` 1 where the camera saw the joint. Columns of shape [sample]. */
  readonly joints: ReadonlyMap<
    DetectedJoint,
    { readonly xPx: Float64Array; readonly yPx: Float64Array; readonly visible: Uint8Array }
  >;
}

/** Errors of tracks against truth, in percent of the truth's median torso length. NaN where there was nothing to measure. */
export interface TrackScore {
  /** How many (joint, time) samples were measured. */
  readonly samples: number;
  /** Distance, nothing taken out. */
  readonly absoluteMedian: number;
  /**
   * Distance after each joint's median offset is taken out: detectors mean the skin's shoulder, truth the bone's, and the
   * animator cares for how it moves.
   */
  readonly positionMedian: number;
  readonly positionP95: number;
  /** Error of the step from one time to the next (ones) and to the one after (twos, counted from index 0). */
  readonly onesMedian: number;
  readonly onesP95: number;
  readonly twosMedian: number;
  readonly twosP95: number;
  /** Share of coordinates (offset taken out) that lie within 1 and 2 of the stated standard deviations. */
  readonly within1Sd: number;
  readonly within2Sd: number;
  /** The same of the coordinates of steps, against the steps' standard deviations as the plan prints them. */
  readonly onesWithin1Sd: number;
  readonly onesWithin2Sd: number;
  readonly twosWithin1Sd: number;
  readonly twosWithin2Sd: number;
  /** Share of the truth's visible samples where the tracks say nothing. */
  readonly missing: number;
}

/** What is measured of some joints before it is summed up; kept apart so that takes can be pooled. */
interface Errors {
  readonly absolute: number[];
  readonly position: number[];
  readonly ones: number[];
  readonly twos: number[];
  /** Errors of single coordinates in units of their stated standard deviations: of places, of steps on ones, on twos. */
  readonly z: number[];
  readonly onesZ: number[];
  readonly twosZ: number[];
  expected: number;
  missing: number;
}

/** Median distance from mid-shoulder to mid-hip in the truth, pixels. NaN when one of the four joints is not in it. */
export function truthTorsoPx(truth: JointTruth): number {
  const four = (['leftShoulder', 'rightShoulder', 'leftHip', 'rightHip'] as const).map((j) => truth.joints.get(j));
  const [ls, rs, lh, rh] = four;
  if (!ls || !rs || !lh || !rh) return Number.NaN;
  const lengths = Array.from(truth.timesSec, (_, i) =>
    Math.hypot(
      (ls.xPx[i]! + rs.xPx[i]! - lh.xPx[i]! - rh.xPx[i]!) / 2,
      (ls.yPx[i]! + rs.yPx[i]! - lh.yPx[i]! - rh.yPx[i]!) / 2,
    ),
  );
  return quantile(lengths, 0.5);
}

/**
 * Value of a densely sampled smooth column at `sec`: cubic Hermite with finite-difference slopes; the ends are held.
 * At 25 samples a second its error on human motion is far below a pixel.
 */
export function sampleSmooth(timesSec: Float64Array, column: ArrayLike<number>, sec: number): number {
  const n = timesSec.length;
  if (sec <= timesSec[0]!) return column[0]!;
  if (sec >= timesSec[n - 1]!) return column[n - 1]!;
  let low = 0;
  let high = n - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (timesSec[middle]! <= sec) low = middle;
    else high = middle;
  }
  const slope = (i: number): number => {
    const a = Math.max(0, i - 1);
    const b = Math.min(n - 1, i + 1);
    return (column[b]! - column[a]!) / (timesSec[b]! - timesSec[a]!);
  };
  const h = timesSec[high]! - timesSec[low]!;
  const u = (sec - timesSec[low]!) / h;
  const p = column[low]!;
  const q = column[high]!;
  const a = slope(low) * h;
  const b = slope(high) * h;
  return p + u * (a + u * (3 * (q - p) - 2 * a - b + u * (2 * (p - q) + a + b)));
}

function measureJoint(motion: Motion, joint: DetectedJoint, truth: JointTruth, torsoPx: number, errors: Errors): void {
  const column = truth.joints.get(joint);
  if (!column) return;
  const path = motion.paths.get(joint);
  const percent = 100 / torsoPx;
  const end = truth.timesSec[truth.timesSec.length - 1]! + 1e-6;
  const n = motion.timesSec.length;
  const ex = new Float64Array(n).fill(Number.NaN);
  const ey = new Float64Array(n).fill(Number.NaN);
  for (let k = 0; k < n; k++) {
    const t = motion.timesSec[k]!;
    if (t > end || sampleSmooth(truth.timesSec, column.visible, t) < 0.5) continue;
    errors.expected++;
    if (!path || Number.isNaN(path.xPx[k]!)) {
      errors.missing++;
      continue;
    }
    ex[k] = path.xPx[k]! - sampleSmooth(truth.timesSec, column.xPx, t);
    ey[k] = path.yPx[k]! - sampleSmooth(truth.timesSec, column.yPx, t);
  }
  const seen = (v: number): boolean => !Number.isNaN(v);
  const offsetX = quantile(ex.filter(seen), 0.5);
  const offsetY = quantile(ey.filter(seen), 0.5);
  for (let k = 0; k < n; k++) {
    if (Number.isNaN(ex[k]!)) continue;
    const dx = ex[k]! - offsetX;
    const dy = ey[k]! - offsetY;
    errors.absolute.push(Math.hypot(ex[k]!, ey[k]!) * percent);
    errors.position.push(Math.hypot(dx, dy) * percent);
    const sd = path?.sdPx[k] ?? Number.NaN;
    if (sd > 0) errors.z.push(Math.abs(dx) / sd, Math.abs(dy) / sd);
    const step = (from: number, lengths: number[], z: number[]): void => {
      if (from < 0 || !seen(ex[from]!)) return;
      const stepX = ex[k]! - ex[from]!;
      const stepY = ey[k]! - ey[from]!;
      lengths.push(Math.hypot(stepX, stepY) * percent);
      const stepSd = stepSdOf(motion, joint, from, k);
      if (stepSd > 0) z.push(Math.abs(stepX) / stepSd, Math.abs(stepY) / stepSd);
    };
    step(k - 1, errors.ones, errors.onesZ);
    if (k % 2 === 0) step(k - 2, errors.twos, errors.twosZ);
  }
}

/**
 * Measures tracks on a frame grid (`motion.timesSec`: the frames of a 24 fps shot, say) against truth. Only samples that
 * the truth calls visible count.
 * @param which  Joints to measure; default: all that the truth holds.
 */
export function scoreMotion(motion: Motion, truth: JointTruth, which?: readonly DetectedJoint[]): TrackScore {
  const errors: Errors = {
    absolute: [],
    position: [],
    ones: [],
    twos: [],
    z: [],
    onesZ: [],
    twosZ: [],
    expected: 0,
    missing: 0,
  };
  const torsoPx = truthTorsoPx(truth);
  for (const joint of which ?? truth.joints.keys()) measureJoint(motion, joint, truth, torsoPx, errors);
  const share = (z: readonly number[], limit: number): number =>
    z.length === 0 ? Number.NaN : z.filter((v) => v <= limit).length / z.length;
  return {
    samples: errors.position.length,
    absoluteMedian: quantile(errors.absolute, 0.5),
    positionMedian: quantile(errors.position, 0.5),
    positionP95: quantile(errors.position, 0.95),
    onesMedian: quantile(errors.ones, 0.5),
    onesP95: quantile(errors.ones, 0.95),
    twosMedian: quantile(errors.twos, 0.5),
    twosP95: quantile(errors.twos, 0.95),
    within1Sd: share(errors.z, 1),
    within2Sd: share(errors.z, 2),
    onesWithin1Sd: share(errors.onesZ, 1),
    onesWithin2Sd: share(errors.onesZ, 2),
    twosWithin1Sd: share(errors.twosZ, 1),
    twosWithin2Sd: share(errors.twosZ, 2),
    missing: errors.missing / Math.max(1, errors.expected),
  };
}

/**
 * The mean of several takes' scores, number by number (so that a long take does not outweigh a short one). A number that
 * some takes lack is the mean of the others'; NaN when all lack it.
 */
export function meanScore(scores: readonly TrackScore[]): TrackScore {
  const mean = (of: (s: TrackScore) => number): number => {
    const known = scores.map(of).filter((v) => !Number.isNaN(v));
    return known.reduce((sum, v) => sum + v, 0) / known.length;
  };
  return {
    samples: scores.reduce((sum, s) => sum + s.samples, 0),
    absoluteMedian: mean((s) => s.absoluteMedian),
    positionMedian: mean((s) => s.positionMedian),
    positionP95: mean((s) => s.positionP95),
    onesMedian: mean((s) => s.onesMedian),
    onesP95: mean((s) => s.onesP95),
    twosMedian: mean((s) => s.twosMedian),
    twosP95: mean((s) => s.twosP95),
    within1Sd: mean((s) => s.within1Sd),
    within2Sd: mean((s) => s.within2Sd),
    onesWithin1Sd: mean((s) => s.onesWithin1Sd),
    onesWithin2Sd: mean((s) => s.onesWithin2Sd),
    twosWithin1Sd: mean((s) => s.twosWithin1Sd),
    twosWithin2Sd: mean((s) => s.twosWithin2Sd),
    missing: mean((s) => s.missing),
  };
}
