import { type Part, sideFollowers, sidePairs } from '../base/joints.ts';
import type { Motion } from '../track/motion.ts';
import { median } from '../track/quantile.ts';

/** A movement that repeats itself. */
export interface MovementPeriod {
  /** From a pose until the same pose comes again, seconds: of a walk the stride, two steps. */
  readonly periodSec: number;
  /** The same in frames of the shot, a fraction. */
  readonly periodFrames: number;
  /** Half of it, where the sides take turns (left and right step): then this is one step; null where they do not. */
  readonly stepSec: number | null;
  readonly stepFrames: number | null;
  /** 0..1: how much of the movement comes back after a period; 1 = all of it. */
  readonly likeness: number;
  /** How many periods the movement lasts. */
  readonly cycles: number;
  /** 0..1: likeness, less where fewer than three periods were seen. */
  readonly confidence: number;
  /** The frames it was found in, from 0, inclusive. */
  readonly firstFrame: number;
  readonly lastFrame: number;
  /** Why, in a sentence. */
  readonly why: string;
}

/** Faster than this nothing that a performer does on purpose repeats, seconds. */
const shortestSec = 0.2;
/** ... and slower than this it is a phrase, not a rhythm. */
const longestSec = 6;
/** Repetitions beyond this lag refine nothing any more and cost time in a long take, seconds. */
const farthestSec = 16;
/** So much of the movement must come back, else it is no repetition. */
const leastLikeness = 0.72;
/** In between, the pose must have become so unlike itself: what hardly changes is always alike. Share of the mean unlikeness. */
const leastBetween = 0.5;
/** A shorter repetition wins over a longer one that is hardly better: two periods are as alike as one. */
const hardlyBetter = 0.12;
/** A frame in which the movement is slower than this share of its usual speed belongs to a pause at an end. */
const pauseShare = 0.12;

/** The movement of several parts, pixels. Shape [part][frame]. */
interface Columns {
  readonly parts: readonly Part[];
  readonly x: readonly Float64Array[];
  readonly y: readonly Float64Array[];
  readonly count: number;
}

/**
 * The period of a movement, or null where nothing repeats at least twice. The poses of evenly spaced frames, relative to the
 * hips, are compared with themselves moved along by a lag (mean squared difference, as in de Cheveigné & Kawahara 2002, eq. 6): the
 * first lag at which nearly all comes back is the period. Compared with their mirror image (left for right) they tell whether it
 * is made of two steps. Lags between frames follow from a parabola, and from the last repetition that is seen rather than the first.
 * @param motion evenly spaced; entries are frames of the shot. @param stepSec from frame to frame.
 * @param parts whose movement is asked for; default the body's joints. One marked point alone is taken as it goes, less a steady drift.
 * @param between first and last frame to look at; default all.
 */
export function periodOfMovement(
  motion: Motion,
  stepSec: number,
  parts: readonly Part[] | null = null,
  between: { readonly firstFrame: number; readonly lastFrame: number } | null = null,
): MovementPeriod | null {
  const first = between?.firstFrame ?? 0;
  const last = Math.min(motion.timesSec.length - 1, between?.lastFrame ?? Number.POSITIVE_INFINITY);
  const all = columnsOf(motion, parts ?? [...motion.paths.keys()].filter((p) => !rides.has(p)), first, last);
  if (!all) return null;
  const [from, to] = movingFrames(all);
  const moved = cut(all, from, to);
  const n = moved.count;
  const shortest = Math.max(2, Math.floor(shortestSec / stepSec));
  const longest = Math.min(Math.floor(n / 2), Math.ceil(longestSec / stepSec));
  const farthest = Math.min(Math.floor(0.8 * n), Math.ceil(farthestSec / stepSec));
  if (longest <= shortest) return null;

  const typical = 2 * spreadOf(moved);
  if (!(typical > 0)) return null;
  const curve = new Curve(farthest, (lag) => unlike(moved, moved, lag) / typical);
  const lag = firstReturn(curve, shortest, longest);
  if (lag === null) return null;
  const frames = refine(curve, lag);
  const likeness = Math.max(0, Math.min(1, 1 - bottom(curve, Math.round(lag))));
  if (likeness < leastLikeness) return null;

  const step = stepWithin(moved, curve, frames, typical);
  const cycles = (n - 1) / frames;
  const confidence = likeness * Math.min(1, cycles / 3);
  const steps = step === null ? '' : ' The sides take turns, so it is two steps.';
  return {
    periodSec: frames * stepSec,
    periodFrames: frames,
    stepSec: step === null ? null : (frames * stepSec) / 2,
    stepFrames: step === null ? null : frames / 2,
    likeness,
    cycles,
    confidence,
    firstFrame: first + from,
    lastFrame: first + to,
    why: `${Math.round(100 * likeness)} % of the movement comes back after ${(frames * stepSec).toFixed(2)} s, and it is seen ${cycles.toFixed(1)} times.${steps}`,
  };
}

