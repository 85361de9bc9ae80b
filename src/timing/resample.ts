import type { FrameGrid } from '../base/frameGrid.ts';
import { frameStartSec, framesIn } from '../base/frameRate.ts';
import type { Part } from '../base/joints.ts';
import { type JointPath, type Motion, stepSdOf, type Tracks } from '../track/motion.ts';
import { makeTimeMap, type TimeMap } from './timeMap.ts';
import type { TimingChoices } from './timing.ts';

/** The shot's frames, the take time that each shows, and the performer then. Columns have shape [frame]. */
export interface Resampled {
  readonly grid: FrameGrid;
  readonly map: TimeMap;
  readonly takeTimeSec: Float64Array;
  /** Speeds are pixels per second of the shot. */
  readonly motion: Motion;
}

/**
 * Asks the tracks for the performer at each frame of the shot. The frame count is round(length × rate), so the last frames
 * may begin after the last picture, though before it leaves the screen: there the tracks hold the last picture's pose.
 */
export function resample(tracks: Tracks, choices: TimingChoices): Resampled {
  const { rate, startSec } = choices;
  const map = makeTimeMap(choices.retiming, startSec, choices.endSec);
  const grid = { rate, frameCount: framesIn(rate, map.lengthSec), startSec };
  const takeTimeSec = shownTimesSec(grid, map);
  const motion = motionAt(tracks, takeTimeSec);
  if (map.isIdentity) return { grid, map, takeTimeSec, motion };
  const speeds = takeTimeSec.map((_, k) => map.speedAt(frameStartSec(rate, k)));
  const paths = new Map<Part, JointPath>();
  for (const [part, path] of motion.paths) {
    const times = (column: Float64Array) => column.map((v, k) => v * speeds[k]!);
    paths.set(part, { ...path, vxPx: times(path.vxPx), vyPx: times(path.vyPx) });
  }
  return { grid, map, takeTimeSec, motion: { ...motion, paths } };
}

/** The take time that each frame of a shot shows: never falling. Shape [frame]. */
export function shownTimesSec(grid: FrameGrid, map: TimeMap): Float64Array {
  const times = Float64Array.from({ length: grid.frameCount }, (_, k) => map.takeAt(frameStartSec(grid.rate, k)));
  // Rounding of the last digit must not make a held frame run backwards.
  for (let k = 1; k < times.length; k++) times[k] = Math.max(times[k]!, times[k - 1]!);
  return times;
}

/** The tracks at times that may repeat, as they do in a hold. */
export function motionAt(tracks: Tracks, timesSec: Float64Array): Motion {
  const place = new Int32Array(timesSec.length);
  const once: number[] = [];
  timesSec.forEach((sec, k) => {
    if (once.length === 0 || sec > once.at(-1)!) once.push(sec);
    place[k] = once.length - 1;
  });
  const moving = tracks.at(Float64Array.from(once));
  if (once.length === timesSec.length) return moving;
  const paths = new Map<Part, JointPath>();
  for (const [part, path] of moving.paths) {
    const spread = (column: Float64Array) => Float64Array.from(place, (i) => column[i]!);
    paths.set(part, {
      xPx: spread(path.xPx),
      yPx: spread(path.yPx),
      vxPx: spread(path.vxPx),
      vyPx: spread(path.vyPx),
      sdPx: spread(path.sdPx),
      confidence: Float32Array.from(place, (i) => path.confidence[i]!),
      guessed: Uint8Array.from(place, (i) => path.guessed[i]!),
    });
  }
  return {
    timesSec,
    paths,
    // The same moment of the take stands there twice: nothing has moved, for certain.
    stepSdPx: (part, from, to) =>
      place[from] === place[to] ? 0 : stepSdOf(moving, part, place[from] ?? -1, place[to] ?? -1),
  };
}
