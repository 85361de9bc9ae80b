/**
 * Where a point flies freely: the take is cut into pieces that each are a parabola in time, as few as the noise allows
 * (optimal partition by dynamic programming), first with any curvature, then with the one that most of the pieces share.
 */
import { median } from '../track/quantile.ts';
import type { PointSamples } from './pointSamples.ts';

/** A piece of the take: samples `first` ≤ i ≤ `last`. */
export interface Piece {
  readonly first: number;
  readonly last: number;
  /** True when it is a parabola of the common curvature. */
  readonly flies: boolean;
}

/** The cut, and the common curvature it was made with. */
export interface Cut {
  readonly pieces: readonly Piece[];
  /** Downward acceleration that the flying pieces share, pixels per second². */
  readonly gravityPxS2: number;
  /** Standard deviation of one sample's height that was reckoned with. Shape [sample]. */
  readonly noisePx: Float64Array;
}

/** A free fall longer than this is 44 m deep; longer pieces are cut. Seconds. */
const longestSec = 3;
/** What a piece costs, in squares of the noise: three unknowns and where it ends, as a normal error would seldom earn. */
const pieceCost = 16;
/** A flight of the common curvature has an unknown less, and is what we look for. */
const flightCost = 10;
/** Shorter pieces say nothing of their own curvature. */
const leastSamples = 5;
/** Curvatures this alike (share of their value, besides twice their errors) may be the same gravity. */
const alikeShare = 0.08;
/** So many wild samples in a row may stand between two parts of one flight. */
const mostWild = 2;
/** Followed points err by this at least, pixels. */
const leastNoisePx = 0.15;
/** A flight bends away from a straight line by so many times the noise at least; less could be a slow move of the hand. */
const leastBend = 8;

/** Cuts the samples' heights into flights and the rest; null when no curvature stands out. */
export function cutFlights(samples: PointSamples): Cut | null {
  const { timesSec, yPx, sdPx } = samples;
  if (timesSec.length < leastSamples) return null;
  const floorPx = Math.max(leastNoisePx, noiseOf(yPx));
  const noisePx = sdPx.map((sd) => Math.hypot(sd, floorPx));
  const loose = partition(samples, noisePx, null);
  const gravityPxS2 = commonCurvature(samples, noisePx, loose);
  if (gravityPxS2 === null) return null;
  const parts = joined(partition(samples, noisePx, gravityPxS2), samples, noisePx, gravityPxS2);
  const pieces = parts.map((piece) => ({
    ...piece,
    flies: piece.flies && bendOf(piece, samples, noisePx, gravityPxS2) >= leastBend,
  }));
  return { pieces, gravityPxS2, noisePx };
}

/** Flights that a wild sample or two has cut in two are one flight again; what was wild between them weighs little later. */
function joined(pieces: readonly Piece[], samples: PointSamples, noisePx: Float64Array, gravity: number): Piece[] {
  const { timesSec, yPx } = samples;
  const left = (of: readonly Piece[]) => {
    const fit = new GrowingFit();
    const zero = of[0]!.first;
    for (const { first, last } of of)
      for (let i = first; i <= last; i++)
        fit.add(timesSec[i]! - timesSec[zero]!, yPx[i]! - yPx[zero]!, 1 / noisePx[i]! ** 2);
    return fit.leftOfFlight(gravity);
  };
  const result: Piece[] = [];
  for (const piece of pieces) {
    // The flight before, over what lies between.
    let at = result.length - 1;
    let between = 0;
    while (at >= 0 && !(result[at]!.flies && lengthOf(result[at]!) > mostWild) && between <= mostWild) {
      between += lengthOf(result[at]!);
      at--;
    }
    const before = result[at];
    const isLikely = before?.flies && between <= mostWild && lengthOf(piece) > mostWild;
    if (isLikely && left([before, piece]) <= left([before]) + left([piece]) + pieceCost)
      result.splice(at, result.length, { first: before.first, last: piece.last, flies: true });
    else result.push(piece);
  }
  return result;
}

function lengthOf({ first, last }: Piece): number {
  return last - first + 1;
}

/** Noise of a smooth curve's samples from its third differences, whose variance is 20 times as large. */
function noiseOf(y: Float64Array): number {
  const third: number[] = [];
  for (let k = 3; k < y.length; k++) third.push(Math.abs(y[k]! - 3 * y[k - 1]! + 3 * y[k - 2]! - y[k - 3]!));
  // 1.4826: from the median of absolute values to the standard deviation of a normal distribution.
  return third.length > 0 ? (1.4826 * median(third)) / Math.sqrt(20) : 0;
}

/** How far a flight bends away from a straight line, in deviations of its noise. */
export function bendOf(
  { first, last }: Piece,
  { timesSec }: PointSamples,
  noisePx: Float64Array,
  gravity: number,
): number {
  const span = timesSec[last]! - timesSec[first]!;
  return (gravity * span * span) / 8 / median(noisePx.subarray(first, last + 1));
}

/** Sums for a weighted fit of a parabola in time since the piece's first sample; grown one sample at a time. */
class GrowingFit {
  #s0 = 0;
  #s1 = 0;
  #s2 = 0;
  #s3 = 0;
  #s4 = 0;
  #y0 = 0;
  #y1 = 0;
  #y2 = 0;
  #yy = 0;
  #count = 0;

