/**
 * One joint's smoother. What is believed: the joint's acceleration is white noise (an integrated Wiener process; its
 * posterior mean is a cubic smoothing spline), the detector's error has a quick part (independent from picture to
 * picture) and a slow part (an Ornstein–Uhlenbeck process: the same pixels mislead it the same way), both axes alike.
 * Kalman filter and Rauch–Tung–Striebel pass would give the same answer; solving the banded system of all knots at once
 * is shorter and takes displacements as easily as positions.
 *
 * Neither believes in Gaussian tails: measurements are reweighted as Student-t, and the acceleration's density is
 * estimated along the take (a limb that snaps and stops dead has a large one there and a small one in the hold beside it).
 * Both by expectation–maximisation, so that the uncertainty of the fit is part of every weight.
 */
import { assert } from '../base/assert.ts';
import { type BandMatrix, factorBand, invertInBand, makeBand, solveBand } from './banded.ts';

/** What is known of one joint at the knots (the times at which something was measured, or might have been). */
export interface PathMeasures {
  /** Seconds, strictly rising, at least 2. Shape [knot]. */
  readonly timesSec: Float64Array;
  /** Measured position, pixels; read only where `variancePx2` is finite. Shape [knot]. */
  readonly xPx: Float64Array;
  readonly yPx: Float64Array;
  /** Variance of the quick part of the measurement's error along one axis; Infinity = nothing measured here. */
  readonly variancePx2: Float64Array;
  /** Standard deviation of the slow part of the error, pixels; read where `variancePx2` is finite. Shape [knot]. */
  readonly slowSdPx: Float64Array;
  /** 1 where the animator placed the joint: no slow error, and never doubted. Shape [knot]. */
  readonly placed: Uint8Array;
  /**
   * Measured steps, from a source that says how far the joint went rather than where it is (optical flow): entry k is the
   * step from knot k−1 to knot k. Shape [knot]; entry 0 is not read; variance Infinity = not measured.
   */
  readonly steps?: StepMeasures;
}

/** Displacements between neighbouring knots. */
export interface StepMeasures {
  readonly dxPx: Float64Array;
  readonly dyPx: Float64Array;
  readonly variancePx2: Float64Array;
}

/** What is believed of a joint before looking at the take. */
export interface PathBeliefs {
  /** Usual density of the random acceleration: variance of the speed gained in a second, px²/s³. */
  readonly densityPx2S3: number;
  /** Factor on it in intervals in which a step was measured. Default 1. */
  readonly steppedDensityFactor?: number;
  /** The time in which the detector's slow error forgets itself, seconds. */
  readonly slowSec: number;
}

/** Degrees of freedom of a measurement's error: 4 lets one sighting in fifty be wild. */
const measureFreedom = 4;
/** How many neighbouring measurements of the density the usual one counts for, and how far neighbours reach. */
const densityFreedom = 6;
const densityReachSec = 0.1;
/** The density never falls below this share of the usual: in a dead hold the estimate would run towards nothing. */
const leastDensity = 0.02;
/** At most so many rounds of reweighting, fewer when the path has come to rest (moves by less than this). */
const rounds = 10;
const settledPx = 0.05;

/** Unknowns per knot: position, velocity, slow error in units of its own sd there. */
const perKnot = 3;
const halfWidth = 2 * perKnot - 1;
const rowWidth = halfWidth + 1;

/** Position, velocity and standard deviation at one time, both axes. */
export interface PathPoint {
  xPx: number;
  yPx: number;
  vxPx: number;
  vyPx: number;
  sdPx: number;
}

/** A fitted joint path, readable at any time. */
export interface SmoothPath {
  readonly timesSec: Float64Array;
  /** How far each measurement was believed, 1 = like a usual one, towards 0 = wild. NaN where nothing was measured. */
  readonly trust: Float64Array;
  /**
   * Reads the path at `sec` into `into`: between knots the exact conditional mean (a cubic) and variance; before the
   * first and after the last knot the joint is held there.
   */
  read(sec: number, into: PathPoint): void;
  /**
   * Standard deviation along one axis of the movement between two times, pixels: neighbouring positions err together, so
   * it is smaller than both positions' deviations would make it.
   */
  stepSd(fromSec: number, toSec: number): number;
}

