import { minimumJerk, minimumJerkTime } from './ease.ts';
import type { SampledPath } from './poseSamples.ts';

/**
 * One joint's way from one pose to the next, as an animator would draw it: along a circular arc through both places, started
 * and stopped softly. The start and the stop may lie inside the span (the joint waits, or drags behind the others).
 */
export interface JointMove {
  /** Samples (may lie between two) at which the joint leaves and arrives. */
  readonly leaves: number;
  readonly arrives: number;
  /** When the person left and arrived: without the tracks' blur, and also where that lies outside the span. */
  readonly outset: number;
  readonly stop: number;
  /** Straight distance between the two places, body heights. */
  readonly distance: number;
  /** Height of the arc over the straight line, signed, as a part of `distance`. */
  readonly bulge: number;
}

/** A sagitta of half the chord is a half circle; beyond that a joint needs a pose between. */
const largestBulge = 0.5;
/** Part of the way whose passing (and that of its counterpart at the end) tells start and end. Steep there: noise moves it least. */
const lowLevel = 0.15;
const lowTime = minimumJerkTime(lowLevel);

/** Variance of the minimum-jerk speed profile over its duration: 30u²(1 − u)² is the Beta(3, 3) density, variance 1/28. */
const spreadPerDuration = 1 / 28;
/** However much blur is taken off, this part of a move's duration stays: what is left of it is not known better. */
const leastSharp = 0.5;

/**
 * Fits the way of `joint` between samples `from` and `to`.
 * @param blur see `PoseSamples.blur`: blur adds its variance to that of the speed profile, so it can be taken off again.
 */
export function fitMove(joint: SampledPath, from: number, to: number, blur: number): JointMove {
  const { x, y } = joint;
  const x0 = x[from] ?? 0;
  const y0 = y[from] ?? 0;
  const cx = (x[to] ?? 0) - x0;
  const cy = (y[to] ?? 0) - y0;
  const distance = Math.hypot(cx, cy);
  const still = { leaves: from, arrives: to, outset: from, stop: to, distance, bulge: 0 };
  if (distance < 1e-9 || to - from < 3) return still;
  // Along and across the chord, as parts of it: the dot products of p − p0 with these.
  const ax = cx / distance ** 2;
  const ay = cy / distance ** 2;
  const shift = -(x0 * ax + y0 * ay);
  // From the far end backwards: the last time below the high level, then the last time below the low one before it, so that
  // an anticipation or a pause at the start does not count as the move.
  // Long spans are looked through in strides, then sample by sample.
  const stride = strideOf(from, to);
  let i = from;
  while (i < to && (x[i] ?? 0) * ax + (y[i] ?? 0) * ay + shift < 0.5) i += stride;
  if (i > to) i = to;
  while (i - 1 > from && (x[i - 1] ?? 0) * ax + (y[i - 1] ?? 0) * ay + shift >= 0.5) i--;
  // Halfway along the chord is halfway round the arc, where it stands highest. Near the ends of a wide arc the chord hardly
  // grows, so the levels are moved to where the arc, not the chord, has the parts wanted.
  const halfway = ((y[i] ?? 0) - y0) * ax - ((x[i] ?? 0) - x0) * ay;
  const angle = 4 * Math.atan(2 * Math.min(largestBulge, Math.abs(halfway)));
  const lowChord = angle > 0.05 ? 0.5 + Math.sin(angle * (lowLevel - 0.5)) / (2 * Math.sin(angle / 2)) : lowLevel;
  while (i < to && (x[i] ?? 0) * ax + (y[i] ?? 0) * ay + shift < 1 - lowChord) i++;
  const high = crossing(joint, ax, ay, shift, i, 1 - lowChord);
  while (i > from && (x[i] ?? 0) * ax + (y[i] ?? 0) * ay + shift > lowChord) i--;
  const low = crossing(joint, ax, ay, shift, i + 1, lowChord);
  const duration = Math.max(1, (high - low) / (1 - 2 * lowTime));
  const leaves = Math.max(from, low - lowTime * duration);
  const arrives = Math.min(to, Math.max(leaves + 1, high + lowTime * duration));
  const sharp = Math.sqrt(Math.max(leastSharp ** 2 * duration ** 2, duration ** 2 - blur ** 2 / spreadPerDuration));
  const outset = (low + high - sharp) / 2;
  const stop = (low + high + sharp) / 2;
  let top = 0;
  let bottom = 0;
  for (let k = from + 1; k < to; k += stride) {
    const e = minimumJerk((k - leaves) / (arrives - leaves));
    const shape = 4 * e * (1 - e);
    top += shape * (((y[k] ?? 0) - y0) * ax - ((x[k] ?? 0) - x0) * ay);
    bottom += shape * shape;
  }
  const bulge = bottom > 0 ? Math.max(-largestBulge, Math.min(largestBulge, top / bottom)) : 0;
  return { leaves, arrives, outset, stop, distance, bulge };
}

