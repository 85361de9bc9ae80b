import { fpsOf } from '../base/frameRate.ts';
import { isProp, type Part } from '../base/joints.ts';
import { stepSdOf } from '../track/motion.ts';
import { type ArcFault, faultSize, type PartWords, type Poses } from './arcFault.ts';
import { findContacts } from './contacts.ts';
import { sizeWords } from './sizeUnit.ts';
import type { Timing } from './timing.ts';

/** How far errors of the tracks may carry a pose, standard deviations: in takes of our own on ones and twos one pose in 1000 frames of a dozen parts goes further. */
export const surelySds = 3;
/** Smaller than this part of the puppet's height no eye sees: 1 mm of 250. */
export const leastShare = 0.004;
/**
 * How much of its bow the true path may stray from the smooth arc: a cubic through four poses misses a circle that turns 40°
 * a pose by a twelfth of the bow.
 */
const bowShare = 0.2;
/** ... and of the way between its neighbours: fast moves on few poses are drawn by few places. */
const stepShare = 0.015;
/**
 * Where the steps further out are shorter than this part of the way between the neighbours, as in a move of four poses eased at
 * both ends, nobody knows from them how the path bends: then it may bow by this much of that way.
 */
const seenShare = 0.35;
const blindShare = 0.2;
/** ... provided that the frames around the pose leave less than this part of it unexplained. */
const bentShare = 0.35;

/**
 * Poses that leave the arc drawn by their neighbours, two to either side: for each the smooth curve that passes the four is laid,
 * and the pose's distance from that curve (not from a place on it: when it passes is spacing's business) is its pop.
 * The worst is told first and taken for mended before the next is sought, since a pop bends its neighbours' arcs too.
 */
export function popFaults(timing: Timing, poses: Poses, words: PartWords): ArcFault[] {
  const leastPx = leastShare * timing.bodyHeightPx;
  const x = poses.x.slice();
  const y = poses.y.slice();
  const n = x.length;
  const offAt = (i: number) => offArc(poses.frame, x, y, i, leastPx);
  const offs = new Map<number, Off>();
  const path = timing.motion.paths.get(poses.part)!;
  /** Does the path itself, frame by frame, bend that way there? Then it is the poses that are too few to show it. */
  const bends = (i: number, off: Off): boolean => {
    const f = poses.frame[i]!;
    const frames = [f - 2, f - 1, f, f + poses.lasts[i]!, f + poses.lasts[i]! + 1];
    const column = (values: Float64Array) => Float64Array.from(frames, (k) => values[k] ?? Number.NaN);
    const near = offArc(frames, column(path.xPx), column(path.yPx), 2, 0);
    return near !== null && near.distance < bentShare * off.distance;
  };
  const corners = bounceFrames(timing, poses.part);
  /** Is there a bounce among the poses that would draw the arc? No smooth arc leads through a corner. */
  const isCornered = (i: number) => {
    const [from, to] = [poses.frame[Math.max(0, i - 2)]!, poses.frame[Math.min(n - 1, i + 2)]!];
    return corners.some((c) => c > from && c < to);
  };
  const look = (i: number): void => {
    const off = isCornered(i) ? null : offAt(i);
    if (off && beyondArc(off, bends(i, off)) > leastPx && !isTurn(x, y, i, off)) offs.set(i, off);
    else offs.delete(i);
  };
  /** How far the poses around would be off their arcs if this one were mended. Pixels, summed. */
  const leftIfMended = (i: number, off: Off, around: number): number => {
    const [px, py] = [x[i]!, y[i]!];
    [x[i], y[i]] = [off.x, off.y];
    let sum = 0;
    for (let k = Math.max(1, around - 4); k <= Math.min(n - 2, around + 4); k++) sum += offAt(k)?.distance ?? 0;
    [x[i], y[i]] = [px, py];
    return sum;
  };
  const beyond = (i: number) => beyondArc(offs.get(i)!, bends(i, offs.get(i)!));
  for (let i = 1; i < n - 1; i++) look(i);
  const faults: ArcFault[] = [];
  while (offs.size > 0) {
    const worst = [...offs.keys()].reduce((a, b) => (beyond(b) > beyond(a) ? b : a));
    // A neighbour of the pose that pops can be further off than it: the one whose mending mends the others is meant.
    let i = worst;
    let least = Number.POSITIVE_INFINITY;
    for (let k = worst - 2; k <= worst + 2; k++) {
      const off = offs.get(k);
      const left = off ? leftIfMended(k, off, worst) : Number.POSITIVE_INFINITY;
      if (left < least) [i, least] = [k, left];
    }
    const off = offs.get(i)!;
    offs.delete(i);
    const [a, f, b] = [poses.frame[i - 1]!, poses.frame[i]!, poses.frame[i + 1]!];
    // Half the sum of both steps' errors: the most that the second difference can err by, however they go together.
    const sd = (stepSdOf(timing.motion, poses.part, a, f) + stepSdOf(timing.motion, poses.part, f, b)) / 2;
    if (!(beyondArc(off, bends(i, off)) > surelySds * sd)) continue;
    [x[i], y[i]] = [off.x, off.y];
    for (let k = Math.max(1, i - 3); k <= Math.min(n - 2, i + 3); k++) if (k !== i) look(k);
    faults.push({
      kind: 'pop',
      part: poses.part,
      firstFrame: f,
      frames: poses.lasts[i]!,
      atFrame: f,
      ...faultSize(timing, off.distance, sd),
      sentence: `The ${words(poses.part)} leaves its arc by ${sizeWords(off.distance, timing)} at frame ${f + 1}.`,
      why: `Distance from the smooth arc through the poses before and after it, on frames ${poses.frame[Math.max(0, i - 2)]! + 1} to ${poses.frame[Math.min(n - 1, i + 2)]! + 1}.`,
    });
  }
  return faults;
}

