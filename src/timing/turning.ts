import type { JointPath } from '../track/motion.ts';
import { quantile } from '../track/quantile.ts';

/** The direction of the stretch from one part to another through time. Columns have shape [sample]. */
export interface Turning {
  /** Radians, clockwise as seen (y down), without leaps of a whole turn. */
  readonly angle: Float64Array;
  /** Apparent length over the longest it is often seen, about 1 in the picture plane. */
  readonly shown: Float64Array;
  /** Standard deviation of the direction as the tracks claim it, radians. */
  readonly sd: Float64Array;
  /** 1 where one of its ends is filled in. */
  readonly guessed: Uint8Array;
}

/** A length that is reached in a tenth of the time is near the true one; the very longest are errors. */
const longShare = 0.9;

/** Directions from `from` to `to`, kept while one of them is not known; null where that is so throughout. */
export function turningOf(from: JointPath | undefined, to: JointPath | undefined): Turning | null {
  if (!from || !to) return null;
  const n = from.xPx.length;
  const angle = new Float64Array(n);
  const lengths = new Float64Array(n);
  const guessed = Uint8Array.from(from.guessed, (g, k) => (g || to.guessed[k] ? 1 : 0));
  let before = Number.NaN;
  for (let k = 0; k < n; k++) {
    const dx = (to.xPx[k] ?? Number.NaN) - (from.xPx[k] ?? Number.NaN);
    const dy = (to.yPx[k] ?? Number.NaN) - (from.yPx[k] ?? Number.NaN);
    if (Number.isNaN(dx) || Number.isNaN(dy)) {
      angle[k] = before;
      guessed[k] = 1;
      continue;
    }
    const raw = Math.atan2(dy, dx);
    const isFirst = Number.isNaN(before);
    before = isFirst ? raw : raw + 2 * Math.PI * Math.round((before - raw) / (2 * Math.PI));
    if (isFirst) angle.fill(before, 0, k);
    angle[k] = before;
    lengths[k] = Math.hypot(dx, dy);
  }
  if (Number.isNaN(before)) return null;
  const long = quantile(lengths, longShare);
  return {
    angle,
    shown: lengths.map((length) => (long > 0 ? length / long : 0)),
    sd: lengths.map((length, k) => Math.hypot(from.sdPx[k] ?? 0, to.sdPx[k] ?? 0) / Math.max(1e-6, length)),
    guessed,
  };
}