/** Joints that say little beside those they ride on. */
const rides: ReadonlySet<Part> = new Set<Part>([
  ...(['leftEye', 'rightEye', 'leftEar', 'rightEar', 'mouth', 'chin', 'neck', 'chest'] as const),
  ...sideFollowers.flatMap(({ pair }) => pair),
]);

const partner: ReadonlyMap<Part, Part> = new Map(
  [...sidePairs, ...sideFollowers.map((f) => f.pair)].flatMap(([a, b]): [Part, Part][] => [
    [a, b],
    [b, a],
  ]),
);

/** The parts that are known throughout, relative to the hips where there is more than one; null without any. */
function columnsOf(motion: Motion, wanted: readonly Part[], first: number, last: number): Columns | null {
  const count = last - first + 1;
  if (count < 4) return null;
  const known = wanted.filter((part) => {
    const path = motion.paths.get(part);
    if (!path) return false;
    for (let k = first; k <= last; k++) if (!Number.isFinite(path.xPx[k]! + path.yPx[k]!)) return false;
    return true;
  });
  if (known.length === 0) return null;
  const pelvis = known.length > 1 ? motion.paths.get('pelvis') : undefined;
  const column = (part: Part, axis: 'xPx' | 'yPx') => {
    const path = motion.paths.get(part)!;
    return Float64Array.from({ length: count }, (_, i) => {
      const origin = pelvis?.[axis][first + i];
      return path[axis][first + i]! - (origin !== undefined && Number.isFinite(origin) ? origin : 0);
    });
  };
  return { parts: known, x: known.map((p) => column(p, 'xPx')), y: known.map((p) => column(p, 'yPx')), count };
}

/** First and last entry between which there is movement: pauses at the ends would count as likeness. */
function movingFrames(c: Columns): [number, number] {
  const speed = Float64Array.from({ length: c.count - 1 }, (_, i) =>
    Math.sqrt(c.x.reduce((sum, x, p) => sum + (x[i + 1]! - x[i]!) ** 2 + (c.y[p]![i + 1]! - c.y[p]![i]!) ** 2, 0)),
  );
  const usual = median([...speed].filter((s) => s > 0.05 * Math.max(...speed)));
  const from = speed.findIndex((s) => s > pauseShare * usual);
  const to = speed.findLastIndex((s) => s > pauseShare * usual);
  return from < 0 ? [0, 0] : [from, to + 1];
}

function cut(c: Columns, from: number, to: number): Columns {
  const part = (v: Float64Array) => v.slice(from, to + 1);
  return { parts: c.parts, x: c.x.map(part), y: c.y.map(part), count: to - from + 1 };
}

/** Mean square of all columns about their drift. */
function spreadOf(c: Columns): number {
  const squares = [...c.x, ...c.y].map(withoutDrift).reduce((sum, v) => sum + v.reduce((s, x) => s + x * x, 0), 0);
  return squares / c.count;
}

/** Less the straight line through it (least squares). */
function withoutDrift(values: Float64Array): Float64Array {
  const n = values.length;
  const middle = (n - 1) / 2;
  const mean = values.reduce((sum, v) => sum + v, 0) / n;
  let along = 0;
  let spread = 0;
  for (let i = 0; i < n; i++) {
    along += (i - middle) * values[i]!;
    spread += (i - middle) ** 2;
  }
  const slope = spread > 0 ? along / spread : 0;
  return values.map((v, i) => v - mean - slope * (i - middle));
}

/**
 * Mean squared difference of `a` moved along by `lag` from `b`, less that of the means: so a steady drift (a walk that nears the
 * lens, a ball that rolls on) does not count, nor does one side standing beside the other.
 */
function unlike(a: Columns, b: Columns, lag: number): number {
  const n = a.count - lag;
  const one = (to: Float64Array, from: Float64Array): number => {
    let sum = 0;
    let squares = 0;
    for (let i = 0; i < n; i++) {
      const away = to[i + lag]! - from[i]!;
      sum += away;
      squares += away * away;
    }
    return squares / n - (sum / n) ** 2;
  };
  let total = 0;
  for (let p = 0; p < a.parts.length; p++) total += one(a.x[p]!, b.x[p]!) + one(a.y[p]!, b.y[p]!);
  return Math.max(0, total);
}

