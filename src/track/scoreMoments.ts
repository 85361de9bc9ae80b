/**
 * How well tracks keep what happens at one moment: a turn, a dead stop, a hold. The other errors (`score.ts`) are averages
 * over a take, in which a moment that is rounded off does not show.
 */
import type { DetectedJoint } from '../base/joints.ts';
import type { Motion } from './motion.ts';
import { quantile } from './quantile.ts';
import { type JointTruth, sampleSmooth, truthTorsoPx } from './score.ts';

/** Tracks that can be asked for any times (rising, take seconds). */
export type MotionAt = (timesSec: Float64Array) => Motion;

/** One frame of the shot in which all this is measured: 24 a second. */
const frameSec = 1 / 24;

/** A joint's path turning back along one axis. */
export interface Turn {
  readonly joint: DetectedJoint;
  readonly axis: 'x' | 'y';
  /** 1 = the coordinate is greatest there, −1 = least. */
  readonly sign: 1 | -1;
  /** Take seconds, finer than the samples. */
  readonly sec: number;
}

/** Joints whose turns are looked at: the ends of the body, where an animator reads them. */
export const turningJoints = ['nose', 'leftWrist', 'rightWrist', 'leftAnkle', 'rightAnkle'] as const;

/** Turns are looked for on samples this far apart, seconds; a parabola through three of them gives the moment. */
const denseSec = 1 / 240;
/** A turn stands out by this much on both sides, torso lengths. Less than that no two people would see alike. */
const leastProminence = 0.1;
/** Three frames before and after a turn its joint is this far away, torso lengths; else it rests there and has no moment. */
const leastLeaving = 0.02;
const leavingSec = 3 * frameSec;
/** A track's turn counts when it lies within four frames of the true one. */
const turnReachSec = 4 * frameSec;

/** Moment of the top of a parabola through three values, in steps from the middle one; 0 when they lie on a line. */
function topOfThree(before: number, at: number, after: number): number {
  const bend = before - 2 * at + after;
  return bend === 0 ? 0 : (before - after) / (2 * bend);
}

/** How far the column falls from `peak` before it rises higher than it, the lesser of both directions. */
function prominenceOf(column: Float64Array, peak: number): number {
  const fall = (step: 1 | -1): number => {
    let least = column[peak]!;
    for (let i = peak + step; i >= 0 && i < column.length && column[i]! <= column[peak]!; i += step)
      least = Math.min(least, column[i]!);
    return column[peak]! - least;
  };
  return Math.min(fall(1), fall(-1));
}

/**
 * The turns of a joint in the truth that stand out and pass in a moment, while it is visible.
 * @param nearSec only turns within six frames of one of these times; null: all of them
 */
export function trueTurns(truth: JointTruth, joint: DetectedJoint, nearSec: readonly number[] | null): Turn[] {
  const column = truth.joints.get(joint);
  if (!column) return [];
  const torsoPx = truthTorsoPx(truth);
  const first = truth.timesSec[0]!;
  const count = Math.floor((truth.timesSec.at(-1)! - first) / denseSec + 1e-6) + 1;
  const times = Float64Array.from({ length: count }, (_, i) => first + i * denseSec);
  const reach = Math.round(leavingSec / denseSec);
  const turns: Turn[] = [];
  for (const axis of ['x', 'y'] as const) {
    for (const sign of [1, -1] as const) {
      const values = times.map((t) => sign * sampleSmooth(truth.timesSec, axis === 'x' ? column.xPx : column.yPx, t));
      for (let i = reach; i < count - reach; i++) {
        const top = values[i]!;
        if (!(top > values[i - 1]! && top >= values[i + 1]!)) continue;
        const leaves = top - Math.max(values[i - reach]!, values[i + reach]!);
        if (leaves < leastLeaving * torsoPx || prominenceOf(values, i) < leastProminence * torsoPx) continue;
        const sec = times[i]! + topOfThree(values[i - 1]!, top, values[i + 1]!) * denseSec;
        const seen = [-1, 0, 1].every((s) => sampleSmooth(truth.timesSec, column.visible, sec + s * leavingSec) >= 0.5);
        const wanted = nearSec === null || nearSec.some((t) => Math.abs(t - sec) <= 6 * frameSec);
        if (seen && wanted) turns.push({ joint, axis, sign, sec });
      }
    }
  }
  return turns;
}

