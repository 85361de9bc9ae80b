import { type Soundtrack, soundFullScale } from '../base/sound.ts';

/** A sound that begins: a knock, a footfall, a hard consonant. */
export interface Onset {
  /** When it begins, take seconds as recorded (before any nudge). */
  readonly takeSec: number;
  /** How clearly it begins, 0..1: 1 = the clearest of this soundtrack. */
  readonly strength: number;
  /** Its loudest moment within a tenth of a second, decibels below full scale; at most 0. */
  readonly peakDb: number;
  /** How much louder than the tenth of a second before, decibels; may be near 0 where only the pitch changes. */
  readonly louderDb: number;
  /** Why it counts, in a sentence. */
  readonly why: string;
}

/** Two sounds nearer than this are heard as one (two knocks begin to part at about 50 ms), seconds. */
const apartSec = 0.05;
/** The rise must stand out from the second around it. */
const aroundSec = 0.5;
/** ... by this many times the spread of the rises there (median absolute deviation), */
const spreads = 6;
/** ... and by this at least, so that neither silence nor steady hiss ticks: a quarter louder in all bands. */
const leastRise = 0.1;
/** ... and reach this share of the clearest ones: what is far fainter than the rest is not what a shot is timed to. */
const leastShare = 0.12;

/**
 * Where sounds begin: peaks of the soundtrack's rise over a threshold that follows its surroundings (median and median
 * absolute deviation of a second), each put where the loudness itself sets in. Rising times.
 */
export function findOnsets(sound: Soundtrack): Onset[] {
  const { rise, binsPerSec } = sound;
  const level = Float64Array.from(sound.high, (high, b) => Math.max(high, -sound.low[b]!) / soundFullScale);
  const threshold = thresholds(rise, Math.round(aroundSec * binsPerSec));
  const near = Math.round((apartSec * binsPerSec) / 2);
  const peaks: number[] = [];
  for (let b = 0; b < rise.length; b++) if (rise[b]! > threshold[b]! && isHighest(rise, b, near)) peaks.push(b);
  const clearest = peaks.map((b) => rise[b]!).sort((x, y) => y - x);
  // The second clearest: one slammed door must not silence the rest.
  const measure = clearest[Math.min(1, clearest.length - 1)] ?? 0;
  const found: Onset[] = [];
  for (const b of peaks) {
    if (rise[b]! < leastShare * measure || fallsSilent(level, b, binsPerSec)) continue;
    const onset = onsetAt(sound, level, b, Math.min(1, rise[b]! / measure));
    const last = found.at(-1);
    if (last && onset.takeSec - last.takeSec < apartSec) {
      if (onset.strength > last.strength) found[found.length - 1] = { ...onset, takeSec: last.takeSec };
    } else found.push(onset);
  }
  return found;
}

function isHighest(values: Float32Array, at: number, reach: number): boolean {
  for (let i = Math.max(0, at - reach); i <= Math.min(values.length - 1, at + reach); i++)
    if (values[i]! > values[at]! || (values[i] === values[at] && i < at)) return false;
  return true;
}

/** Median + spread of the rises around each bin, taken at every tenth of `reach` and held between. */
function thresholds(rise: Float32Array, reach: number): Float64Array {
  const out = new Float64Array(rise.length);
  const step = Math.max(1, Math.round(reach / 10));
  for (let b = 0; b < rise.length; b += step) {
    const around = rise.slice(Math.max(0, b - reach), b + reach).sort();
    const middle = around[around.length >> 1] ?? 0;
    const away = around.map((v) => Math.abs(v - middle)).sort();
    out.fill(middle + Math.max(leastRise, spreads * (away[away.length >> 1] ?? 0)), b, b + step);
  }
  return out;
}

/** A sound cut off ticks in all bands, too: it is far louder before than after. */
function fallsSilent(level: Float64Array, peak: number, per: number): boolean {
  const before = mean(level, peak - Math.round(0.03 * per), peak - Math.round(0.005 * per));
  const after = mean(level, peak + Math.round(0.015 * per), peak + Math.round(0.05 * per));
  const here = highest(level, peak - Math.round(0.005 * per), peak + Math.round(0.015 * per));
  return after < 0.3 * before && here < 1.3 * before;
}

function onsetAt(sound: Soundtrack, level: Float64Array, peak: number, strength: number): Onset {
  const per = sound.binsPerSec;
  const before = mean(level, peak - Math.round(0.1 * per), peak - Math.round(0.015 * per));
  const top = highest(level, peak - Math.round(0.01 * per), peak + Math.round(0.1 * per));
  const first = setsIn(level, peak, before, per);
  const louderDb = 20 * Math.log10(Math.max(top, 1e-5) / Math.max(before, 1e-5));
  const peakDb = Math.min(0, 20 * Math.log10(Math.max(top, 1e-5)));
  const louder =
    louderDb > 3 ? `${Math.round(louderDb)} dB louder than the moment before` : 'another pitch sets in, no louder';
  return {
    takeSec: sound.startSec + first / per,
    strength,
    peakDb,
    louderDb,
    why: `${louder}; ${strength >= 0.999 ? 'among the clearest' : `${Math.round(100 * strength)} % as clear as the clearest`} in this take.`,
  };
}

/**
 * The bin at which the loudness sets in near a peak of the rise: the first that is above what was before by a fifth of what
 * it grows to. Where nothing grows (a change of pitch) the peak itself.
 */
function setsIn(level: Float64Array, peak: number, before: number, per: number): number {
  const from = Math.max(0, peak - Math.round(0.012 * per));
  const to = Math.min(level.length, peak + Math.round(0.03 * per));
  const grownTo = highest(level, from, to);
  if (grownTo < 1.4 * before) return peak;
  for (let b = from; b < to; b++) if (level[b]! >= before + 0.2 * (grownTo - before)) return b;
  return peak;
}

function mean(values: Float64Array, from: number, to: number): number {
  const some = values.subarray(Math.max(0, from), Math.max(0, to));
  return some.length === 0 ? 0 : some.reduce((sum, v) => sum + v, 0) / some.length;
}

function highest(values: Float64Array, from: number, to: number): number {
  let most = 0;
  for (let b = Math.max(0, from); b < Math.min(values.length, to); b++) most = Math.max(most, values[b]!);
  return most;
}
