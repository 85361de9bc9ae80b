import type { Point } from '../base/twoBones.ts';
import { quantile } from '../track/quantile.ts';

/**
 * A change of place, size and direction that keeps shapes: (x, y) → shift + scale · R(rotation) · (±x, y). Units are those of both
 * sides: mm to px, say.
 */
export interface Similarity {
  /** Lengths there over lengths here; above 0. */
  readonly scale: number;
  /** From x towards y: clockwise as seen where y points down. Degrees, −180 to 180. */
  readonly rotationDeg: number;
  /** Where (0, 0) goes. */
  readonly shiftX: number;
  readonly shiftY: number;
  /** x changes its sign first: a mirrored picture. */
  readonly isMirrored: boolean;
}

/** Points in order. Shape [point]; NaN = not known, then its partner does not count either. */
export interface PointSet {
  readonly x: ArrayLike<number>;
  readonly y: ArrayLike<number>;
}

/** What may be asked of a fit. */
export interface SimilarityOptions {
  /** Look through a mirror; never found out by itself, since a body seen from behind is no mirror picture. */
  readonly mirror?: boolean;
  /** The scale where it is known (a ruler lies in the picture); absent = it is fitted. */
  readonly scale?: number;
  /** Standard deviation of each point's error along one axis, units of `to`; absent = all alike. Shape [point]. */
  readonly sd?: ArrayLike<number>;
  /** Every point counts, as in the textbook. Absent = wrong points are left out. */
  readonly isPlain?: boolean;
}

/** A similarity with how sure it is. */
export interface SimilarityFit {
  readonly similarity: Similarity;
  /** Standard deviation of the scale, as a share of it; 0 where it was given. */
  readonly scaleSdShare: number;
  readonly rotationSdDeg: number;
  /** The place (in `from`) at which shift and rotation do not err together, and the standard deviation along one axis of where it goes. */
  readonly centre: Point;
  readonly shiftSd: number;
  /** Standard deviation of a point's error along one axis where its `sd` is 1, or absent: units of `to`. */
  readonly residualSd: number;
  /** How far each point is believed, 0..1; 0 for points that are not known. Shape [point]. */
  readonly believed: Float64Array;
  /** Points of a weight above a tenth. */
  readonly count: number;
}

/** Where a similarity takes a place. */
export function applySimilarity(s: Similarity, x: number, y: number): [number, number] {
  const [c, d] = turnOf(s);
  const u = s.isMirrored ? -x : x;
  return [s.shiftX + c * u - d * y, s.shiftY + d * u + c * y];
}

/** The way back. */
export function invertSimilarity(s: Similarity): Similarity {
  const scale = 1 / s.scale;
  // Undoing a mirrored turn turns the same way: M R⁻¹ = R M.
  const rotationDeg = s.isMirrored ? s.rotationDeg : -s.rotationDeg;
  const back: Similarity = { scale, rotationDeg, shiftX: 0, shiftY: 0, isMirrored: s.isMirrored };
  const [x, y] = applySimilarity(back, s.shiftX, s.shiftY);
  return { ...back, shiftX: -x, shiftY: -y };
}

/** Standard deviation along one axis of where a place (in `from`) goes, from the fit alone; units of `to`. */
export function sdThere(fit: SimilarityFit, x: number, y: number): number {
  const away = Math.hypot(x - fit.centre[0], y - fit.centre[1]) * fit.similarity.scale;
  const turn = Math.max(fit.scaleSdShare, (fit.rotationSdDeg * Math.PI) / 180);
  return Math.hypot(fit.shiftSd, away * turn);
}

function turnOf({ scale, rotationDeg }: Similarity): [number, number] {
  const angle = (rotationDeg * Math.PI) / 180;
  return [scale * Math.cos(angle), scale * Math.sin(angle)];
}

/** Known pairs, the source mirrored where asked. */
interface Pairs {
  readonly x: number[];
  readonly y: number[];
  readonly u: number[];
  readonly v: number[];
  /** 1 / sd². */
  readonly w: number[];
  readonly index: number[];
}

/**
 * The similarity that takes `from` onto `to` with the least sum of squares, without reflection unless `mirror` asks for one (closed
 * form: Umeyama 1991 in the plane, where it is one complex division; from memory). Wrong points are left out: it begins at the least
 * median of squares over pairs of points (Rousseeuw 1984, from memory), good for nearly half of wrong ones, and goes on by weights
 * after Tukey's biweight.
 * @returns null where fewer than two points are known, or all are in one place.
 */
