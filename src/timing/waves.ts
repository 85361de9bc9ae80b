/**
 * Waves along a chain of points (a tail, a flag, a whip, a wing): how much later each point does what the one before it
 * did, how fast the wave runs, how its size grows. To and fro at one frequency it is read from sines fitted to all points
 * at once; a single crack, from when each point is fastest.
 */
import { LinearSystem } from './linearFit.ts';
import type { PointSamples } from './pointSamples.ts';

/** From one point of the chain to the next. */
export interface WaveLink {
  /** How much later the next point is, seconds; negative = it leads. NaN = cannot be said. */
  readonly delaySec: number;
  readonly delaySd: number;
  /** Distance between the two points' middle places, pixels. */
  readonly lengthPx: number;
  /** Size of the next point's movement ÷ this one's. */
  readonly growth: number;
}

/** One point of the chain. */
export interface WavePoint {
  /** Half of how far it goes across the chain, to and fro, pixels. NaN for a crack. */
  readonly amplitudePx: number;
  /** Its greatest speed, pixels per second, and when it has it, take seconds. */
  readonly peakSpeedPx: number;
  readonly peakSec: number;
  /** Share of its movement that the sine explains, 0..1; NaN for a crack. */
  readonly explained: number;
}

/** What runs along a chain. */
export interface Wave {
  readonly kind: 'to and fro' | 'crack';
  /** Swings per second and their standard deviation; NaN for a crack. */
  readonly frequencyHz: number;
  readonly frequencySd: number;
  /** One per point, in chain order. */
  readonly points: readonly WavePoint[];
  /** One fewer than points. */
  readonly links: readonly WaveLink[];
  /** How fast the wave runs along the chain and its standard deviation; negative = toward its beginning. Null: all move as one. */
  readonly speed: { readonly pxPerSec: number; readonly sdPx: number; readonly chainsPerSec: number } | null;
  /** Length of the wave, pixels: speed ÷ frequency. NaN where either is missing. */
  readonly waveLengthPx: number;
  /** Growth of the movement from the first point to the last. */
  readonly growth: number;
  /** True when each point is faster than the one before and has its greatest speed later. */
  readonly isWhip: boolean;
  /** How sure the delays are, 0..1: share explained, and how well they agree with one speed. */
  readonly confidence: number;
  /** One sentence: what was found and from what. */
  readonly why: string;
}

/** Of a full swing at least so many must be seen. */
const leastSwings = 1.2;
/** A sine that explains less of the points' movement is no wave. */
const leastExplained = 0.6;
/** Trial frequencies are this fine: this part of what one over the take's length tells apart. */
const fineness = 0.1;
/** What is left over is alike for some pictures: deviations are taken so many times. */
const alike = 2;
/** Drift beside the swinging, as a part of the swing's greatest speed. */
const mostDrift = 0.5;
/** A point must go so many times its own uncertainty. */
const leastSize = 4;

/**
 * Reads the wave along a chain from its first point on; null when there is none to be read: too few points (two at least) or
 * pictures, or movement within the noise.
 */
export function readWave(chain: readonly PointSamples[]): Wave | null {
  if (chain.length < 2 || chain.some((p) => p.timesSec.length < 8)) return null;
  const across = chain.map((_, k) => acrossChain(chain, k));
  const middles = chain.map(middleOf);
  const lengths = middles.slice(1).map(([x, y], k) => Math.hypot(x - middles[k]![0], y - middles[k]![1]));
  if (lengths.some((length) => !(length > 0))) return null;
  return toAndFro(chain, across, lengths) ?? crack(chain, lengths);
}

function middleOf({ xPx, yPx }: PointSamples): readonly [number, number] {
  const mean = (of: Float64Array) => of.reduce((a, b) => a + b, 0) / of.length;
  return [mean(xPx), mean(yPx)];
}

/** A point's places across the chain: along the normal of the line through its neighbours' middle places, pixels. */
function acrossChain(chain: readonly PointSamples[], k: number): Float64Array {
  const [ax, ay] = middleOf(chain[Math.max(0, k - 1)]!);
  const [bx, by] = middleOf(chain[Math.min(chain.length - 1, k + 1)]!);
  const length = Math.hypot(bx - ax, by - ay) || 1;
  const [nx, ny] = [-(by - ay) / length, (bx - ax) / length];
  const { xPx, yPx } = chain[k]!;
  return xPx.map((x, i) => nx * x + ny * yPx[i]!);
}

