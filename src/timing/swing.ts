/**
 * A swing: a point that goes to and fro on a string or an arm. The movement of a damped pendulum, θ″ = −ω² sin θ − λ θ′, is
 * fitted to its angles about the pivot; no small-angle formula is needed for that, but the period at rest follows from it.
 */
import { standardGravityMps2 } from './idealFall.ts';
import { LinearSystem } from './linearFit.ts';
import type { PointSamples } from './pointSamples.ts';

/** One turning point of a swing. */
export interface SwingTurn {
  readonly takeSec: number;
  /** Angle from where it would hang at rest, degrees clockwise as seen. */
  readonly angleDeg: number;
}

/** A fitted swing. */
export interface Swing {
  /** Upright pixels; as marked, or the middle of the fitted circle. */
  readonly pivotXPx: number;
  readonly pivotYPx: number;
  readonly pivotIsMarked: boolean;
  readonly lengthPx: number;
  /** Time of one swing to and fro at the first amplitude seen, and its standard deviation, seconds. */
  readonly periodSec: number;
  readonly periodSd: number;
  /** The same for a very small swing. */
  readonly smallPeriodSec: number;
  /** Largest angle from the middle at the first and last turn, degrees. */
  readonly firstAmplitudeDeg: number;
  readonly lastAmplitudeDeg: number;
  /** The part of its amplitude that it loses in one swing, 0..1; negative = it is driven. */
  readonly lossPerSwing: number;
  /** Where it would hang at rest, degrees clockwise from straight down: the camera's tilt, or a pull to the side. */
  readonly restDeg: number;
  /** Length of the string if only gravity swings it, metres: L = g (T₀ / 2π)²; and pixels per metre by that. */
  readonly lengthM: number;
  readonly pxPerMetre: number;
  readonly turns: readonly SwingTurn[];
  /** Root mean square misfit, pixels along the arc. */
  readonly residualPx: number;
  /** How the numbers came about, for "why?". */
  readonly why: string;
}

/**
 * Period of a pendulum of amplitude A (degrees) as a multiple of that of a very small swing: 1 / AGM(1, cos A/2), which is
 * the complete elliptic integral of the exact solution (2/π) K(sin A/2) (Gauss 1799 for the mean; series 1 + A²/16 + 11 A⁴/3072 + …).
 */
export function periodFactor(amplitudeDeg: number): number {
  let [a, b] = [1, Math.cos((amplitudeDeg * Math.PI) / 360)];
  for (let i = 0; i < 8; i++) [a, b] = [(a + b) / 2, Math.sqrt(a * b)];
  return 1 / a;
}

/** Period of a very small swing of a point on a string: T₀ = 2π √(L / g), seconds. @param lengthM metres. */
export function smallPeriodOf(lengthM: number, gravityMps2 = standardGravityMps2): number {
  return 2 * Math.PI * Math.sqrt(lengthM / gravityMps2);
}

/** At least so much of a swing must be seen, in turning points; with fewer, circle and time cannot be told apart. */
const leastTurns = 2;
/** A point that leaves its circle by more than this share of its way is no pendulum. */
const mostOffShare = 0.06;
/** What the fit leaves over, as a share of the angles' spread: more is another kind of movement. */
const mostLeftShare = 0.12;
const rounds = 25;
/** Steps of the integration (Runge & Kutta, fourth order) are no longer than this, seconds. */
const stepSec = 1 / 120;

