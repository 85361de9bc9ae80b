import { median } from '../track/quantile.ts';
import { leastSquaresBeat, medianBeat, type NumberedBeat, spansBeats } from './beatLine.ts';

/** The steady beat behind a row of taps. */
export interface TappedTempo {
  readonly beatsPerMinute: number;
  /** When the beat of the first tap falls, on the taps' clock, seconds: from all taps, so better than the first alone. */
  readonly firstBeatSec: number;
  /** How far taps lie from their beats, median, seconds. NaN with two taps: they fit any beat. */
  readonly strayedSec: number;
  /** Standard error of the tempo, beats per minute; NaN with two taps. */
  readonly doubtBpm: number;
  /** How many taps count; those far off the beat do not. */
  readonly used: number;
}

/** A tap this share of a beat off its beat is a slip of the finger. */
const slipShare = 0.25;
/** Intervals shorter than this are a trembling finger, longer ones a pause in which somebody stopped tapping. */
const shortestSec = 0.15;
/** A pause after which taps begin anew, seconds: the slowest tempo offered is 2.4 s a beat. */
export const tapPauseSec = 2.5;

/**
 * The tempo of taps (rising times, seconds, any clock), or null with fewer than two. Each tap is given to a beat by the median
 * interval, so a missed tap does no harm; then a straight line is laid through beats and taps by least squares, without those
 * that lie more than a quarter of a beat off the median line, which slips do not move.
 */
export function tempoOfTaps(tapsSec: readonly number[]): TappedTempo | null {
  const taps = tapsSec.filter((sec, i) => i === 0 || sec - tapsSec[i - 1]! >= shortestSec);
  const gaps = taps.slice(1).map((sec, i) => sec - taps[i]!);
  if (gaps.length === 0) return null;
  let stepSec = median(gaps);
  let firstSec = taps[0]!;
  let used = taps.map((sec) => ({ sec, beat: 0 }));
  const nearest = (sec: number) => Math.round((sec - firstSec) / stepSec);
  // Twice: the second time with the beat that the first line gave.
  for (let pass = 0; pass < 2; pass++) {
    const numbered = pass === 0 ? numberTaps(taps, stepSec) : taps.map((sec) => ({ sec, beat: nearest(sec) }));
    const line = medianBeat(numbered);
    const near = numbered.filter((t) => Math.abs(t.sec - line.at(t.beat)) <= slipShare * line.step);
    used = near.length >= 2 && spansBeats(near) ? near : numbered;
    const settled = leastSquaresBeat(used);
    stepSec = settled.step;
    firstSec = settled.at(0);
  }
  const strays = used.map((t) => Math.abs(t.sec - firstSec - t.beat * stepSec));
  const beatsPerMinute = 60 / stepSec;
  return {
    beatsPerMinute,
    firstBeatSec: firstSec,
    strayedSec: used.length > 2 ? median(strays) : Number.NaN,
    doubtBpm: used.length > 2 ? (beatsPerMinute * stepError(used, stepSec, firstSec)) / stepSec : Number.NaN,
    used: used.length,
  };
}

/** Counts the beats from tap to tap, with a beat that follows the taps by half of what each is off: a slip moves it little. */
function numberTaps(taps: readonly number[], stepSec: number): NumberedBeat[] {
  let beat = 0;
  let beatSec = taps[0]!;
  return taps.map((sec, i) => {
    const on = i === 0 ? 0 : Math.max(1, Math.round((sec - beatSec) / stepSec));
    beat += on;
    beatSec += on * stepSec;
    beatSec += (sec - beatSec) / 2;
    return { sec, beat };
  });
}

/** Standard error of the slope of a least-squares line. */
function stepError(taps: readonly NumberedBeat[], step: number, first: number): number {
  const meanBeat = taps.reduce((sum, t) => sum + t.beat, 0) / taps.length;
  const spread = taps.reduce((sum, t) => sum + (t.beat - meanBeat) ** 2, 0);
  const squares = taps.reduce((sum, t) => sum + (t.sec - first - step * t.beat) ** 2, 0);
  return Math.sqrt(squares / (taps.length - 2) / spread);
}