function crossing(path: SampledPath, ax: number, ay: number, shift: number, above: number, level: number): number {
  const { x, y } = path;
  const a = (x[above - 1] ?? Number.NaN) * ax + (y[above - 1] ?? Number.NaN) * ay + shift;
  const b = (x[above] ?? Number.NaN) * ax + (y[above] ?? Number.NaN) * ay + shift;
  return b > a ? above - 1 + Math.max(0, Math.min(1, (level - a) / (b - a))) : above;
}

/** Samples of long spans are looked at one in so many: what happens between them is small beside the span. */
export function strideOf(from: number, to: number): number {
  return Math.max(1, Math.floor((to - from) / 32));
}

/** How far a joint is off its fitted way between two poses. */
export interface Misses {
  /** Sum of the squared distances, body heights², times the stride. */
  squares: number;
  /** Sum of the squared distances beyond what noise explains, body heights². */
  beyond: number;
}

/**
 * Sums a joint's misses over every `strideOf(from, to)`-th sample between two poses into `sum`.
 * @param noiseSds misses within this many standard deviations are noise.
 */
export function sumMisses(
  joint: SampledPath,
  move: JointMove,
  from: number,
  to: number,
  noiseSds: number,
  sum: Misses,
): void {
  const { x, y, sd } = joint;
  const x0 = x[from] ?? 0;
  const y0 = y[from] ?? 0;
  const cx = (x[to] ?? 0) - x0;
  const cy = (y[to] ?? 0) - y0;
  const stride = strideOf(from, to);
  const round = Math.abs(move.bulge) > 0.01;
  // Sagitta over chord = tan(angle / 4) / 2.
  const angle = round ? 4 * Math.atan(2 * move.bulge) : 0;
  const chord = 2 * Math.sin(angle / 2);
  const rise = Math.cos(angle / 2);
  const perSample = 1 / (move.arrives - move.leaves);
  let squares = 0;
  let beyond = 0;
  for (let k = from + stride; k < to; k += stride) {
    const e = minimumJerk((k - move.leaves) * perSample);
    let along = e;
    let across = 0;
    if (round && e > 0 && e < 1) {
      const turn = angle * (e - 0.5);
      along = 0.5 + quickSin(turn) / chord;
      across = (quickCos(turn) - rise) / chord;
    }
    const dx = (x[k] ?? 0) - x0 - along * cx + across * cy;
    const dy = (y[k] ?? 0) - y0 - along * cy - across * cx;
    const square = dx * dx + dy * dy;
    squares += square;
    const noise = noiseSds * (sd[k] ?? 0);
    if (square > noise * noise) beyond += (Math.sqrt(square) - noise) ** 2;
  }
  sum.squares += squares * stride;
  sum.beyond += beyond;
}

/** Sine and cosine within a quarter turn, to 2e-4: a thousand legs ask for some millions of them. */
function quickSin(a: number): number {
  const s = a * a;
  return a * (1 + s * (-1 / 6 + s * (1 / 120 - s / 5040)));
}
function quickCos(a: number): number {
  const s = a * a;
  return 1 + s * (-1 / 2 + s * (1 / 24 + s * (-1 / 720 + s / 40320)));
}