/** The system being solved and its latest solution. */
interface Work {
  readonly measures: PathMeasures;
  readonly beliefs: PathBeliefs;
  readonly matrix: BandMatrix;
  readonly covariance: BandMatrix;
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** The positions of the round before. Shape [knot]. */
  readonly lastX: Float64Array;
  readonly lastY: Float64Array;
  /** Density in the interval that ends at knot k, and its middle. Shape [knot], entry 0 unused. */
  readonly density: Float64Array;
  /** What is believed of it before looking. Shape [knot]. */
  readonly usual: Float64Array;
  readonly middleSec: Float64Array;
  readonly trust: Float64Array;
  readonly stepTrust: Float64Array;
}

/** Fits one joint. Cost: linear in the number of knots. */
export function smoothPath(measures: PathMeasures, beliefs: PathBeliefs): SmoothPath {
  const n = measures.timesSec.length;
  assert(n >= 2, `smoothPath: ${n} knots`);
  const { steps } = measures;
  const usual = Float64Array.from(measures.timesSec, (_, k) =>
    steps && Number.isFinite(steps.variancePx2[k]!)
      ? beliefs.densityPx2S3 * (beliefs.steppedDensityFactor ?? 1)
      : beliefs.densityPx2S3,
  );
  const work: Work = {
    measures,
    beliefs,
    matrix: makeBand(n * perKnot, halfWidth),
    covariance: makeBand(n * perKnot, halfWidth),
    x: new Float64Array(n * perKnot),
    y: new Float64Array(n * perKnot),
    lastX: new Float64Array(n).fill(Number.NaN),
    lastY: new Float64Array(n).fill(Number.NaN),
    density: usual.slice(),
    usual,
    middleSec: measures.timesSec.map((t, k) => (k === 0 ? Number.NaN : (t + measures.timesSec[k - 1]!) / 2)),
    trust: measures.variancePx2.map((v) => (Number.isFinite(v) ? 1 : Number.NaN)),
    stepTrust: new Float64Array(n).fill(1),
  };
  for (let round = 0; ; round++) {
    solve(work);
    if (round === rounds - 1 || hasSettled(work)) break;
    reweighMeasures(work);
    reweighSteps(work);
    reweighDensity(work);
  }
  return {
    timesSec: measures.timesSec,
    trust: work.trust,
    read: (sec, into) => readPath(work, sec, into),
    stepSd: (fromSec, toSec) => stepSd(work, fromSec, toSec),
  };
}

/** Whether no position has moved more than `settledPx` since the round before; remembers the positions. */
function hasSettled({ x, y, lastX, lastY }: Work): boolean {
  let settled = true;
  for (let k = 0; k < lastX.length; k++) {
    const p = k * perKnot;
    if (!(Math.abs(x[p]! - lastX[k]!) <= settledPx && Math.abs(y[p]! - lastY[k]!) <= settledPx)) settled = false;
    lastX[k] = x[p]!;
    lastY[k] = y[p]!;
  }
  return settled;
}

