import { judgedJoints } from './offRuns.ts';
import { columnAt, type JointPlaces } from './places.ts';

/** A moment of the plan that the shot meets sooner or later. */
export interface WarpKnot {
  /** Frame of the plan, from 0. */
  readonly frame: number;
  /** By how many frames the shot is late there; negative = early. */
  readonly late: number;
  readonly sd: number;
  /** Covariance of its lateness with the knot's before, frames²: where a move between both is fast, only their mean is known. 0 at the first. */
  readonly withBefore: number;
}

/** Which frame of the plan the shot shows when. */
export interface KeyWarp {
  readonly knots: readonly WarpKnot[];
  /** The plan's frame that each exposure shows, with fractions; rising. Shape [exposure]. */
  readonly planFrame: Float64Array;
  /** What is left of the squared, robust misfit, in standard deviations; the lower, the likelier. */
  readonly cost: number;
}

/** A joint that lies further off than so many of these standard deviations is no matter of time. */
const biweightSds = 6;
/** How much later than its neighbour a key may be without anything to show for it, frames. */
const priorSd = 4;
/** Poses of a hand-moved puppet are off by this anyway, as a share of the plan's size in the picture: half a millimetre in 250. */
export const handShare = 0.002;
/** A joint's errors go together over about so many exposures, and joints of a limb with each other: so many fewer are independent. */
export const errorsTogether = 6;
const rounds = 25;
/** It begins with so many times the allowance, so that a limb that is still far off pulls, and ends with the true one. */
const widths = [12, 4, 1] as const;

/**
 * When the shot meets each of some moments of the plan: the lateness at each knot, straight between them, that leaves the least distance
 * between the joints shot and the plan's at the time (least squares by Gauss & Newton with Levenberg's damping, reweighted after Tukey's
 * biweight).
 * @param shot registered, millimetres. Shape [exposure].
 * @param frames first frame of each exposure.
 * @param knotFrames rising frames of the plan, the first at or before the shot's first, the last at or after its last.
 * @param start lateness to begin with at each of them.
 * @param sizeMm the puppet's height.
 */
export function fitKeyWarp(
  shot: JointPlaces,
  planned: JointPlaces,
  frames: readonly number[],
  knotFrames: readonly number[],
  start: readonly number[],
  sizeMm: number,
): KeyWarp {
  const count = knotFrames.length;
  // The face, hands and feet go with them, and would only count twice.
  const pairs = judgedJoints.flatMap((joint) => {
    const [seen, plan] = [shot.at.get(joint), planned.at.get(joint)];
    return seen && plan ? [{ seen, plan }] : [];
  });
  const hand = handShare * sizeMm;
  let late = spreadOut(knotFrames, [...start]);
  const columns = pairs.flatMap(({ seen, plan }) => [
    { seen: seen.x, plan: plan.x, sd: seen.sd },
    { seen: seen.y, plan: plan.y, sd: seen.sd },
  ]);
  /** Normal equations and the sum that is made small. Only knots beside each other hang together. */
  const build = (at: readonly number[], width: number) => {
    const [a, beside, g] = [new Float64Array(count), new Float64Array(count), new Float64Array(count)];
    let cost = 0;
    for (let i = 0; i < frames.length; i++) {
      const { planFrame, knot, u, slope } = planFrameAt(knotFrames, at, frames[i]!);
      const [d0, d1] = [-(1 - u) * slope, -u * slope];
      for (const { seen, plan, sd } of columns) {
        const off = seen[i]! - columnAt(plan, planFrame);
        if (Number.isNaN(off)) continue;
        const variance = sd[i]! ** 2 + hand ** 2;
        const z = off / Math.sqrt(variance) / width;
        const share = Math.min(1, (z / biweightSds) ** 2);
        cost += ((biweightSds ** 2 / 6) * (1 - (1 - share) ** 3) * 2) / errorsTogether;
        const w = (1 - share) ** 2 / (variance * width * width) / errorsTogether;
        if (w === 0) continue;
        const speed = columnAt(plan, planFrame + 0.5) - columnAt(plan, planFrame - 0.5);
        const j0 = speed * d0;
        const j1 = speed * d1;
        a[knot]! += w * j0 * j0;
        a[knot + 1]! += w * j1 * j1;
        beside[knot + 1]! += w * j0 * j1;
        g[knot]! += w * j0 * off;
        g[knot + 1]! += w * j1 * off;
      }
    }
    for (let k = 0; k < count; k++) {
      const before = k === 0 ? 0 : at[k - 1]!;
      const w = 1 / priorSd ** 2;
      const d = at[k]! - before;
      cost += w * d * d;
      a[k]! += w;
      g[k]! -= w * d;
      if (k === 0) continue;
      a[k - 1]! += w;
      beside[k]! -= w;
      g[k - 1]! += w * d;
    }
    return { a, beside, g, cost };
  };
  for (const width of widths) late = descend(late, width);
  const built = build(late, 1);
  return {
    knots: knotFrames.map((frame, k) => {
      const unit = new Float64Array(count);
      unit[k] = 1;
      const column = solveNeighbours(built.a, built.beside, unit);
      return { frame, late: late[k]!, sd: Math.sqrt(Math.max(0, column[k]!)), withBefore: column[k - 1] ?? 0 };
    }),
    planFrame: Float64Array.from(frames, (f) => planFrameAt(knotFrames, late, f).planFrame),
    cost: built.cost,
  };

  function descend(from: number[], width: number): number[] {
    let at = from;
    let built = build(at, width);
    let damping = 1e-3;
    for (let round = 0; round < rounds; round++) {
      const damped = built.a.map((v) => v * (1 + damping));
      const step = solveNeighbours(damped, built.beside, built.g);
      const next = spreadOut(
        knotFrames,
        at.map((l, k) => l + Math.max(-3, Math.min(3, step[k]!))),
      );
      const there = build(next, width);
      if (there.cost < built.cost) {
        const gain = built.cost - there.cost;
        [at, built] = [next, there];
        damping = Math.max(1e-6, damping / 4);
        if (gain < 1e-4) break;
      } else if (damping > 1e4) break;
      else damping *= 6;
    }
    return at;
  }
}