  add(t: number, y: number, weight: number): void {
    const t2 = t * t;
    this.#s0 += weight;
    this.#s1 += weight * t;
    this.#s2 += weight * t2;
    this.#s3 += weight * t2 * t;
    this.#s4 += weight * t2 * t2;
    this.#y0 += weight * y;
    this.#y1 += weight * y * t;
    this.#y2 += weight * y * t2;
    this.#yy += weight * y * y;
    this.#count++;
  }

  /** Weighted squares left by the best straight line after taking ½ g t² out. */
  leftOfFlight(gravity: number): number {
    const h = gravity / 2;
    const y0 = this.#y0 - h * this.#s2;
    const y1 = this.#y1 - h * this.#s3;
    const yy = this.#yy - 2 * h * this.#y2 + h * h * this.#s4;
    if (this.#count < 2) return 0;
    const det = this.#s0 * this.#s2 - this.#s1 ** 2;
    const a = (y0 * this.#s2 - y1 * this.#s1) / det;
    const b = (y1 * this.#s0 - y0 * this.#s1) / det;
    return Math.max(0, yy - a * y0 - b * y1);
  }

  /** Weighted squares left by the best parabola, its curvature (twice the square term) and that one's standard deviation. */
  parabola(): { left: number; curvature: number; sd: number } {
    if (this.#count < 3) return { left: 0, curvature: Number.NaN, sd: Number.POSITIVE_INFINITY };
    const [s0, s1, s2, s3, s4] = [this.#s0, this.#s1, this.#s2, this.#s3, this.#s4];
    const c00 = s2 * s4 - s3 * s3;
    const c01 = s2 * s3 - s1 * s4;
    const c02 = s1 * s3 - s2 * s2;
    const c11 = s0 * s4 - s2 * s2;
    const c12 = s1 * s2 - s0 * s3;
    const c22 = s0 * s2 - s1 * s1;
    const det = s0 * c00 + s1 * c01 + s2 * c02;
    const a = (c00 * this.#y0 + c01 * this.#y1 + c02 * this.#y2) / det;
    const b = (c01 * this.#y0 + c11 * this.#y1 + c12 * this.#y2) / det;
    const c = (c02 * this.#y0 + c12 * this.#y1 + c22 * this.#y2) / det;
    const left = Math.max(0, this.#yy - a * this.#y0 - b * this.#y1 - c * this.#y2);
    return { left, curvature: 2 * c, sd: 2 * Math.sqrt(c22 / det) };
  }
}

/**
 * The cheapest cut: every piece costs a price and its squared misfit (Bellman's recursion over the last piece's first
 * sample). With a gravity, pieces may also be flights of that curvature.
 */
function partition({ timesSec, yPx }: PointSamples, noisePx: Float64Array, gravity: number | null): Piece[] {
  const n = timesSec.length;
  /** Cheapest cost of the samples before i, and the piece that ends there. */
  const cost = new Float64Array(n + 1).fill(Number.POSITIVE_INFINITY);
  const from = new Int32Array(n + 1);
  const flies = new Uint8Array(n + 1);
  cost[0] = 0;
  for (let first = 0; first < n; first++) {
    const fit = new GrowingFit();
    for (let last = first; last < n && timesSec[last]! - timesSec[first]! <= longestSec; last++) {
      fit.add(timesSec[last]! - timesSec[first]!, yPx[last]! - yPx[first]!, 1 / noisePx[last]! ** 2);
      const any = cost[first]! + pieceCost + fit.parabola().left;
      const flight =
        gravity === null ? Number.POSITIVE_INFINITY : cost[first]! + flightCost + fit.leftOfFlight(gravity);
      const least = Math.min(any, flight);
      if (least < cost[last + 1]!) {
        cost[last + 1] = least;
        from[last + 1] = first;
        flies[last + 1] = flight <= any ? 1 : 0;
      }
    }
  }
  const pieces: Piece[] = [];
  for (let end = n; end > 0; end = from[end]!)
    pieces.push({ first: from[end]!, last: end - 1, flies: flies[end] === 1 });
  return pieces.reverse();
}

/** The curvature that most of the time in curved pieces agrees on; null when none is surely downward. */
function commonCurvature(samples: PointSamples, noisePx: Float64Array, pieces: readonly Piece[]): number | null {
  const { timesSec, yPx } = samples;
  const known = pieces.flatMap(({ first, last }) => {
    if (last - first + 1 < leastSamples) return [];
    const fit = new GrowingFit();
    for (let i = first; i <= last; i++)
      fit.add(timesSec[i]! - timesSec[first]!, yPx[i]! - yPx[first]!, 1 / noisePx[i]! ** 2);
    const { curvature, sd } = fit.parabola();
    const isBent = bendOf({ first, last, flies: true }, samples, noisePx, curvature) >= leastBend;
    return curvature > 5 * sd && isBent ? [{ curvature, sd, span: timesSec[last]! - timesSec[first]! }] : [];
  });
  let best: { support: number; curvature: number } | null = null;
  for (const { curvature: middle } of known) {
    let [support, sum, weights] = [0, 0, 0];
    for (const { curvature, sd, span } of known) {
      if (Math.abs(curvature - middle) > alikeShare * middle + 2 * sd) continue;
      support += span;
      sum += curvature / sd ** 2;
      weights += 1 / sd ** 2;
    }
    if (!best || support > best.support) best = { support, curvature: sum / weights };
  }
  return best?.curvature ?? null;
}