interface Sine {
  /** Of A sin ωt + B cos ωt + c + d t, time from the chain's zero. */
  readonly amplitude: number;
  /** Radians: amplitude · sin(ωt + phase). */
  readonly phase: number;
  readonly left: number;
  readonly total: number;
  readonly phaseSd: number;
  /** Drift, pixels per second. */
  readonly slope: number;
}

function fitSine({ timesSec }: PointSamples, values: Float64Array, omega: number, zeroSec: number): Sine | null {
  const system = new LinearSystem(4);
  const line = new LinearSystem(2);
  const rows = [...timesSec].map((t) => {
    const s = t - zeroSec;
    return [Math.sin(omega * s), Math.cos(omega * s), 1, s] as const;
  });
  const first = values[0]!;
  for (const [i, row] of rows.entries()) {
    system.add([0, 1, 2, 3], row, values[i]! - first, 1);
    line.add([0, 1], [row[2], row[3]], values[i]! - first, 1);
  }
  const fit = system.solve();
  const straight = line.solve();
  if (!fit || !straight) return null;
  let [left, total] = [0, 0];
  for (const [i, row] of rows.entries()) {
    const v = values[i]! - first;
    left += (v - row.reduce((sum, f, k) => sum + f * fit.values[k]!, 0)) ** 2;
    total += (v - straight.values[0]! - row[3] * straight.values[1]!) ** 2;
  }
  const [a, b] = [fit.values[0]!, fit.values[1]!];
  const amplitude = Math.hypot(a, b);
  const variance = left / Math.max(1, values.length - 5);
  // Along the phase: the covariance turned to be across (a, b).
  const c = fit.covariance;
  const across = (b * b * c[0]! - 2 * a * b * c[1]! + a * a * c[5]!) / amplitude ** 2;
  const phaseSd = (alike * Math.sqrt(variance * across)) / amplitude;
  return { amplitude, phase: Math.atan2(b, a), left, total, phaseSd, slope: fit.values[3]! };
}

function toAndFro(
  chain: readonly PointSamples[],
  across: readonly Float64Array[],
  lengths: readonly number[],
): Wave | null {
  const zeroSec = chain[0]!.timesSec[0]!;
  const spanSec = Math.min(...chain.map(({ timesSec: t }) => t[t.length - 1]! - t[0]!));
  const interval = Math.max(...chain.map(({ timesSec: t }) => (t[t.length - 1]! - t[0]!) / (t.length - 1)));
  const explainedAt = (hz: number) => {
    let [left, count] = [0, 0];
    for (const [k, samples] of chain.entries()) {
      const sine = fitSine(samples, across[k]!, 2 * Math.PI * hz, zeroSec);
      if (!sine || !(sine.total > 0)) return 0;
      // Each point counts alike, however far it goes.
      left += sine.left / sine.total;
      count++;
    }
    return 1 - left / count;
  };
  const step = fineness / spanSec;
  let [best, bestExplained] = [Number.NaN, 0];
  for (let hz = leastSwings / spanSec; hz <= 0.4 / interval; hz += step) {
    const explained = explainedAt(hz);
    if (explained > bestExplained) [best, bestExplained] = [hz, explained];
  }
  if (!(bestExplained >= leastExplained)) return null;
  const hz = highest(explainedAt, best - step, best + step);
  const omega = 2 * Math.PI * hz;
  const sines = chain.map((samples, k) => fitSine(samples, across[k]!, omega, zeroSec));
  if (!sines.every((sine) => sine !== null)) return null;
  // What goes along faster than it goes to and fro never turns back: a step up looks like that, too.
  if (sines.filter((sine) => Math.abs(sine.slope) > mostDrift * sine.amplitude * omega).length > sines.length / 2)
    return null;
  if (sines.some((sine, k) => sine.amplitude < leastSize * sdOf(chain[k]!))) return null;
  const links = lengths.map((lengthPx, k): WaveLink => {
    const [a, b] = [sines[k]!, sines[k + 1]!];
    // A later point has the smaller phase. Half a swing either way cannot be told apart from more.
    const delaySec = wrapped(a.phase - b.phase) / omega;
    return { delaySec, delaySd: Math.hypot(a.phaseSd, b.phaseSd) / omega, lengthPx, growth: b.amplitude / a.amplitude };
  });
  const explained = 1 - sines.reduce((sum, s) => sum + s.left / s.total, 0) / sines.length;
  const run = speedOf(
    links,
    sines.map((s) => s.phaseSd / omega),
    lengths,
  );
  const points = chain.map((samples, k): WavePoint => {
    const fastest = fastestOf(samples);
    const sine = sines[k]!;
    return { amplitudePx: sine.amplitude, ...fastest, explained: 1 - sine.left / sine.total };
  });
  const frequencySd = frequencyDoubt(sines, spanSec, chain);
  const swings = spanSec * hz;
  return {
    kind: 'to and fro',
    frequencyHz: hz,
    frequencySd,
    points,
    links,
    speed: run.speed,
    waveLengthPx: run.speed ? Math.abs(run.speed.pxPerSec) / hz : Number.NaN,
    growth: sines[sines.length - 1]!.amplitude / sines[0]!.amplitude,
    isWhip: isWhip(points),
    confidence: Math.max(0, Math.min(1, explained * (run.speed ? run.agreement : 1))),
    why: `One sine of ${hz.toFixed(2)} swings a second fitted to ${chain.length} points over ${swings.toFixed(1)} swings explains ${Math.round(100 * explained)} % of how they move across the chain${run.speed ? '' : '; no delay runs along it, all points move as one'}.`,
  };
}