/** The least part of the planned time between two knots that may be left of it. */
const leastShare = 0.2;

/** Lateness such that knots stay in order. */
function spreadOut(knotFrames: readonly number[], late: number[]): number[] {
  const out = [late[0]!];
  for (let k = 1; k < late.length; k++) {
    const span = knotFrames[k]! - knotFrames[k - 1]!;
    out.push(Math.max(late[k]!, out[k - 1]! - (1 - leastShare) * span));
  }
  return out;
}

/** The plan's frame at a frame of the shot, straight between knots and on beyond them. */
function planFrameAt(knotFrames: readonly number[], late: readonly number[], frame: number) {
  let knot = 0;
  while (knot < knotFrames.length - 2 && frame >= knotFrames[knot + 1]! + late[knot + 1]!) knot++;
  const [s0, s1] = [knotFrames[knot]! + late[knot]!, knotFrames[knot + 1]! + late[knot + 1]!];
  const slope = (knotFrames[knot + 1]! - knotFrames[knot]!) / (s1 - s0);
  const u = (frame - s0) / (s1 - s0);
  return { planFrame: knotFrames[knot]! + slope * (frame - s0), knot, u, slope };
}

/**
 * By Cholesky, of a symmetric matrix that is positive by its prior and empty but for its diagonal and what lies beside it.
 * @param beside in row k and the column before it; the first is not asked for.
 */
function solveNeighbours(diagonal: Float64Array, beside: Float64Array, b: Float64Array): Float64Array {
  const n = diagonal.length;
  const [root, low] = [new Float64Array(n), new Float64Array(n)];
  for (let k = 0; k < n; k++) {
    low[k] = k === 0 ? 0 : beside[k]! / root[k - 1]!;
    root[k] = Math.sqrt(Math.max(1e-12, diagonal[k]! - low[k]! * low[k]!));
  }
  const x = b.slice();
  for (let k = 0; k < n; k++) x[k] = (x[k]! - (k === 0 ? 0 : low[k]! * x[k - 1]!)) / root[k]!;
  for (let k = n - 1; k >= 0; k--) x[k] = (x[k]! - (k === n - 1 ? 0 : low[k + 1]! * x[k + 1]!)) / root[k]!;
  return x;
}