function solve(work: Work): void {
  const { measures, beliefs, matrix, x, y, density, trust, stepTrust } = work;
  const e = matrix.entries;
  const t = measures.timesSec;
  const n = t.length;
  e.fill(0);
  x.fill(0);
  y.fill(0);
  // Nothing is known of the first position and speed but that they are finite (sd 10⁴ px, px/s).
  e[0] = 1e-8;
  e[rowWidth] = 1e-8;
  e[2 * rowWidth] = 1;
  for (let k = 1; k < n; k++) {
    const h = t[k]! - t[k - 1]!;
    const q = 1 / density[k]!;
    const stiff = (12 * q) / (h * h * h);
    const lever = (6 * q) / (h * h);
    const spring = (2 * q) / h;
    const p0 = (k - 1) * perKnot * rowWidth;
    const v0 = p0 + rowWidth;
    const b0 = v0 + rowWidth;
    const p1 = b0 + rowWidth;
    const v1 = p1 + rowWidth;
    const b1 = v1 + rowWidth;
    e[p0]! += stiff;
    e[v0 + 1]! += lever;
    e[v0]! += 2 * spring;
    e[p1 + 3]! -= stiff;
    e[p1 + 2]! -= lever;
    e[p1]! += stiff;
    e[v1 + 4]! += lever;
    e[v1 + 3]! += spring;
    e[v1 + 1]! -= lever;
    e[v1]! += 2 * spring;
    const kept = Math.exp(-h / beliefs.slowSec);
    const fresh = 1 / (1 - kept * kept);
    e[b0]! += kept * kept * fresh;
    e[b1 + 3]! -= kept * fresh;
    e[b1]! += fresh;
  }
  for (let k = 0; k < n; k++) {
    const variance = measures.variancePx2[k]!;
    if (!Number.isFinite(variance)) continue;
    const info = trust[k]! / variance;
    const p = k * perKnot;
    e[p * rowWidth]! += info;
    x[p]! += info * measures.xPx[k]!;
    y[p]! += info * measures.yPx[k]!;
    if (measures.placed[k] === 1) continue;
    const b = p + 2;
    const slow = measures.slowSdPx[k]!;
    e[b * rowWidth + 2]! += slow * info;
    e[b * rowWidth]! += slow * slow * info;
    x[b]! += slow * info * measures.xPx[k]!;
    y[b]! += slow * info * measures.yPx[k]!;
  }
  const steps = measures.steps;
  if (steps)
    for (let k = 1; k < n; k++) {
      const variance = steps.variancePx2[k]!;
      if (!Number.isFinite(variance)) continue;
      const info = stepTrust[k]! / variance;
      const p1 = k * perKnot;
      const p0 = p1 - perKnot;
      e[p0 * rowWidth]! += info;
      e[p1 * rowWidth + perKnot]! -= info;
      e[p1 * rowWidth]! += info;
      x[p1]! += info * steps.dxPx[k]!;
      y[p1]! += info * steps.dyPx[k]!;
      x[p0]! -= info * steps.dxPx[k]!;
      y[p0]! -= info * steps.dyPx[k]!;
    }
  factorBand(matrix);
  solveBand(matrix, x);
  solveBand(matrix, y);
  invertInBand(matrix, work.covariance);
}

/** Student-t weight of a residual in the plane whose expected square, in units of its variance, is `square`. */
function studentWeight(square: number): number {
  return (measureFreedom + 2) / (measureFreedom + square);
}

function reweighMeasures(work: Work): void {
  const { measures, x, y, trust } = work;
  const z = work.covariance.entries;
  for (let k = 0; k < trust.length; k++) {
    const variance = measures.variancePx2[k]!;
    if (!Number.isFinite(variance) || measures.placed[k] === 1) continue;
    const p = k * perKnot;
    const b = p + 2;
    const slow = measures.slowSdPx[k]!;
    const ex = measures.xPx[k]! - x[p]! - slow * x[b]!;
    const ey = measures.yPx[k]! - y[p]! - slow * y[b]!;
    const fit = z[p * rowWidth]! + slow * slow * z[b * rowWidth]! + 2 * slow * z[b * rowWidth + 2]!;
    trust[k] = studentWeight((ex * ex + ey * ey + 2 * fit) / variance);
  }
}

function reweighSteps(work: Work): void {
  const { x, y, stepTrust } = work;
  const steps = work.measures.steps;
  if (!steps) return;
  const z = work.covariance.entries;
  for (let k = 1; k < stepTrust.length; k++) {
    const variance = steps.variancePx2[k]!;
    if (!Number.isFinite(variance)) continue;
    const p1 = k * perKnot;
    const p0 = p1 - perKnot;
    const ex = steps.dxPx[k]! - x[p1]! + x[p0]!;
    const ey = steps.dyPx[k]! - y[p1]! + y[p0]!;
    const fit = z[p1 * rowWidth]! + z[p0 * rowWidth]! - 2 * z[p1 * rowWidth + perKnot]!;
    stepTrust[k] = studentWeight((ex * ex + ey * ey + 2 * fit) / variance);
  }
}