/** Frames in which a marked point bounces: it comes down to there and goes up from there, which a single pose gone wrong does not. */
function bounceFrames({ motion, bodyHeightPx, choices }: Timing, part: Part): number[] {
  const path = isProp(part) ? motion.paths.get(part) : undefined;
  if (!path) return [];
  const { yPx } = path;
  return findContacts({ timesSec: motion.timesSec, paths: new Map([[part, path]]) }, bodyHeightPx, fpsOf(choices.rate))
    .map((contact) => contact.frameIndex)
    .filter((k) => yPx[k - 1]! > yPx[k - 3]! && yPx[k + 1]! > yPx[k + 3]!);
}

/** How far a pose is off its arc beyond what the arc itself may be wrong by, pixels. */
function beyondArc(off: Off, bends: boolean): number {
  const blind = !bends ? 0 : Math.max(0, 1 - off.outer / (seenShare * Math.max(1e-9, off.step)));
  return off.distance - bowShare * off.bow - (stepShare + blindShare * blind) * off.step;
}

/** How a pose stands to the arc through its neighbours. Pixels. */
interface Off {
  readonly distance: number;
  /** The nearest place on the arc. */
  readonly x: number;
  readonly y: number;
  /** How far the arc bows from the straight line between the nearest neighbours, at the time of the pose. */
  readonly bow: number;
  /** The distance between the nearest neighbours. */
  readonly step: number;
  /** The longer of the steps further out. */
  readonly outer: number;
}

/**
 * Null where neighbours are not known. Several curves are smooth: one laid by time (with two and with three neighbours to a side),
 * and one laid by the lengths between them, for hands that change speed on a bent path. The pose is off the arc when it is off all.
 * At the ends of the shot the arcs go through fewer neighbours.
 */
function offArc(t: readonly number[], x: Float64Array, y: Float64Array, i: number, leastPx: number): Off | null {
  const isKnown = (k: number) => Number.isFinite(x[k]! + y[k]!);
  const near = [i - 2, i - 1, i + 1, i + 2].filter(isKnown);
  if (!isKnown(i) || !near.includes(i - 1) || !near.includes(i + 1) || near.length < 3) return null;
  const wide = isKnown(i - 3) && isKnown(i + 3) && near.length === 4 ? [i - 3, ...near, i + 3] : null;
  const times = near.map((k) => t[k]!);
  const middle = onCurve(near, times, x, y, t[i]!);
  // Most poses are where their neighbours would have them at their very time, and need no closer look.
  if (!(Math.hypot(x[i]! - middle[0], y[i]! - middle[1]) > leastPx)) return null;
  const byTime = offCurve(near, times, x, y, i);
  const bow = nearestOn([x[i - 1]!, y[i - 1]!], [x[i + 1]!, y[i + 1]!], middle[0], middle[1]).distance;
  const offs = [byTime, offCurve(near, lengthsOf(near, x, y), x, y, i)];
  if (wide)
    offs.push(
      offCurve(
        wide,
        wide.map((k) => t[k]!),
        x,
        y,
        i,
      ),
    );
  const step = Math.hypot(x[i + 1]! - x[i - 1]!, y[i + 1]! - y[i - 1]!);
  const reach = (a: number, b: number) => (isKnown(a) && isKnown(b) ? Math.hypot(x[b]! - x[a]!, y[b]! - y[a]!) : 0);
  const outer = Math.max(reach(i - 2, i - 1), reach(i + 1, i + 2));
  return { ...offs.reduce((a, b) => (b.distance < a.distance ? b : a)), bow, step, outer };
}

