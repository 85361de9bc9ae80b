import { assert } from '../base/assert.ts';
import { minimumJerk } from './ease.ts';

/**
 * How smooth a stretch of movement is, from its speed. Only comparable with one at the same rate: both depend on it at the rates
 * of animation.
 */
export interface Smoothness {
  /** Spectral arc length: nearer to 0 = smoother; a move that stops and goes on is further from it. */
  readonly sparc: number;
  /** Log dimensionless jerk: nearer to 0 = smoother. Grows with every stop and tremble. */
  readonly ldlj: number;
  /** The rate at which the speed was given, per second. */
  readonly fps: number;
  /** How many speeds. */
  readonly count: number;
}

/** Fewer speeds than this say nothing of smoothness. */
const leastCount = 5;

/**
 * Both measures of a speed profile; null with fewer than five speeds, when one is not known, or when nothing moves.
 * @param speeds at equal times, not negative, any unit. Shape [sample].
 * @param fps samples per second.
 */
export function smoothnessOf(speeds: ArrayLike<number>, fps: number): Smoothness | null {
  let peak = 0;
  for (let i = 0; i < speeds.length; i++) {
    if (!Number.isFinite(speeds[i]!)) return null;
    peak = Math.max(peak, Math.abs(speeds[i]!));
  }
  if (speeds.length < leastCount || peak === 0) return null;
  return {
    sparc: spectralArcLength(speeds, fps),
    ldlj: -Math.log(Math.abs(dimensionlessJerk(speeds, fps))),
    fps,
    count: speeds.length,
  };
}

/** The smoothest move of as many samples at the same rate: what a measured one is to be held against. */
export function smoothestOf(count: number, fps: number): Smoothness | null {
  const speeds = Float64Array.from({ length: count }, (_, i) => {
    const u = i / Math.max(1, count - 1);
    const step = 1e-4;
    return (minimumJerk(u + step) - minimumJerk(u - step)) / (2 * step);
  });
  return smoothnessOf(speeds, fps);
}

/**
 * Is the first move smoother, by how much (positive = smoother)? Null when the rates differ: then the numbers do not mean the same.
 */
export function smootherBy(a: Smoothness, b: Smoothness): { readonly sparc: number; readonly ldlj: number } | null {
  if (Math.abs(a.fps - b.fps) > 1e-9 * a.fps) return null;
  return { sparc: a.sparc - b.sparc, ldlj: a.ldlj - b.ldlj };
}

/**
 * Spectral arc length, S. Balasubramanian, A. Melendez-Calderon, A. Roby-Brami, E. Burdet, J NeuroEng Rehabil 12, 2015, 112: minus
 * the length of the normalised amplitude spectrum's outline up to the last frequency below 10 Hz whose amplitude is 5 % of the
 * largest. The spectrum is padded with zeros by four powers of two, as in the authors' reference implementation.
 */
export function spectralArcLength(speeds: ArrayLike<number>, fps: number, cutoffHz = 10, threshold = 0.05): number {
  const size = 2 ** (Math.ceil(Math.log2(speeds.length)) + 4);
  const highest = Math.min(size - 1, Math.floor((cutoffHz * size) / fps + 1e-9));
  const amplitudes = amplitudesOf(speeds, size);
  const most = Math.max(...amplitudes.subarray(0, size / 2 + 1));
  const at = (k: number) => amplitudes[k]! / most;
  let first = 0;
  while (first < highest && at(first) < threshold) first++;
  let last = highest;
  while (last > first && at(last) < threshold) last--;
  let length = 0;
  for (let k = first; k < last; k++) length += Math.hypot(1 / (last - first), at(k + 1) - at(k));
  return -length;
}

/**
 * Dimensionless jerk of a speed profile (same source): −(duration³ / peak speed²) ∫ (second derivative of speed)² dt, with second
 * differences.
 */
export function dimensionlessJerk(speeds: ArrayLike<number>, fps: number): number {
  const n = speeds.length;
  let peak = 0;
  let sum = 0;
  for (let i = 0; i < n; i++) {
    peak = Math.max(peak, Math.abs(speeds[i]!));
    if (i < 2) continue;
    const jerk = (speeds[i]! - 2 * speeds[i - 1]! + speeds[i - 2]!) * fps * fps;
    sum += (jerk * jerk) / fps;
  }
  const duration = n / fps;
  return (-(duration ** 3) / peak ** 2) * sum;
}

/** Amplitudes of the discrete Fourier transform of numbers padded with zeros to `size`, a power of two. Shape [frequency]. */
function amplitudesOf(values: ArrayLike<number>, size: number): Float64Array {
  assert(size >= values.length && (size & (size - 1)) === 0, `transform of ${size}`);
  const re = new Float64Array(size);
  const im = new Float64Array(size);
  const bits = Math.log2(size);
  for (let i = 0; i < values.length; i++) {
    let place = 0;
    for (let b = 0; b < bits; b++) if (i & (1 << b)) place |= 1 << (bits - 1 - b);
    re[place] = values[i]!;
  }
  for (let half = 1; half < size; half *= 2) {
    for (let k = 0; k < half; k++) {
      const cos = Math.cos((-Math.PI * k) / half);
      const sin = Math.sin((-Math.PI * k) / half);
      for (let i = k; i < size; i += 2 * half) {
        const j = i + half;
        const xr = re[j]! * cos - im[j]! * sin;
        const xi = re[j]! * sin + im[j]! * cos;
        re[j] = re[i]! - xr;
        im[j] = im[i]! - xi;
        re[i]! += xr;
        im[i]! += xi;
      }
    }
  }
  return re.map((v, i) => Math.hypot(v, im[i]!));
}