/** Fits a swing; null when the point does not swing. @param pivot where it hangs from, if that was marked; upright pixels. */
export function fitSwing(samples: PointSamples, pivot: { xPx: number; yPx: number } | null = null): Swing | null {
  const { timesSec, xPx, yPx } = samples;
  if (timesSec.length < 12) return null;
  const circle = pivot ? { ...pivot, lengthPx: Number.NaN } : circleOf(samples);
  if (!circle) return null;
  const away = Float64Array.from(xPx, (x, i) => Math.hypot(x - circle.xPx, yPx[i]! - circle.yPx));
  const lengthPx = away.reduce((a, b) => a + b, 0) / away.length;
  const anglesRad = Float64Array.from(xPx, (x, i) => Math.atan2(x - circle.xPx, yPx[i]! - circle.yPx));
  const spread = spreadOf(anglesRad);
  const off = Math.sqrt(away.reduce((sum, r) => sum + (r - lengthPx) ** 2, 0) / away.length);
  if (!(off < mostOffShare * spread * lengthPx + 0.5)) return null;
  const turns = turnsOf(timesSec, anglesRad, Math.max(0.15 * spread, 2 / lengthPx));
  if (turns.length < leastTurns) return null;
  const fit = fitPendulum(timesSec, anglesRad, turns);
  if (!fit || !(fit.rms < mostLeftShare * spread)) return null;
  const { omega, damping, rest } = fit;
  const smallPeriodSec = (2 * Math.PI) / omega;
  const deg = 180 / Math.PI;
  const found = turnsOf(timesSec, fit.fitted, Math.max(0.1 * spread, 1 / lengthPx));
  const told = found.map(({ sec, angle }): SwingTurn => ({ takeSec: sec, angleDeg: -(angle - rest) * deg }));
  const amplitudes = told.map((turn) => Math.abs(turn.angleDeg));
  const firstAmplitudeDeg = amplitudes[0] ?? spread * deg;
  const periodSec = smallPeriodSec * periodFactor(firstAmplitudeDeg);
  const lengthM = standardGravityMps2 * (smallPeriodSec / (2 * Math.PI)) ** 2;
  return {
    pivotXPx: circle.xPx,
    pivotYPx: circle.yPx,
    pivotIsMarked: pivot !== null,
    lengthPx,
    periodSec,
    periodSd: (fit.omegaSd / omega) * periodSec,
    smallPeriodSec,
    firstAmplitudeDeg,
    lastAmplitudeDeg: amplitudes[amplitudes.length - 1] ?? firstAmplitudeDeg,
    lossPerSwing: 1 - Math.exp((-damping / 2) * periodSec),
    restDeg: -rest * deg,
    lengthM,
    pxPerMetre: lengthPx / lengthM,
    turns: told,
    residualPx: fit.rms * lengthPx,
    why: `A pendulum fitted to ${timesSec.length} pictures and ${told.length} turning points; ${pivot ? 'hung from the marked point' : 'hung from the middle of the circle that the point goes on'}. It leaves ${(fit.rms * lengthPx).toFixed(1)} px unexplained.`,
  };
}

function spreadOf(values: Float64Array): number {
  const mean = values.reduce((a, b) => a + b, 0) / values.length;
  return Math.sqrt(values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / values.length);
}

/** The circle the point goes on: algebraic start (Kåsa 1976), then least squares of distances (Gauss & Newton). */
function circleOf({ xPx, yPx }: PointSamples): { xPx: number; yPx: number; lengthPx: number } | null {
  const n = xPx.length;
  const mx = xPx.reduce((a, b) => a + b, 0) / n;
  const my = yPx.reduce((a, b) => a + b, 0) / n;
  const first = new LinearSystem(3);
  for (let i = 0; i < n; i++) {
    const [x, y] = [xPx[i]! - mx, yPx[i]! - my];
    first.add([0, 1, 2], [2 * x, 2 * y, 1], x * x + y * y, 1);
  }
  const start = first.solve();
  if (!start) return null;
  let [cx, cy] = [start.values[0]!, start.values[1]!];
  let r = Math.sqrt(Math.max(0, start.values[2]! + cx * cx + cy * cy));
  for (let round = 0; round < rounds; round++) {
    const system = new LinearSystem(3);
    for (let i = 0; i < n; i++) {
      const [x, y] = [xPx[i]! - mx - cx, yPx[i]! - my - cy];
      const d = Math.hypot(x, y);
      if (d > 0) system.add([0, 1, 2], [-x / d, -y / d, -1], -(d - r), 1);
    }
    const step = system.solve();
    if (!step) return null;
    cx += step.values[0]!;
    cy += step.values[1]!;
    r += step.values[2]!;
    if (Math.hypot(...step.values) < 1e-6) break;
  }
  return Number.isFinite(r) ? { xPx: cx + mx, yPx: cy + my, lengthPx: r } : null;
}

interface Turn {
  readonly sec: number;
  readonly angle: number;
}

/** Turning points: extremes that stand out by `least` on both sides, refined by a parabola through three samples. */
function turnsOf(timesSec: Float64Array, angles: Float64Array, least: number): Turn[] {
  const turns: Turn[] = [];
  let [low, high] = [0, 0];
  let rising: boolean | null = null;
  for (let i = 1; i < angles.length; i++) {
    if (angles[i]! > angles[high]!) high = i;
    if (angles[i]! < angles[low]!) low = i;
    if (rising !== false && angles[high]! - angles[i]! > least) {
      if (rising !== null || high > 0) turns.push(refined(timesSec, angles, high));
      rising = false;
      low = i;
    } else if (rising !== true && angles[i]! - angles[low]! > least) {
      if (rising !== null || low > 0) turns.push(refined(timesSec, angles, low));
      rising = true;
      high = i;
    }
  }
  return turns;
}

function refined(timesSec: Float64Array, angles: Float64Array, i: number): Turn {
  const [a, b, c] = [angles[i - 1], angles[i]!, angles[i + 1]];
  if (a === undefined || c === undefined) return { sec: timesSec[i]!, angle: b };
  const bend = a - 2 * b + c;
  const shift = bend === 0 ? 0 : Math.max(-1, Math.min(1, (a - c) / (2 * bend)));
  const interval = (timesSec[i + 1]! - timesSec[i - 1]!) / 2;
  return { sec: timesSec[i]! + shift * interval, angle: b - ((a - c) * shift) / 4 };
}