function wrapped(angle: number): number {
  return angle - 2 * Math.PI * Math.round(angle / (2 * Math.PI));
}

/** The place of the highest value between two places, by golden section. */
function highest(of: (x: number) => number, from: number, to: number): number {
  const golden = (Math.sqrt(5) - 1) / 2;
  let [a, b] = [from, to];
  let [c, d] = [b - golden * (b - a), a + golden * (b - a)];
  let [fc, fd] = [of(c), of(d)];
  for (let i = 0; i < 30; i++) {
    if (fc > fd) {
      [b, d, fd] = [d, c, fc];
      c = b - golden * (b - a);
      fc = of(c);
    } else {
      [a, c, fc] = [c, d, fd];
      d = a + golden * (b - a);
      fd = of(d);
    }
  }
  return (a + b) / 2;
}

/** Standard deviation of the frequency of a sine in noise: √6 · (noise ÷ amplitude) / (π · T · √N) (Rife & Boorstyn 1974). */
function frequencyDoubt(sines: readonly Sine[], spanSec: number, chain: readonly PointSamples[]): number {
  const weights = sines.map((sine, k) => {
    const n = chain[k]!.timesSec.length;
    const noise = Math.sqrt(sine.left / n);
    const sd = (Math.sqrt(6) * noise) / (sine.amplitude * Math.PI * spanSec * Math.sqrt(n));
    return 1 / Math.max(1e-12, sd) ** 2;
  });
  return alike / Math.sqrt(weights.reduce((a, b) => a + b, 0));
}

/** One speed for the whole chain: delays add up along it in a straight line; least squares of the points' arrivals. */
function speedOf(links: readonly WaveLink[], arrivalSd: readonly number[], lengths: readonly number[]) {
  let [along, arrival] = [0, 0];
  const places: (readonly [at: number, sec: number, sd: number])[] = [[0, 0, arrivalSd[0]!]];
  for (const [k, link] of links.entries()) {
    along += lengths[k]!;
    arrival += link.delaySec;
    places.push([along, arrival, arrivalSd[k + 1]!]);
  }
  const system = new LinearSystem(2);
  // A chain bends and points sit where they were clicked: arrivals are held to be no surer than a millisecond.
  for (const [at, sec, sd] of places) system.add([0, 1], [1, at], sec, 1 / (sd ** 2 + 1e-6));
  const fit = system.solve();
  if (!fit) return { speed: null, agreement: 0 };
  const slowness = fit.values[1]!;
  const left = places.map(([at, sec]) => sec - fit.values[0]! - slowness * at);
  const rms = Math.sqrt(left.reduce((sum, v) => sum + v * v, 0) / left.length);
  const spread = Math.abs(slowness) * along;
  const misfit = places.length > 2 ? rms / Math.max(1e-9, spread / Math.sqrt(12)) : 0;
  const sd = Math.max(Math.sqrt(fit.covariance[3]!), places.length > 2 ? rms / along : 0);
  if (!(Math.abs(slowness) > 3 * sd)) return { speed: null, agreement: 1 };
  const pxPerSec = 1 / slowness;
  return {
    speed: { pxPerSec, sdPx: (sd / Math.abs(slowness)) * Math.abs(pxPerSec), chainsPerSec: pxPerSec / along },
    agreement: 1 / (1 + misfit ** 2),
  };
}