/**
 * When tracks turn, minus when the truth does, seconds; NaN where they do not turn within four frames.
 * @returns Shape [turn].
 */
export function turnErrors(at: MotionAt, turns: readonly Turn[]): number[] {
  const steps = Math.round(turnReachSec / denseSec);
  return turns.map(({ joint, axis, sign, sec }) => {
    const times = Float64Array.from({ length: 2 * steps + 1 }, (_, i) => sec + (i - steps) * denseSec);
    const path = at(times).paths.get(joint);
    if (!path) return Number.NaN;
    const values = (axis === 'x' ? path.xPx : path.yPx).map((v) => sign * v);
    let best = 0;
    for (let i = 1; i < values.length; i++) if (values[i]! > values[best]!) best = i;
    if (best === 0 || best === values.length - 1 || Number.isNaN(values[best]!)) return Number.NaN;
    return (best - steps + topOfThree(values[best - 1]!, values[best]!, values[best + 1]!)) * denseSec;
  });
}

/** A moment at which a joint that was at full speed stands still. */
export interface DeadStop {
  readonly joint: DetectedJoint;
  readonly sec: number;
}

/**
 * Speed that tracks still have two frames after a dead stop, as a share of their own greatest speed in the half second
 * before it. NaN where the joint is not tracked.
 */
export function speedLeft(at: MotionAt, { joint, sec }: DeadStop): number {
  /** Greatest speed between `count + 1` times, of which the middle of the last two is `endSec`. */
  const greatest = (endSec: number, count: number): number => {
    const times = Float64Array.from({ length: count + 1 }, (_, i) => endSec + (i - count + 0.5) * denseSec);
    const path = at(times).paths.get(joint);
    if (!path) return Number.NaN;
    const steps = Array.from({ length: count }, (_, i) =>
      Math.hypot(path.xPx[i + 1]! - path.xPx[i]!, path.yPx[i + 1]! - path.yPx[i]!),
    );
    return Math.max(...steps) / denseSec;
  };
  return greatest(sec + 2 * frameSec, 1) / greatest(sec, Math.round(0.5 / denseSec));
}

/**
 * How far joints wander within a hold: the greatest distance between their errors in any two of its frames, in percent of
 * the torso (errors, so that a breath that the truth has is no fault). Joints that are not visible and tracked in every
 * frame of it are left out, and holds of less than six frames.
 * @param frames tracks on the frames of the shot
 * @returns Shape [joint], in no order; empty when the hold is too short.
 */
export function wanderInHold(
  frames: Motion,
  truth: JointTruth,
  hold: { readonly startSec: number; readonly endSec: number },
  which: readonly DetectedJoint[],
): number[] {
  const percent = 100 / truthTorsoPx(truth);
  const inside = Array.from(frames.timesSec.keys()).filter((k) => {
    const t = frames.timesSec[k]!;
    return t >= hold.startSec - 1e-6 && t <= Math.min(hold.endSec, truth.timesSec.at(-1)!) + 1e-6;
  });
  if (inside.length < 6) return [];
  return which.flatMap((joint) => {
    const column = truth.joints.get(joint);
    const path = frames.paths.get(joint);
    if (!column || !path) return [];
    const errors = inside.flatMap((k) => {
      const t = frames.timesSec[k]!;
      if (sampleSmooth(truth.timesSec, column.visible, t) < 0.5 || Number.isNaN(path.xPx[k]!)) return [];
      return [
        {
          x: path.xPx[k]! - sampleSmooth(truth.timesSec, column.xPx, t),
          y: path.yPx[k]! - sampleSmooth(truth.timesSec, column.yPx, t),
        },
      ];
    });
    if (errors.length < inside.length) return [];
    let greatest = 0;
    for (const a of errors) for (const b of errors) greatest = Math.max(greatest, Math.hypot(a.x - b.x, a.y - b.y));
    return [greatest * percent];
  });
}

