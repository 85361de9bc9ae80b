import type { Part } from '../base/joints.ts';
import { stepSdOf } from '../track/motion.ts';
import { type ArcFault, faultSize, type PartWords } from './arcFault.ts';
import { surelySds } from './popFaults.ts';
import { sizeWords } from './sizeUnit.ts';
import type { Timing } from './timing.ts';

/** Holds shorter than this do not drift, frames at 24 fps. */
const leastFrames = 8;
/** The soft ends of a hold, frames at 24 fps, do not count: the part still arrives, or already leaves. */
const softFrames = 2;
/** How far a part may wander in a hold, as part of the puppet's height: 1 mm of 250 in a complete stop, 2 mm in one kept alive. */
const limits = { hold: 0.004, movingHold: 0.008 } as const;
/** A drift goes one way: its straight line explains this much of where the part is. Life in a hold goes to and fro. */
const oneWay = 0.8;

/** Parts that slowly wander in a hold: the ends of a straight line through their places lie further apart than the hold's limit. */
export function driftFaults(timing: Timing, part: Part, words: PartWords): ArcFault[] {
  const path = timing.motion.paths.get(part);
  if (!path) return [];
  const { grid, motion } = timing;
  const per24 = grid.rate.frames / grid.rate.seconds / 24;
  const soft = Math.max(1, Math.round(softFrames * per24));
  const faults: ArcFault[] = [];
  for (const hold of timing.holds) {
    const startsShot = hold.firstFrame === 0;
    const endsShot = hold.firstFrame + hold.frames === grid.frameCount;
    const first = hold.firstFrame + (startsShot ? 0 : soft);
    const last = hold.firstFrame + hold.frames - 1 - (endsShot ? 0 : soft);
    if (last - first + 1 < leastFrames * per24) continue;
    const [x, y] = [trend(path.xPx, first, last), trend(path.yPx, first, last)];
    const size = Math.hypot(x.change, y.change);
    const limit = limits[hold.kind] * timing.bodyHeightPx;
    if (!(size > limit)) continue;
    const about = x.about + y.about;
    if (about > 0 && (x.explained + y.explained) / about < oneWay) continue;
    const sd = stepSdOf(motion, part, first, last);
    if (!(size - limit > surelySds * sd)) continue;
    faults.push({
      kind: 'holdDrift',
      part,
      firstFrame: first,
      frames: last - first + 1,
      atFrame: last,
      ...faultSize(timing, size, sd),
      sentence: `The ${words(part)} drifts ${sizeWords(size, timing)} in the hold of frames ${hold.firstFrame + 1} to ${hold.firstFrame + hold.frames}.`,
      why: `Change along a straight line through its places in the hold; a ${hold.kind === 'hold' ? 'complete stop' : 'moving hold'} may wander ${sizeWords(limit, timing)}.`,
    });
  }
  return faults;
}

/** The straight line through a column, by least squares. */
function trend(column: Float64Array, first: number, last: number) {
  const n = last - first + 1;
  let mean = 0;
  for (let k = first; k <= last; k++) mean += column[k]! / n;
  let [tt, tv, vv] = [0, 0, 0];
  for (let k = first; k <= last; k++) {
    const t = k - (first + last) / 2;
    const v = column[k]! - mean;
    tt += t * t;
    tv += t * v;
    vv += v * v;
  }
  return { change: (tv / tt) * (n - 1), explained: (tv * tv) / tt, about: vv };
}