interface PendulumFit {
  readonly omega: number;
  readonly omegaSd: number;
  readonly damping: number;
  readonly rest: number;
  /** Fitted angles, radians. Shape [sample]. */
  readonly fitted: Float64Array;
  readonly rms: number;
}

/** Levenberg & Marquardt over (ω, λ, rest, first angle, first speed). */
function fitPendulum(timesSec: Float64Array, angles: Float64Array, turns: readonly Turn[]): PendulumFit | null {
  const halves = turns.slice(1).map((turn, k) => turn.sec - turns[k]!.sec);
  const half = halves.sort((a, b) => a - b)[halves.length >> 1]!;
  const rest = turns.reduce((sum, turn) => sum + turn.angle, 0) / turns.length;
  const amplitude = Math.abs(turns[0]!.angle - turns[1]!.angle) / 2;
  const omega = (Math.PI / half) * periodFactor((amplitude * 180) / Math.PI);
  const early = Math.min(timesSec.length - 1, 2);
  let p = [omega, 0.05, rest, angles[0]!, (angles[early]! - angles[0]!) / (timesSec[early]! - timesSec[0]!)];
  let fitted = swung(timesSec, p);
  let cost = costOf(angles, fitted);
  let damp = 1e-3;
  let inverse: Float64Array | null = null;
  for (let round = 0; round < rounds; round++) {
    const slopes = p.map((value, k) => {
      const step = 1e-5 * Math.max(1, Math.abs(value));
      const moved = swung(timesSec, p.with(k, value + step));
      return moved.map((angle, i) => (angle - fitted[i]!) / step);
    });
    const system = new LinearSystem(p.length);
    const bare = new LinearSystem(p.length);
    const places = [0, 1, 2, 3, 4];
    for (let i = 0; i < angles.length; i++) {
      const row = slopes.map((s) => s[i]!);
      system.add(places, row, angles[i]! - fitted[i]!, 1);
      bare.add(places, row, angles[i]! - fitted[i]!, 1);
    }
    for (const k of places) {
      const own = slopes[k]!.reduce((sum, s) => sum + s * s, 0);
      system.add([k], [1], 0, damp * own);
    }
    const step = system.solve();
    if (!step) return null;
    inverse = bare.solve()?.covariance ?? null;
    const next = p.map((value, k) => value + step.values[k]!);
    const moved = swung(timesSec, next);
    const nextCost = costOf(angles, moved);
    if (nextCost < cost) {
      const gain = (cost - nextCost) / cost;
      [p, fitted, cost] = [next, moved, nextCost];
      damp = Math.max(1e-9, damp / 5);
      if (gain < 1e-9) break;
    } else if (damp > 1e6) break;
    else damp *= 5;
  }
  if (!(p[0]! > 0) || !inverse) return null;
  const rms = Math.sqrt(cost / angles.length);
  // What is left is alike for some pictures: taken as half as many independent ones.
  const omegaSd = Math.sqrt(2 * inverse[0]!) * rms;
  return { omega: p[0]!, omegaSd, damping: p[1]!, rest: p[2]!, fitted, rms };
}

function costOf(angles: Float64Array, fitted: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < angles.length; i++) sum += (angles[i]! - fitted[i]!) ** 2;
  return Number.isFinite(sum) ? sum : Number.POSITIVE_INFINITY;
}

/** Angles of the pendulum at the times given. */
function swung(timesSec: Float64Array, [omega, damping, rest, first, speed]: readonly number[]): Float64Array {
  const pull = (angle: number, v: number) => -omega! * omega! * Math.sin(angle - rest!) - damping! * v;
  const angles = new Float64Array(timesSec.length);
  let [a, v] = [first!, speed!];
  angles[0] = a;
  for (let i = 1; i < timesSec.length; i++) {
    const span = timesSec[i]! - timesSec[i - 1]!;
    const steps = Math.max(1, Math.ceil(span / stepSec));
    const h = span / steps;
    for (let k = 0; k < steps; k++) {
      const [a1, v1] = [v, pull(a, v)];
      const [a2, v2] = [v + (h / 2) * v1, pull(a + (h / 2) * a1, v + (h / 2) * v1)];
      const [a3, v3] = [v + (h / 2) * v2, pull(a + (h / 2) * a2, v + (h / 2) * v2)];
      const [a4, v4] = [v + h * v3, pull(a + h * a3, v + h * v3)];
      a += (h / 6) * (a1 + 2 * a2 + 2 * a3 + a4);
      v += (h / 6) * (v1 + 2 * v2 + 2 * v3 + v4);
    }
    angles[i] = a;
  }
  return angles;
}