/** How unlike itself a movement is by lag, worked out where it is asked for: it is needed at few of the long lags. */
class Curve {
  readonly #known = new Map<number, number>();

  constructor(
    readonly farthest: number,
    private readonly unlikeAt: (lag: number) => number,
  ) {}

  /** 0 at lag 0, about 1 where nothing comes back; infinite beyond the farthest lag. */
  at(lag: number): number {
    if (lag > this.farthest) return Number.POSITIVE_INFINITY;
    const known = this.#known.get(lag) ?? this.unlikeAt(lag);
    this.#known.set(lag, known);
    return known;
  }
}

/** The first lag at which the curve returns nearly as low as it ever does, having been high before; null where it never does. */
function firstReturn(curve: Curve, shortest: number, longest: number): number | null {
  const dips: number[] = [];
  let highest = 0;
  for (let lag = 1; lag <= longest && lag < curve.farthest; lag++) {
    highest = Math.max(highest, curve.at(lag));
    const isDip = curve.at(lag) <= curve.at(lag - 1) && curve.at(lag) < curve.at(lag + 1);
    if (isDip && lag >= shortest && highest >= leastBetween) dips.push(lag);
  }
  const deepest = Math.min(...dips.map((lag) => bottom(curve, lag)));
  return dips.find((lag) => bottom(curve, lag) <= deepest + hardlyBetter) ?? null;
}

/** The lag of the dip at `lag`, to a fraction of a frame; from its last repetition within the curve. */
function refine(curve: Curve, lag: number): number {
  let frames = vertex(curve, lag);
  for (let times = 2; times * frames < curve.farthest - 1; times++) {
    const near = Math.round(times * frames);
    const reach = Math.max(2, Math.round(0.08 * frames));
    let lowest = near;
    for (let l = near - reach; l <= near + reach; l++) if (curve.at(l) < curve.at(lowest)) lowest = l;
    // A dip at the edge of where it may be, or one much shallower than the first, is not its repetition.
    const isDip = Math.abs(lowest - near) < reach && lowest < curve.farthest;
    if (!isDip || bottom(curve, lowest) > bottom(curve, lag) + 0.25) break;
    frames = vertex(curve, lowest) / times;
  }
  return frames;
}

/** Lowest point of the parabola through a dip and its neighbours. */
function vertex(curve: Curve, lag: number): number {
  const [a, b, c] = [curve.at(lag - 1), curve.at(lag), curve.at(lag + 1)];
  const bend = a - 2 * b + c;
  return bend > 0 ? lag + Math.max(-0.5, Math.min(0.5, (a - c) / (2 * bend))) : lag;
}

/** How low that parabola goes: between frames a dip is deeper than at them. */
function bottom(curve: Curve, lag: number): number {
  const [a, b, c] = [curve.at(lag - 1), curve.at(lag), curve.at(lag + 1)];
  const bend = a - 2 * b + c;
  return Math.max(0, bend > 0 ? b - (a - c) ** 2 / (8 * bend) : b);
}

/**
 * Half the period, where after it the left side does what the right did and the pose itself is far from come back; null where the
 * sides do not take turns. As seen from the side (left for right) or from the front (and mirrored).
 */
function stepWithin(c: Columns, curve: Curve, frames: number, typical: number): number | null {
  const half = Math.round(frames / 2);
  const mirrored = [swapped(c, 1), swapped(c, -1)].filter((m) => m !== null);
  if (mirrored.length === 0 || half < 1) return null;
  const lags = [half - 1, half, half + 1].filter((lag) => lag > 0 && lag < c.count - 1);
  const least = Math.min(...mirrored.flatMap((m) => lags.map((lag) => unlike(c, m, lag) / typical)));
  return least < 0.4 && curve.at(half) > 2 * least + 0.2 ? frames / 2 : null;
}

/** Every part in its partner's place, x times `sign`; null where no sides are known. */
function swapped(c: Columns, sign: 1 | -1): Columns | null {
  const from = c.parts.map((part) => c.parts.indexOf(partner.get(part) ?? part));
  if (from.some((i) => i < 0) || from.every((i, p) => i === p)) return null;
  return { ...c, x: from.map((i) => c.x[i]!.map((v) => sign * v)), y: from.map((i) => c.y[i]!) };
}