export function fitSimilarity(from: PointSet, to: PointSet, options: SimilarityOptions = {}): SimilarityFit | null {
  const { mirror = false, scale, isPlain = false } = options;
  const pairs = knownPairs(from, to, mirror, options.sd);
  const n = pairs.x.length;
  if (n < 2) return null;
  const ones = new Float64Array(n).fill(1);
  let solved = solve(pairs, ones, scale);
  if (!solved) return null;
  let believed: Float64Array = ones;
  let sd = spread(pairs, solved);
  if (!isPlain && n > 2) {
    solved = leastMedian(pairs, scale) ?? solved;
    const least = 1e-9 * (Math.abs(solved.a) + Math.abs(solved.b)) * solved.radius;
    for (let round = 0; round < rounds; round++) {
      // The spread of the better half: the wrong ones do not count in it.
      sd = Math.max(least, spread(pairs, solved));
      const next: Float64Array = Float64Array.from(offsOf(pairs, solved), (off) => biweight(off / sd));
      const better = solve(pairs, next, scale);
      if (!better) break;
      const change = Math.hypot(better.a - solved.a, better.b - solved.b);
      [solved, believed] = [better, next];
      if (change < 1e-10 * Math.hypot(better.a, better.b)) break;
    }
    sd = spread(pairs, solved, believed);
  } else if (n > 2) {
    const squares = offsOf(pairs, solved).reduce((sum, off) => sum + off * off, 0);
    sd = Math.sqrt(squares / (2 * n - (scale === undefined ? 4 : 3)));
  }
  return toFit(pairs, solved, believed, sd, mirror, scale !== undefined, from.x.length);
}

/** Beyond so many standard deviations a point does not count: Tukey's 4.685, a little wider as distances have two axes. */
const biweightSds = 5.5;
const rounds = 40;
/** Pairs that are tried, and points they are judged by: with a third of wrong points, all fail once in 10^20 shots. */
const tries = 80;
const judges = 400;

function biweight(u: number): number {
  const share = u / biweightSds;
  return share < 1 ? (1 - share * share) ** 2 : 0;
}

function knownPairs(from: PointSet, to: PointSet, mirror: boolean, sd?: ArrayLike<number>): Pairs {
  const pairs: Pairs = { x: [], y: [], u: [], v: [], w: [], index: [] };
  for (let i = 0; i < from.x.length; i++) {
    const [x, y, u, v] = [from.x[i]!, from.y[i]!, to.x[i]!, to.y[i]!];
    const weight = sd ? 1 / sd[i]! ** 2 : 1;
    if (!Number.isFinite(x + y + u + v) || !(weight > 0) || !Number.isFinite(weight)) continue;
    pairs.x.push(mirror ? -x : x);
    pairs.y.push(y);
    pairs.u.push(u);
    pairs.v.push(v);
    pairs.w.push(weight);
    pairs.index.push(i);
  }
  return pairs;
}

/** u = p + a·x − b·y, v = q + b·x + a·y, with the points' middles and how far they lie about it. */
interface Solved {
  readonly a: number;
  readonly b: number;
  readonly p: number;
  readonly q: number;
  readonly middle: Point;
  /** Weighted sum of squares about the middle, and sum of the weights. */
  readonly squares: number;
  readonly weight: number;
  /** Root mean square distance from the middle. */
  readonly radius: number;
}

function solve({ x, y, u, v, w }: Pairs, believed: Float64Array | number[], scale?: number): Solved | null {
  let [sum, mx, my, mu, mv] = [0, 0, 0, 0, 0];
  for (let i = 0; i < x.length; i++) {
    const weight = w[i]! * believed[i]!;
    sum += weight;
    mx += weight * x[i]!;
    my += weight * y[i]!;
    mu += weight * u[i]!;
    mv += weight * v[i]!;
  }
  if (!(sum > 0)) return null;
  [mx, my, mu, mv] = [mx / sum, my / sum, mu / sum, mv / sum];
  let [squares, dot, cross] = [0, 0, 0];
  for (let i = 0; i < x.length; i++) {
    const weight = w[i]! * believed[i]!;
    const [dx, dy, du, dv] = [x[i]! - mx, y[i]! - my, u[i]! - mu, v[i]! - mv];
    squares += weight * (dx * dx + dy * dy);
    dot += weight * (dx * du + dy * dv);
    cross += weight * (dx * dv - dy * du);
  }
  const long = Math.hypot(dot, cross);
  if (!(squares > 0) || !(long > 0)) return null;
  const [a, b] =
    scale === undefined ? [dot / squares, cross / squares] : [(scale * dot) / long, (scale * cross) / long];
  const radius = Math.sqrt(squares / sum);
  return { a, b, p: mu - a * mx + b * my, q: mv - b * mx - a * my, middle: [mx, my], squares, weight: sum, radius };
}

/** How far each point is off, in its own standard deviations. */
function offsOf({ x, y, u, v, w }: Pairs, { a, b, p, q }: Pick<Solved, 'a' | 'b' | 'p' | 'q'>): number[] {
  return x.map((_, i) => {
    const [dx, dy] = [p + a * x[i]! - b * y[i]! - u[i]!, q + b * x[i]! + a * y[i]! - v[i]!];
    return Math.hypot(dx, dy) * Math.sqrt(w[i]!);
  });
}

