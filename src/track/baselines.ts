/**
 * The usual ways of cleaning joint tracks, kept to be beaten: the benchmark and the tests hold our tracks against them.
 * Nothing of the product uses them. As usually done, they take the pictures for evenly spaced at the median rate.
 */
import { assert } from '../base/assert.ts';
import { detectedJoints, type Joint } from '../base/joints.ts';
import type { JointPath, Motion } from './motion.ts';
import { median } from './quantile.ts';
import { sampleSmooth } from './score.ts';
import { cell, jointsPerPicture, type Sightings } from './sighting.ts';

/** Coefficients of a digital filter: y = Σ b·x − Σ a·y, a[0] = 1. */
export interface FilterCoefficients {
  readonly b: readonly number[];
  readonly a: readonly number[];
}

/**
 * Low-pass Butterworth filter of 2nd order by the bilinear transform (Butterworth 1930; Winter, Biomechanics and Motor
 * Control of Human Movement, 4th ed., sec. 3.4.4.2).
 * @param cutoffHz  Where a single pass lets half the power through; below half of `rateHz`.
 */
export function designButterworth(cutoffHz: number, rateHz: number): FilterCoefficients {
  assert(cutoffHz > 0 && cutoffHz < rateHz / 2, `cutoff ${cutoffHz} Hz at ${rateHz} samples a second`);
  const c = Math.tan((Math.PI * cutoffHz) / rateHz);
  const norm = 1 + Math.SQRT2 * c + c * c;
  const b0 = (c * c) / norm;
  return { b: [b0, 2 * b0, b0], a: [1, (2 * (c * c - 1)) / norm, (1 - Math.SQRT2 * c + c * c) / norm] };
}

/** One causal pass (direct form II transposed), started as if the first sample had always been there. */
function filterOnce(f: FilterCoefficients, x: Float64Array): Float64Array {
  const [b0, b1, b2] = f.b as [number, number, number];
  const [, a1, a2] = f.a as [number, number, number];
  // Steady state for a constant input of 1: gain is 1, so z1 = 1 − b0 and z2 = b2 − a2.
  let z1 = (1 - b0) * x[0]!;
  let z2 = (b2 - a2) * x[0]!;
  return x.map((v) => {
    const out = b0 * v + z1;
    z1 = b1 * v - a1 * out + z2;
    z2 = b2 * v - a2 * out;
    return out;
  });
}

/**
 * Filters forth and back, so that nothing is delayed. Ends are continued by 9 samples turned about the end point, as
 * SciPy's `filtfilt` does for a 2nd-order filter. Needs more than 9 samples; shorter columns come back as they are.
 */
export function filterBothWays(f: FilterCoefficients, x: Float64Array): Float64Array {
  const pad = 9;
  const n = x.length;
  if (n <= pad) return x.slice();
  const long = new Float64Array(n + 2 * pad);
  long.set(x, pad);
  for (let i = 0; i < pad; i++) {
    long[i] = 2 * x[0]! - x[pad - i]!;
    long[n + pad + i] = 2 * x[n - 1]! - x[n - 2 - i]!;
  }
  const there = filterOnce(f, long).reverse();
  return filterOnce(f, there)
    .reverse()
    .slice(pad, pad + n);
}

/**
 * Cutoff to design for, so that two passes together let half the power through at `cutoffHz`
 * (Winter: divide by (2^(1/passes) − 1)^(1/4), 0.802 for two passes, on the warped frequency).
 */
export function dualPassCutoffHz(cutoffHz: number, rateHz: number): number {
  const correction = (2 ** (1 / 2) - 1) ** (1 / 4);
  return (Math.atan(Math.tan((Math.PI * cutoffHz) / rateHz) / correction) * rateHz) / Math.PI;
}

/**
 * Least-squares polynomial through a moving window of `2·half + 1` evenly spaced samples, read at its middle; near the
 * ends the first or last whole window's polynomial is read off-centre (SciPy's mode "interp").
 * (Savitzky & Golay 1964, Anal. Chem. 36, 1627.)
 */
export function savitzkyGolay(x: Float64Array, half: number, degree: number): Float64Array {
  const width = 2 * half + 1;
  const n = x.length;
  if (n < width) return x.slice();
  const rows = Array.from({ length: width }, (_, i) => savitzkyGolayWeights(half, degree, i - half));
  return x.map((_, k) => {
    const start = Math.min(Math.max(0, k - half), n - width);
    const row = rows[k - start]!;
    let sum = 0;
    for (let i = 0; i < width; i++) sum += row[i]! * x[start + i]!;
    return sum;
  });
}

/**
 * Weights of the samples −half..half in the fitted polynomial's value at `at` (0 = middle), by Gram polynomials
 * (Gorry 1990, Anal. Chem. 62, 570).
 */