/** What a take holds of moments, take seconds. */
export interface TrueMoments {
  /** Times of authored poses that only turn; null where none was authored, so that every turn counts. */
  readonly turningKeysSec: readonly number[] | null;
  readonly stops: readonly DeadStop[];
  readonly holds: readonly { readonly startSec: number; readonly endSec: number }[];
}

/** Errors of tracks at moments. Numbers are NaN where there was nothing to measure. */
export interface MomentScore {
  /** How many turns the truth has, and how many of them the tracks lack. */
  readonly turns: number;
  readonly turnsLost: number;
  /** Seconds by which the other turns come too early or too late. */
  readonly turnMedianSec: number;
  readonly turnP95Sec: number;
  readonly stops: number;
  /** Share of the greatest speed that is left two frames after a dead stop: the worst of all stops. */
  readonly stopWorst: number;
  /** How many (joint, hold) were measured, and how far they wander, in percent of the torso. */
  readonly held: number;
  readonly wanderMedian: number;
  readonly wanderP95: number;
  readonly wanderMax: number;
}

/**
 * Measures tracks at a take's moments.
 * @param frames tracks on the frames of the shot
 * @param which joints whose holds are measured
 */
export function scoreMoments(
  at: MotionAt,
  frames: Motion,
  truth: JointTruth,
  moments: TrueMoments,
  which: readonly DetectedJoint[],
): MomentScore {
  const errors = turnErrors(
    at,
    turningJoints.flatMap((joint) => trueTurns(truth, joint, moments.turningKeysSec)),
  );
  const found = errors.filter((e) => !Number.isNaN(e)).map(Math.abs);
  const left = moments.stops.map((stop) => speedLeft(at, stop)).filter((s) => !Number.isNaN(s));
  const wander = moments.holds.flatMap((hold) => wanderInHold(frames, truth, hold, which));
  return {
    turns: errors.length,
    turnsLost: errors.length - found.length,
    turnMedianSec: quantile(found, 0.5),
    turnP95Sec: quantile(found, 0.95),
    stops: left.length,
    stopWorst: left.length > 0 ? Math.max(...left) : Number.NaN,
    held: wander.length,
    wanderMedian: quantile(wander, 0.5),
    wanderP95: quantile(wander, 0.95),
    wanderMax: quantile(wander, 1),
  };
}

/** Several takes' moments together: medians in the mean, counts summed, and the worst of the worst. */
export function meanMoments(scores: readonly MomentScore[]): MomentScore {
  const known = (of: (s: MomentScore) => number): number[] => scores.map(of).filter((v) => !Number.isNaN(v));
  const sum = (of: (s: MomentScore) => number): number => known(of).reduce((total, v) => total + v, 0);
  const mean = (of: (s: MomentScore) => number): number => sum(of) / known(of).length;
  return {
    turns: sum((s) => s.turns),
    turnsLost: sum((s) => s.turnsLost),
    turnMedianSec: mean((s) => s.turnMedianSec),
    turnP95Sec: mean((s) => s.turnP95Sec),
    stops: sum((s) => s.stops),
    stopWorst: quantile(
      known((s) => s.stopWorst),
      1,
    ),
    held: sum((s) => s.held),
    wanderMedian: mean((s) => s.wanderMedian),
    wanderP95: mean((s) => s.wanderP95),
    wanderMax: quantile(
      known((s) => s.wanderMax),
      1,
    ),
  };
}
