import type { TakenExposure } from '../project/shooting.ts';
import { type Pace, paceOf } from './pace.ts';
import type { Plan } from './plan.ts';
import { heldExposures } from './poses.ts';
import { hoursWords, many } from './shotFacts.ts';
import { changedSince } from './shotMoment.ts';

/** An exposure in the log, against the plan as it is now. */
export interface LoggedExposure {
  readonly taken: TakenExposure;
  /** The plan's exposure that it is, from 0; null = the plan has none like it any more. */
  readonly exposure: number | null;
  /** Some of its frames were shot again later: only that later one counts. */
  readonly isReplaced: boolean;
  /** What the plan says otherwise by now, a phrase; "" = nothing, or it was replaced. */
  readonly differs: string;
}

/** What was shot of a plan, and what is left. */
export interface TakenLog {
  /** In the order in which they were marked. */
  readonly entries: readonly LoggedExposure[];
  /** When each exposure was shot as the plan has it now, milliseconds since 1970; NaN = it was not. Shape [exposure]. */
  readonly shotAtMs: Float64Array;
  readonly shotCount: number;
  /** Entries that the plan has left behind. */
  readonly differing: readonly LoggedExposure[];
  /** Exposures and, of them, poses to set that are not shot. */
  readonly exposuresLeft: number;
  readonly posesLeft: number;
  readonly pace: Pace;
  /** At the present pace for each pose that is left; at the book's minutes for each exposure, held ones too, until that is known. */
  readonly minutesLeft: number;
}

/** The log of a shot, read against its plan: frames that were retimed after they were shot do not count as shot. */
export function readTakenLog({ timing, book }: Plan, taken: readonly TakenExposure[]): TakenLog {
  const entries = taken.map((entry, i): LoggedExposure => {
    const isReplaced = taken.some((later, j) => j > i && overlap(entry, later));
    const exposure = timing.exposures.findIndex((e) => e.firstFrame === entry.firstFrame);
    const differs = isReplaced ? '' : changedSince(timing, entry);
    return { taken: entry, exposure: exposure < 0 ? null : exposure, isReplaced, differs };
  });
  const shotAtMs = new Float64Array(timing.exposures.length).fill(Number.NaN);
  for (const { taken: entry, exposure, isReplaced, differs } of entries)
    if (exposure !== null && !isReplaced && !differs) shotAtMs[exposure] = entry.atMs;
  const held = heldExposures(timing);
  const left = [...shotAtMs.keys()].filter((i) => Number.isNaN(shotAtMs[i]));
  const posesLeft = left.filter((i) => !held[i]).length;
  const pace = paceOf(taken, book.minutesPerExposure);
  return {
    entries,
    shotAtMs,
    shotCount: shotAtMs.length - left.length,
    differing: entries.filter((e) => e.differs !== ''),
    exposuresLeft: left.length,
    posesLeft,
    pace,
    minutesLeft: pace.minutes * (pace.intervals > 0 ? posesLeft : left.length),
  };
}

/** "2 h 10 min left: 13 poses at 10 min each". */
export function leftWords({ minutesLeft, pace, posesLeft, exposuresLeft }: TakenLog): string {
  const each = pace.minutes < 10 ? `${Number(pace.minutes.toFixed(1))} min` : hoursWords(pace.minutes);
  const what = pace.intervals > 0 ? many(posesLeft, 'pose') : many(exposuresLeft, 'exposure');
  return `${hoursWords(minutesLeft)} left: ${what} at ${each}${pace.intervals > 0 ? '' : ', as the shot card says'}`;
}

function overlap(a: TakenExposure, b: TakenExposure): boolean {
  return a.firstFrame < b.firstFrame + b.frames && b.firstFrame < a.firstFrame + a.frames;
}
