import type { TakenExposure } from '../project/shooting.ts';

/** How long one pose takes at the set. */
export interface Pace {
  readonly minutes: number;
  /** Measured from so many intervals of the log; 0 = the log says nothing yet, and the book's minutes stand in. */
  readonly intervals: number;
}

/** Only so many of the newest intervals count: the pace is the present one. */
const recent = 15;
/** Fewer than this say nothing. */
const enough = 3;
/** Whoever waits longer than so many times the usual, and longer than so many minutes, has had a break. */
const breakTimes = 3;
const breakMinutes = 5;
/** Marks nearer than this were pressed one after another to catch up, minutes. */
const catchingUp = 2 / 60;

/** The rule, for whoever asks where the number comes from. */
export const paceRule = `The median of the last ${recent} intervals between two marks. Left out are held exposures, marks within two seconds of each other, and breaks: over ${breakMinutes} minutes and over ${breakTimes} times the median of all the others.`;

/**
 * The present pace. An interval ends with an exposure for which something was moved: held ones are shot straight on and say nothing.
 * @param taken in the order in which they were marked; a clock that was set back gives no interval.
 * @param bookMinutes what the book reckons for an exposure, as long as there are too few intervals.
 */
export function paceOf(taken: readonly TakenExposure[], bookMinutes: number): Pace {
  const all = taken.flatMap(({ atMs, isHeld }, i) => {
    const before = taken[i - 1];
    const minutes = before && !isHeld ? (atMs - before.atMs) / 60_000 : 0;
    return minutes >= catchingUp ? [minutes] : [];
  });
  const usual = median(all);
  const kept = all.filter((m) => m <= Math.max(breakMinutes, breakTimes * usual)).slice(-recent);
  return kept.length < enough
    ? { minutes: bookMinutes, intervals: 0 }
    : { minutes: median(kept), intervals: kept.length };
}

/** NaN for none. */
function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}
