/**
 * What is known of a joint after fitting, read at any time: between two knots the mean of an integrated Wiener process whose
 * ends are known is a cubic, and what it may have done in between is a bridge.
 */
import type { BandMatrix } from './banded.ts';

/** Unknowns per knot: position, velocity, slow error in units of its own sd there. */
export const perKnot = 3;
/** Of the band in which the system of all knots is filled: a knot is bound to its neighbours only. */
export const halfWidth = 2 * perKnot - 1;
/** Entries in a row of the band. */
export const rowWidth = halfWidth + 1;

/** The solution of a fit. */
export interface Posterior {
  /** Seconds, rising, at least two. Shape [knot]. */
  readonly timesSec: Float64Array;
  /** The unknowns' means, pixels (and pixels per second). Shape [knot × `perKnot`]. */
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Covariance of the unknowns along either axis, as far as the band goes. */
  readonly covariance: BandMatrix;
  /** Density of the random acceleration in the interval that ends at knot k, px²/s³. Shape [knot], entry 0 unused. */
  readonly density: Float64Array;
}

/** Position, velocity and standard deviation at one time, both axes. */
export interface PathPoint {
  xPx: number;
  yPx: number;
  vxPx: number;
  vyPx: number;
  sdPx: number;
}

/** Reads position, velocity and deviation at `sec`; before the first and after the last knot the joint is held there. */
export function readPosterior(known: Posterior, sec: number, into: PathPoint): void {
  const { timesSec, x, y } = known;
  const at = mixtureAt(known, sec);
  const { spanSec: h } = at;
  const u = at.sinceSec / h;
  const p0 = at.low * perKnot;
  const p1 = p0 + perKnot;
  // Written out, and without functions made anew: a minute of a whole body is read some hundred thousand times.
  const [a, b] = at.atLow;
  const [c, d] = at.atHigh;
  into.xPx = a * x[p0]! + b * x[p0 + 1]! + c * x[p1]! + d * x[p1 + 1]!;
  into.yPx = a * y[p0]! + b * y[p0 + 1]! + c * y[p1]! + d * y[p1 + 1]!;
  if (sec >= timesSec[0]! && sec <= timesSec[timesSec.length - 1]!) {
    const slope = (6 * u * (1 - u)) / h;
    const atFirst = 1 - 4 * u + 3 * u * u;
    const atSecond = 3 * u * u - 2 * u;
    into.vxPx = slope * (x[p1]! - x[p0]!) + atFirst * x[p0 + 1]! + atSecond * x[p1 + 1]!;
    into.vyPx = slope * (y[p1]! - y[p0]!) + atFirst * y[p0 + 1]! + atSecond * y[p1 + 1]!;
  } else {
    into.vxPx = 0;
    into.vyPx = 0;
  }
  into.sdPx = Math.sqrt(Math.max(0, positionVariance(known, at)));
}

/** A position between two knots as a mixture of their states, and the time since the first. */
interface Mixture {
  /** The knot before; the other one is the next. */
  readonly low: number;
  /** Weights of position and velocity at both. */
  readonly atLow: readonly [number, number];
  readonly atHigh: readonly [number, number];
  readonly sinceSec: number;
  readonly spanSec: number;
}

function mixtureAt({ timesSec: t }: Posterior, sec: number): Mixture {
  const n = t.length;
  let low = 0;
  let high = n - 1;
  const inside = Math.min(t[n - 1]!, Math.max(t[0]!, sec));
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (t[middle]! <= inside) low = middle;
    else high = middle;
  }
  const h = t[high]! - t[low]!;
  const u = (inside - t[low]!) / h;
  const a1 = u * u * (3 - 2 * u);
  return {
    low,
    atLow: [1 - a1, h * u * (1 - u) * (1 - u)],
    atHigh: [a1, h * u * u * (u - 1)],
    sinceSec: inside - t[low]!,
    spanSec: h,
  };
}

/** Covariance of unknown `a` of knot i and unknown `b` of knot j, which must be the same knot or neighbours. */
function covarianceOf({ covariance }: Posterior, i: number, a: number, j: number, b: number): number {
  const p = i * perKnot + a;
  const q = j * perKnot + b;
  return p >= q ? covariance.entries[p * rowWidth + p - q]! : covariance.entries[q * rowWidth + q - p]!;
}

/**
 * Covariance of the positions at two times, `a` not later than `b`. The posterior is a Markov chain over the knots, so
 * what is far apart is bound by the states between: cov(i, j) = cov(i, i+1) cov(i+1, i+1)⁻¹ cov(i+1, j).
 */
