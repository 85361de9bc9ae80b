import type { PropId } from '../base/joints.ts';
import type { SeenPoint, Tracks } from '../track/motion.ts';
import { samplesOfProp } from './pointSamples.ts';
import { type Fall, findFall } from './weight.ts';

/** A marked point that touches something: it goes up again, or stays down. */
export interface Touch {
  readonly part: PropId;
  readonly how: 'bounces' | 'lands';
  readonly takeSec: number;
  /** Downward before it, pixels per second. */
  readonly speedPx: number;
}

/** What is known of flights without asking what was smoothed, take seconds. */
export interface PointFlights {
  readonly touches: readonly Touch[];
  /** When something is let go at rest. */
  readonly releasesSec: readonly number[];
  /** When something is highest between two touches, or in a throw. */
  readonly topsSec: readonly number[];
}

/** The flights of all marked points, as they were measured: smoothing rounds off bounces. */
export function flightsOfPoints({ seenPoints }: Pick<Tracks, 'seenPoints'>): PointFlights {
  const touches: Touch[] = [];
  const releasesSec: number[] = [];
  const topsSec: number[] = [];
  for (const [part, seen] of seenPoints ?? []) {
    const fall = surelyFalls(seen);
    for (const { startSec, endSec, begins, ends, apexSec, endVyPx: speedPx } of fall?.flights ?? []) {
      if (begins === 'released') releasesSec.push(startSec);
      if (apexSec > startSec && apexSec < endSec) topsSec.push(apexSec);
      if (ends === 'bounce' || ends === 'lands')
        touches.push({ part, how: ends === 'bounce' ? 'bounces' : 'lands', takeSec: endSec, speedPx });
    }
  }
  return { touches, releasesSec, topsSec };
}

/** Pixels per metre, told by the first marked point that surely falls; NaN where none does. */
export function pxPerMetreOf(points: Iterable<SeenPoint>): number {
  for (const seen of points) {
    const fall = surelyFalls(seen);
    if (fall) return fall.pxPerMetre;
  }
  return Number.NaN;
}

/** A fall that is no chance likeness of a swing or a wave: it bounces, or is let go at rest. Null without one. */
function surelyFalls(seen: SeenPoint): Fall | null {
  const fall = findFall(samplesOfProp(seen));
  const isSure = fall && (fall.bounces.length > 0 || fall.flights.some((f) => f.begins === 'released'));
  return isSure && fall.doubt === null ? fall : null;
}
