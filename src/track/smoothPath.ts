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
import { halfWidth, type PathPoint, type Posterior, perKnot, readPosterior, rowWidth, stepSd } from './posterior.ts';

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
interface Work extends Posterior {
  readonly measures: PathMeasures;
  readonly beliefs: PathBeliefs;
  readonly matrix: BandMatrix;
  /** The positions of the round before. Shape [knot]. */
  readonly lastX: Float64Array;
  readonly lastY: Float64Array;
  /** Middle of the interval that ends at knot k. Shape [knot], entry 0 unused. */
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
    timesSec: measures.timesSec,
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
    read: (sec, into) => readPosterior(work, sec, into),
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