/** Expected energy of the acceleration in the interval that ends at knot k, in px²/s³; 4 × the density if that is right. */
function intervalEnergy(work: Work, k: number): number {
  const { x, y } = work;
  const z = work.covariance.entries;
  const h = work.measures.timesSec[k]! - work.measures.timesSec[k - 1]!;
  const p0 = (k - 1) * perKnot;
  const v0 = p0 + 1;
  const p1 = k * perKnot;
  const v1 = p1 + 1;
  const dx = x[p1]! - x[p0]!;
  const dy = y[p1]! - y[p0]!;
  const moved = dx * dx + dy * dy;
  const turned = dx * (x[v0]! + x[v1]!) + dy * (y[v0]! + y[v1]!);
  const speeds = x[v0]! ** 2 + x[v0]! * x[v1]! + x[v1]! ** 2 + y[v0]! ** 2 + y[v0]! * y[v1]! + y[v1]! ** 2;
  const row = rowWidth;
  const dd = z[p1 * row]! + z[p0 * row]! - 2 * z[p1 * row + 3]!;
  const dv = z[p1 * row + 2]! + z[v1 * row + 1]! - z[v0 * row + 1]! - z[v1 * row + 4]!;
  const vv = z[v0 * row]! + z[v1 * row + 3]! + z[v1 * row]!;
  return (12 * (moved + 2 * dd)) / (h * h * h) - (12 * (turned + 2 * dv)) / (h * h) + (4 * (speeds + 2 * vv)) / h;
}

function reweighDensity(work: Work): void {
  const { density, middleSec, usual } = work;
  const n = density.length;
  const energy = new Float64Array(n);
  for (let k = 1; k < n; k++) energy[k] = intervalEnergy(work, k);
  let from = 1;
  for (let k = 1; k < n; k++) {
    while (middleSec[from]! < middleSec[k]! - densityReachSec) from++;
    let sum = 0;
    let count = 0;
    for (let j = from; j < n; j++) {
      const away = Math.abs(middleSec[j]! - middleSec[k]!);
      if (j > k && away > densityReachSec) break;
      const share = j === k ? 1 : 1 - away / densityReachSec;
      sum += share * energy[j]!;
      count += share * 4;
    }
    density[k] = Math.max(leastDensity * usual[k]!, (densityFreedom * usual[k]! + sum) / (densityFreedom + count));
  }
}

function readPath(work: Work, sec: number, into: PathPoint): void {
  const { x, y, density } = work;
  const t = work.measures.timesSec;
  const z = work.covariance.entries;
  const n = t.length;
  if (sec <= t[0]! || sec >= t[n - 1]!) {
    const k = sec <= t[0]! ? 0 : n - 1;
    const p = k * perKnot;
    const inside = sec === t[k]!;
    into.xPx = x[p]!;
    into.yPx = y[p]!;
    into.vxPx = inside ? x[p + 1]! : 0;
    into.vyPx = inside ? y[p + 1]! : 0;
    into.sdPx = Math.sqrt(Math.max(0, z[p * rowWidth]!));
    return;
  }
  let low = 0;
  let high = n - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (t[middle]! <= sec) low = middle;
    else high = middle;
  }
  const h = t[high]! - t[low]!;
  const since = sec - t[low]!;
  const u = since / h;
  // Given both ends, the mean of an integrated Wiener process is the cubic with their positions and velocities.
  const a1 = u * u * (3 - 2 * u);
  const a0 = 1 - a1;
  const c0 = h * u * (1 - u) * (1 - u);
  const c1 = h * u * u * (u - 1);
  const p0 = low * perKnot;
  const p1 = high * perKnot;
  into.xPx = a0 * x[p0]! + c0 * x[p0 + 1]! + a1 * x[p1]! + c1 * x[p1 + 1]!;
  into.yPx = a0 * y[p0]! + c0 * y[p0 + 1]! + a1 * y[p1]! + c1 * y[p1 + 1]!;
  const slope = (6 * u * (1 - u)) / h;
  const e0 = 1 - 4 * u + 3 * u * u;
  const e1 = 3 * u * u - 2 * u;
  into.vxPx = slope * (x[p1]! - x[p0]!) + e0 * x[p0 + 1]! + e1 * x[p1 + 1]!;
  into.vyPx = slope * (y[p1]! - y[p0]!) + e0 * y[p0 + 1]! + e1 * y[p1 + 1]!;
  const r = rowWidth;
  const ends =
    a0 * a0 * z[p0 * r]! +
    c0 * c0 * z[(p0 + 1) * r]! +
    a1 * a1 * z[p1 * r]! +
    c1 * c1 * z[(p1 + 1) * r]! +
    2 *
      (a0 * c0 * z[(p0 + 1) * r + 1]! +
        a0 * a1 * z[p1 * r + 3]! +
        a0 * c1 * z[(p1 + 1) * r + 4]! +
        c0 * a1 * z[p1 * r + 2]! +
        c0 * c1 * z[(p1 + 1) * r + 3]! +
        a1 * c1 * z[(p1 + 1) * r + 1]!);
  // What the process may have done between two known ends.
  const bridge = (density[high]! * (since * (h - since)) ** 3) / (3 * h * h * h);
  into.sdPx = Math.sqrt(Math.max(0, ends + bridge));
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