/** Standard deviation along one axis from the median distance, which is √(2 ln 2) of it, of all points or of those believed. */
function spread(pairs: Pairs, solved: Solved, believed?: Float64Array): number {
  const offs = offsOf(pairs, solved);
  const counted = believed ? offs.filter((_, i) => believed[i]! > 0.1) : offs;
  return quantile(counted, 0.5) / Math.sqrt(2 * Math.LN2);
}

/** The similarity through two of the points that leaves the least median distance. Null where points are all in one place. */
function leastMedian(pairs: Pairs, scale?: number): Solved | null {
  const n = pairs.x.length;
  const every = Math.max(1, Math.floor(n / judges));
  const keep = Array.from({ length: n }, (_, i) => i).filter((i) => i % every === 0);
  const pick = (column: number[]) => keep.map((i) => column[i]!);
  const judged: Pairs = {
    x: pick(pairs.x),
    y: pick(pairs.y),
    u: pick(pairs.u),
    v: pick(pairs.v),
    w: pick(pairs.w),
    index: keep,
  };
  let best: Solved | null = null;
  let least = Number.POSITIVE_INFINITY;
  const all = solve(pairs, new Float64Array(n).fill(1), scale);
  // A plain walk through pairs far apart in the list: the same every time, and neighbours in it are often one joint.
  for (let k = 0, i = 0; k < tries; k++) {
    i = (i + 1 + Math.floor(n * 0.618)) % n;
    const j = (i + 1 + ((k * 7919 + (k >> 2)) % Math.max(1, n - 1))) % n;
    if (i === j) continue;
    const two = pairOf(pairs, i, j, scale);
    if (!two || (all && two.radius < 0.3 * all.radius)) continue;
    const median = quantile(offsOf(judged, two), 0.5);
    if (median < least) [best, least] = [two, median];
  }
  return best;
}

function pairOf({ x, y, u, v }: Pairs, i: number, j: number, scale?: number): Solved | null {
  const at = (column: number[]) => [column[i]!, column[j]!];
  return solve({ x: at(x), y: at(y), u: at(u), v: at(v), w: [1, 1], index: [i, j] }, [1, 1], scale);
}

function toFit(
  pairs: Pairs,
  solved: Solved,
  weights: Float64Array | number[],
  sd: number,
  mirror: boolean,
  isScaleGiven: boolean,
  count: number,
): SimilarityFit {
  const { a, b, p, q, middle, squares, weight } = solved;
  const scale = Math.hypot(a, b);
  const believed = new Float64Array(count);
  pairs.index.forEach((at, i) => {
    believed[at] = weights[i]!;
  });
  const turnSd = sd / Math.sqrt(squares) / scale;
  return {
    similarity: {
      scale,
      rotationDeg: (Math.atan2(b, a) * 180) / Math.PI,
      shiftX: p,
      shiftY: q,
      isMirrored: mirror,
    },
    scaleSdShare: isScaleGiven ? 0 : turnSd,
    rotationSdDeg: (turnSd * 180) / Math.PI,
    centre: [mirror ? -middle[0] : middle[0], middle[1]],
    shiftSd: sd / Math.sqrt(weight),
    residualSd: sd,
    believed,
    count: believed.reduce((sum, w) => sum + (w > 0.1 ? 1 : 0), 0),
  };
}

/**
 * How unlike two shapes of as many points are, 0 (alike but for place, size and direction) to 1: both are brought to their middle and
 * to a sum of squares of 1, then the least sum of squared distances is left (Procrustes analysis: Gower 1975, from memory).
 * @param mirror compare with the mirror picture of `b`.
 */
export function procrustesDisparity(a: PointSet, b: PointSet, mirror = false): number {
  const [p, q] = [standardised(a), standardised(b)];
  let [dot, cross] = [0, 0];
  for (let i = 0; i < p.x.length; i++) {
    const [x, y, u, v] = [mirror ? -q.x[i]! : q.x[i]!, q.y[i]!, p.x[i]!, p.y[i]!];
    dot += x * u + y * v;
    cross += x * v - y * u;
  }
  return Math.max(0, 1 - (dot * dot + cross * cross));
}

/** Points about their middle, with a sum of squares of 1. */
export function standardised({ x, y }: PointSet): { readonly x: number[]; readonly y: number[] } {
  const [mx, my] = [meanOf(x), meanOf(y)];
  const [dx, dy] = [Array.from(x, (v) => v - mx), Array.from(y, (v) => v - my)];
  const long = Math.hypot(...dx, ...dy) || 1;
  return { x: dx.map((v) => v / long), y: dy.map((v) => v / long) };
}

function meanOf(column: ArrayLike<number>): number {
  return Array.from(column).reduce((sum, v) => sum + v, 0) / column.length;
}