function sdOf({ sdPx }: PointSamples): number {
  return Math.sqrt(sdPx.reduce((sum, sd) => sum + sd * sd, 0) / sdPx.length);
}

/** Speeds over the neighbours to both sides; the greatest, with its time refined by a parabola. */
function fastestOf({ timesSec: t, xPx, yPx }: PointSamples): { peakSpeedPx: number; peakSec: number } {
  const speed = new Float64Array(t.length);
  for (let i = 1; i + 1 < t.length; i++)
    speed[i] = Math.hypot(xPx[i + 1]! - xPx[i - 1]!, yPx[i + 1]! - yPx[i - 1]!) / (t[i + 1]! - t[i - 1]!);
  let top = 1;
  for (let i = 1; i + 1 < t.length; i++) if (speed[i]! > speed[top]!) top = i;
  const [a, b, c] = [speed[top - 1]!, speed[top]!, speed[top + 1]!];
  const bend = a - 2 * b + c;
  const isInside = top > 1 && top + 2 < t.length;
  const shift = bend < 0 && isInside ? Math.max(-1, Math.min(1, (a - c) / (2 * bend))) : 0;
  const interval = (t[Math.min(t.length - 1, top + 1)]! - t[top - 1]!) / 2;
  return { peakSpeedPx: b - ((a - c) * shift) / 4, peakSec: t[top]! + shift * interval };
}

function isWhip(points: readonly WavePoint[]): boolean {
  return points.every((point, k) => {
    const before = points[k - 1];
    return !before || (point.peakSec > before.peakSec && point.peakSpeedPx > before.peakSpeedPx);
  });
}

/** A single rush along the chain: the delays are those of the greatest speeds. Null when they do not stand out or lie at an end. */
function crack(chain: readonly PointSamples[], lengths: readonly number[]): Wave | null {
  const points: WavePoint[] = [];
  for (const samples of chain) {
    const { timesSec } = samples;
    const fastest = fastestOf(samples);
    const interval = (timesSec[timesSec.length - 1]! - timesSec[0]!) / (timesSec.length - 1);
    const noise = sdOf(samples) / (Math.SQRT2 * interval);
    const isAtEnd =
      fastest.peakSec < timesSec[0]! + 2 * interval || fastest.peakSec > timesSec[timesSec.length - 1]! - 2 * interval;
    if (isAtEnd || fastest.peakSpeedPx < 2 * leastSize * noise) return null;
    points.push({ amplitudePx: Number.NaN, ...fastest, explained: Number.NaN });
  }
  // A peak of three samples' width is placed to about a quarter of an interval.
  const sd = chain.map(({ timesSec: t }) => (t[t.length - 1]! - t[0]!) / (t.length - 1) / 4);
  const links = lengths.map((lengthPx, k): WaveLink => {
    const [a, b] = [points[k]!, points[k + 1]!];
    return {
      delaySec: b.peakSec - a.peakSec,
      delaySd: Math.hypot(sd[k]!, sd[k + 1]!),
      lengthPx,
      growth: b.peakSpeedPx / a.peakSpeedPx,
    };
  });
  const run = speedOf(links, sd, lengths);
  const whip = isWhip(points);
  const isInOrder = links.every((link) => Math.sign(link.delaySec) === Math.sign(links[0]!.delaySec));
  return {
    kind: 'crack',
    frequencyHz: Number.NaN,
    frequencySd: Number.NaN,
    points,
    links,
    speed: isInOrder ? run.speed : null,
    waveLengthPx: Number.NaN,
    growth: points[points.length - 1]!.peakSpeedPx / points[0]!.peakSpeedPx,
    isWhip: whip,
    confidence: isInOrder ? 0.8 * run.agreement : 0.2,
    why: `Nothing swings to and fro here, so each point's greatest speed was taken: ${whip ? 'it comes later and is larger from point to point, as in a whip' : isInOrder ? 'it runs along the chain' : 'it does not run along the chain in order'}.`,
  };
}