function positionCovariance(known: Posterior, a: Mixture, b: Mixture): number {
  const weightsAt = (m: Mixture, knot: number) => (knot === m.low ? m.atLow : m.atHigh);
  if (a === b) return positionVariance(known, a);
  if (a.low === b.low) {
    let sum = 0;
    for (const i of [a.low, a.low + 1])
      for (const j of [a.low, a.low + 1])
        for (const p of [0, 1] as const)
          for (const q of [0, 1] as const)
            sum += weightsAt(a, i)[p] * weightsAt(b, j)[q] * covarianceOf(known, i, p, j, q);
    // What the process may have done between two known ends: a beam clamped at both bends by the same formula.
    const s = a.sinceSec;
    const rest = b.spanSec - b.sinceSec;
    const bridge =
      (s * s * rest * rest * (3 * b.sinceSec * b.spanSec - s * (3 * b.sinceSec + rest))) / (6 * b.spanSec ** 3);
    return sum + known.density[a.low + 1]! * bridge;
  }
  // Row of the state at knot k that says as much about the position at `a` as everything before k does.
  let row: [number, number, number] = [a.atLow[0], a.atLow[1], 0];
  for (let k = a.low; k < b.low; k++) {
    row = carried(known, k, row);
    if (k === a.low) row = [row[0] + a.atHigh[0], row[1] + a.atHigh[1], row[2]];
  }
  let sum = 0;
  for (const j of [b.low, b.low + 1])
    for (const p of [0, 1, 2] as const)
      for (const q of [0, 1] as const) sum += row[p] * weightsAt(b, j)[q] * covarianceOf(known, b.low, p, j, q);
  return sum;
}

/** The same where both times are one: written out, since every position on the screen is asked for its deviation. */
function positionVariance({ covariance: { entries }, density }: Posterior, m: Mixture): number {
  const p0 = m.low * perKnot;
  const p1 = p0 + 1;
  const q0 = p0 + perKnot;
  const q1 = q0 + 1;
  const [a, b] = m.atLow;
  const [c, d] = m.atHigh;
  // Rows of the band; entry `k` of a row is the covariance with the unknown `k` before.
  const rp0 = p0 * rowWidth;
  const rp1 = p1 * rowWidth;
  const rq0 = q0 * rowWidth;
  const rq1 = q1 * rowWidth;
  const sum =
    a * a * entries[rp0]! +
    b * b * entries[rp1]! +
    c * c * entries[rq0]! +
    d * d * entries[rq1]! +
    2 *
      (a * b * entries[rp1 + 1]! +
        a * c * entries[rq0 + q0 - p0]! +
        a * d * entries[rq1 + q1 - p0]! +
        b * c * entries[rq0 + q0 - p1]! +
        b * d * entries[rq1 + q1 - p1]! +
        c * d * entries[rq1 + 1]!);
  const s = m.sinceSec;
  const rest = m.spanSec - s;
  const bridge = (s * s * rest * rest * (3 * s * m.spanSec - s * (3 * s + rest))) / (6 * m.spanSec ** 3);
  return sum + density[m.low + 1]! * bridge;
}

/** row · cov(k, k+1) · cov(k+1, k+1)⁻¹ */
function carried(known: Posterior, k: number, row: readonly [number, number, number]): [number, number, number] {
  const three = [0, 1, 2] as const;
  const left = three.map((q) =>
    three.reduce<number>((sum, p) => sum + row[p] * covarianceOf(known, k, p, k + 1, q), 0),
  );
  const c = (p: number, q: number) => covarianceOf(known, k + 1, p, k + 1, q);
  // Solves x · C = left by the cofactors of the symmetric 3 × 3 matrix C.
  const [a, b, d, e, f, g] = [c(0, 0), c(0, 1), c(0, 2), c(1, 1), c(1, 2), c(2, 2)];
  const m00 = e * g - f * f;
  const m01 = d * f - b * g;
  const m02 = b * f - d * e;
  const m11 = a * g - d * d;
  const m12 = b * d - a * f;
  const m22 = a * e - b * b;
  const determinant = a * m00 + b * m01 + d * m02;
  const [x, y, z] = left as [number, number, number];
  return [
    (x * m00 + y * m01 + z * m02) / determinant,
    (x * m01 + y * m11 + z * m12) / determinant,
    (x * m02 + y * m12 + z * m22) / determinant,
  ];
}

/** Standard deviation along one axis of the movement between two times, pixels. */
export function stepSd(known: Posterior, fromSec: number, toSec: number): number {
  const a = mixtureAt(known, Math.min(fromSec, toSec));
  const b = mixtureAt(known, Math.max(fromSec, toSec));
  const variance =
    positionCovariance(known, a, a) + positionCovariance(known, b, b) - 2 * positionCovariance(known, a, b);
  return Math.sqrt(Math.max(0, variance));
}
