import type { Part } from '../base/joints.ts';
import type { SeenPoint, Tracks } from '../track/motion.ts';

/** Where one point was, at the pictures in which it was seen: nothing filled in. All columns have shape [sample]. */
export interface PointSamples {
  /** Take seconds, strictly rising. */
  readonly timesSec: Float64Array;
  /** Upright video pixels, y down; never NaN. */
  readonly xPx: Float64Array;
  readonly yPx: Float64Array;
  /** Standard deviation along one axis, pixels. */
  readonly sdPx: Float64Array;
}

/** The pictures in which a marked point was seen, as measured: smoothing would round off what happens at a bounce. */
export function samplesOfProp({ timesSec, xPx, yPx, sdPx }: SeenPoint): PointSamples {
  return seenOnly({ timesSec, xPx, yPx, sdPx });
}

/** A part's path at the take's pictures; where it is filled in rather than seen, left out. Empty when it is not known. */
export function samplesOfPart(tracks: Tracks, part: Part): PointSamples {
  const path = tracks.at(tracks.timesSec).paths.get(part);
  const none = new Float64Array(0);
  if (!path) return { timesSec: none, xPx: none, yPx: none, sdPx: none };
  const xPx = path.xPx.map((x, i) => (path.guessed[i] ? Number.NaN : x));
  return seenOnly({ timesSec: tracks.timesSec, xPx, yPx: path.yPx, sdPx: path.sdPx });
}

/** The samples between two take times, both included. */
export function samplesWithin(samples: PointSamples, startSec: number, endSec: number): PointSamples {
  return seenOnly(samples, (sec) => sec >= startSec - 1e-6 && sec <= endSec + 1e-6);
}

function seenOnly(samples: PointSamples, isWanted = (_sec: number) => true): PointSamples {
  const { timesSec, xPx, yPx, sdPx } = samples;
  const kept = [...timesSec.keys()].filter(
    (i) => !Number.isNaN(xPx[i]!) && !Number.isNaN(yPx[i]!) && isWanted(timesSec[i]!),
  );
  const pick = (of: Float64Array) => Float64Array.from(kept, (i) => of[i]!);
  return { timesSec: pick(timesSec), xPx: pick(xPx), yPx: pick(yPx), sdPx: pick(sdPx) };
}