export function savitzkyGolayWeights(half: number, degree: number, at: number): Float64Array {
  const gram = (i: number, k: number): number => {
    let previous = 0;
    let value = 1;
    for (let j = 1; j <= k; j++) {
      const next =
        ((4 * j - 2) / (j * (2 * half - j + 1))) * i * value -
        (((j - 1) * (2 * half + j)) / (j * (2 * half - j + 1))) * previous;
      previous = value;
      value = next;
    }
    return value;
  };
  const falling = (a: number, b: number): number => {
    let product = 1;
    for (let i = a - b + 1; i <= a; i++) product *= i;
    return product;
  };
  return Float64Array.from({ length: 2 * half + 1 }, (_, i) => {
    let sum = 0;
    for (let k = 0; k <= degree; k++)
      sum +=
        (((2 * k + 1) * falling(2 * half, k)) / falling(2 * half + k + 1, k + 1)) * gram(i - half, k) * gram(at, k);
    return sum;
  });
}

/** How a baseline cleans one evenly spaced column. */
export type Cleaner = (column: Float64Array, rateHz: number) => Float64Array;

/** The baselines by name. */
export const baselines: Readonly<Record<'raw' | 'butterworth' | 'savitzkyGolay', Cleaner>> = {
  raw: (column) => column,
  butterworth: (column, rateHz) => filterBothWays(designButterworth(dualPassCutoffHz(6, rateHz), rateHz), column),
  savitzkyGolay: (column, rateHz) => savitzkyGolay(column, Math.max(2, Math.round(0.15 * rateHz)), 3),
};

/** Holes (NaN) filled by straight lines, ends held; null when nothing was seen. */
function fillHoles(timesSec: Float64Array, column: Float64Array): Float64Array | null {
  const known = Array.from(column.keys()).filter((i) => !Number.isNaN(column[i]!));
  if (known.length === 0) return null;
  let next = 0;
  return column.map((v, i) => {
    while (next < known.length && known[next]! < i) next++;
    const b = known[Math.min(next, known.length - 1)]!;
    const a = known[Math.max(0, b > i ? next - 1 : next - (next < known.length ? 0 : 1))]!;
    if (!Number.isNaN(v) || a === b || b < i || a > i) return Number.isNaN(v) ? column[b < i ? b : a]! : v;
    const u = (timesSec[i]! - timesSec[a]!) / (timesSec[b]! - timesSec[a]!);
    return column[a]! + u * (column[b]! - column[a]!);
  });
}

/**
 * Tracks by a baseline, read at `timesSec` (rising, take seconds) by cubic interpolation ("linear" for the plainest way).
 * Velocity and standard deviation are NaN: these methods do not say.
 */
export function baselineMotion(
  sightings: Sightings,
  clean: Cleaner,
  timesSec: Float64Array,
  between: 'cubic' | 'linear' = 'cubic',
): Motion {
  const n = sightings.readCount;
  const taken = sightings.timesSec.subarray(0, n);
  const rateHz = 1 / median(taken.subarray(1).map((t, i) => t - taken[i]!));
  const paths = new Map<Joint, JointPath>();
  detectedJoints.forEach((joint, j) => {
    const read = (column: Float32Array): Float64Array | null => {
      const filled = fillHoles(
        taken,
        Float64Array.from({ length: n }, (_, i) => column[cell(i, j)]!),
      );
      if (!filled) return null;
      const cleaned = clean(filled, rateHz);
      return timesSec.map((t) =>
        between === 'cubic' ? sampleSmooth(taken, cleaned, t) : sampleStraight(taken, cleaned, t),
      );
    };
    const xPx = read(sightings.xPx);
    const yPx = read(sightings.yPx);
    if (!xPx || !yPx) return;
    const unknown = new Float64Array(timesSec.length).fill(Number.NaN);
    paths.set(joint, {
      xPx,
      yPx,
      vxPx: unknown,
      vyPx: unknown,
      sdPx: unknown,
      confidence: new Float32Array(timesSec.length).fill(Number.NaN),
      guessed: new Uint8Array(timesSec.length),
    });
  });
  assert(jointsPerPicture === detectedJoints.length, 'joint columns');
  return { timesSec, paths };
}

/** Straight-line reading of a column; the ends are held. */
function sampleStraight(timesSec: Float64Array, column: Float64Array, sec: number): number {
  const high = timesSec.findIndex((t) => t >= sec);
  if (high === 0) return column[0]!;
  if (high < 0) return column[column.length - 1]!;
  const u = (sec - timesSec[high - 1]!) / (timesSec[high]! - timesSec[high - 1]!);
  return column[high - 1]! + u * (column[high]! - column[high - 1]!);
}