/** Places of poses along the way through them, pixels; poses at one place are told apart by a little. */
function lengthsOf(poses: readonly number[], x: Float64Array, y: Float64Array): number[] {
  const lengths = [0];
  for (let j = 1; j < poses.length; j++) {
    const [a, b] = [poses[j - 1]!, poses[j]!];
    lengths.push(lengths[j - 1]! + Math.max(1e-6, Math.sqrt(Math.hypot(x[b]! - x[a]!, y[b]! - y[a]!))));
  }
  return lengths;
}

/** The polynomial that passes `poses` at `knots`, at one place between. */
function onCurve(
  poses: readonly number[],
  knots: readonly number[],
  x: Float64Array,
  y: Float64Array,
  at: number,
): readonly [number, number] {
  let [px, py] = [0, 0];
  for (let a = 0; a < poses.length; a++) {
    let w = 1;
    for (let b = 0; b < poses.length; b++) if (b !== a) w *= (at - knots[b]!) / (knots[a]! - knots[b]!);
    px += w * x[poses[a]!]!;
    py += w * y[poses[a]!]!;
  }
  return [px, py];
}

/** The nearest place to pose `i` on a curve, between the poses before and after it. */
function offCurve(poses: readonly number[], knots: readonly number[], x: Float64Array, y: Float64Array, i: number) {
  const from = knots[poses.indexOf(i - 1)]!;
  const to = knots[poses.indexOf(i + 1)]!;
  let best = { distance: Number.POSITIVE_INFINITY, x: 0, y: 0 };
  let before = onCurve(poses, knots, x, y, from);
  for (let s = 1; s <= curvePieces; s++) {
    const here = onCurve(poses, knots, x, y, from + (s / curvePieces) * (to - from));
    const near = nearestOn(before, here, x[i]!, y[i]!);
    if (near.distance < best.distance) best = near;
    before = here;
  }
  return best;
}

/** A curve is laid as so many straight pieces: they miss a bow by a hundredth of it. */
const curvePieces = 10;

function nearestOn(a: readonly [number, number], b: readonly [number, number], x: number, y: number) {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const square = dx * dx + dy * dy;
  const u = square > 0 ? Math.min(1, Math.max(0, ((x - a[0]) * dx + (y - a[1]) * dy) / square)) : 0;
  const [px, py] = [a[0] + u * dx, a[1] + u * dy];
  return { distance: Math.hypot(x - px, y - py), x: px, y: py };
}

/**
 * Is the pose where the part turns back? Then it lies beyond the curve of its neighbours as a matter of course, along the way that
 * it came and goes; to the side of that way it may still pop.
 */
function isTurn(x: Float64Array, y: Float64Array, i: number, off: Off): boolean {
  const [ax, ay] = [x[i - 1]! - (x[i - 2] ?? x[i - 1]!), y[i - 1]! - (y[i - 2] ?? y[i - 1]!)];
  const [bx, by] = [(x[i + 2] ?? x[i + 1]!) - x[i + 1]!, (y[i + 2] ?? y[i + 1]!) - y[i + 1]!];
  const [a, b] = [Math.hypot(ax, ay), Math.hypot(bx, by)];
  // It comes and goes at least as fast as it would pop, and not straight on.
  if (Math.max(a, b) < off.distance || a * b === 0) return false;
  if ((ax * bx + ay * by) / (a * b) > 0.5) return false;
  const [tx, ty] = [ax / a - bx / b, ay / a - by / b];
  const along = Math.hypot(tx, ty);
  const [ox, oy] = [x[i]! - off.x, y[i]! - off.y];
  return Math.abs(ox * tx + oy * ty) / along > 0.6 * off.distance;
}