function mixtureAt({ measures }: Work, sec: number): Mixture {
  const t = measures.timesSec;
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
function covarianceOf({ covariance }: Work, i: number, a: number, j: number, b: number): number {
  const p = i * perKnot + a;
  const q = j * perKnot + b;
  return p >= q ? covariance.entries[p * rowWidth + p - q]! : covariance.entries[q * rowWidth + q - p]!;
}

/**
 * Covariance of the positions at two times, `a` not later than `b`. The posterior is a Markov chain over the knots, so
 * what is far apart is bound by the states between: cov(i, j) = cov(i, i+1) cov(i+1, i+1)⁻¹ cov(i+1, j).
 */
function positionCovariance(work: Work, a: Mixture, b: Mixture): number {
  const weightsAt = (m: Mixture, knot: number) => (knot === m.low ? m.atLow : m.atHigh);
  if (a.low === b.low) {
    let sum = 0;
    for (const i of [a.low, a.low + 1])
      for (const j of [a.low, a.low + 1])
        for (const p of [0, 1] as const)
          for (const q of [0, 1] as const)
            sum += weightsAt(a, i)[p] * weightsAt(b, j)[q] * covarianceOf(work, i, p, j, q);
    // What the process may have done between two known ends: a beam clamped at both bends by the same formula.
    const s = a.sinceSec;
    const rest = b.spanSec - b.sinceSec;
    const bridge =
      (s * s * rest * rest * (3 * b.sinceSec * b.spanSec - s * (3 * b.sinceSec + rest))) / (6 * b.spanSec ** 3);
    return sum + work.density[a.low + 1]! * bridge;
  }
  // Row of the state at knot k that says as much about the position at `a` as everything before k does.
  let row: [number, number, number] = [a.atLow[0], a.atLow[1], 0];
  for (let k = a.low; k < b.low; k++) {
    row = carried(work, k, row);
    if (k === a.low) row = [row[0] + a.atHigh[0], row[1] + a.atHigh[1], row[2]];
  }
  let sum = 0;
  for (const j of [b.low, b.low + 1])
    for (const p of [0, 1, 2] as const)
      for (const q of [0, 1] as const) sum += row[p] * weightsAt(b, j)[q] * covarianceOf(work, b.low, p, j, q);
  return sum;
}

/** row · cov(k, k+1) · cov(k+1, k+1)⁻¹ */
function carried(work: Work, k: number, row: readonly [number, number, number]): [number, number, number] {
  const three = [0, 1, 2] as const;
  const left = three.map((q) => three.reduce<number>((sum, p) => sum + row[p] * covarianceOf(work, k, p, k + 1, q), 0));
  const c = (p: number, q: number) => covarianceOf(work, k + 1, p, k + 1, q);
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

function stepSd(work: Work, fromSec: number, toSec: number): number {
  const a = mixtureAt(work, Math.min(fromSec, toSec));
  const b = mixtureAt(work, Math.max(fromSec, toSec));
  const variance = positionCovariance(work, a, a) + positionCovariance(work, b, b) - 2 * positionCovariance(work, a, b);
  return Math.sqrt(Math.max(0, variance));
}
