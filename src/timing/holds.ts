import { fitMove, type JointMove } from './moveFit.ts';
import type { PoseSamples } from './poseSamples.ts';
import type { Hold } from './timing.ts';

/** A span in which the body rests, before it is snapped to frames. Take seconds. */
export interface Rest {
  readonly startSec: number;
  readonly endSec: number;
  readonly kind: Hold['kind'];
}

/** A pose kept for less than this is a turn. */
const shortestSec = 3 / 24;
/** A joint that goes less far than this does not tell when the body starts or stops: 1.2 % of the body height. */
const leastDistance = 0.012;
/** ... nor one that goes less than this part of the way of the joint that goes furthest, */
const leastShare = 0.15;
/** ... nor one whose way is not this many standard deviations long. */
const leastSds = 4;

/**
 * The rest at each pose of a path, or null where the body turns at once, from the fitted ways into and out of each pose of a path. A way starts and stops softly, so looking
 * for speeds below a limit would find every hold too long by one to two frames at either end; the fitted way says when the
 * last joint truly arrives and the first leaves.
 * @param at sample of each pose of the path, rising.
 * @param stillDistance how far a joint may wander in a hold beyond its noise, body heights; more is a moving hold.
 */
export function findRests(samples: PoseSamples, at: readonly number[], stillDistance: number): (Rest | null)[] {
  const legs = at.slice(1).map((to, i) => samples.limbs.map((limb) => fitMove(limb, at[i] ?? 0, to)));
  return at.map((sample, i) => {
    const before = legs[i - 1];
    const after = legs[i];
    const start = before ? lastArrival(samples, before, sample) : 0;
    const end = after ? firstLeaving(samples, after, sample) : samples.count - 1;
    if ((end - start) * samples.stepSec < shortestSec) return null;
    const sec = (k: number) => samples.startSec + k * samples.stepSec;
    const kind = drift(samples, Math.ceil(start), Math.floor(end)) > stillDistance ? 'movingHold' : 'hold';
    return { startSec: sec(start), endSec: sec(end), kind };
  });
}

function counted(samples: PoseSamples, moves: readonly JointMove[], sample: number): JointMove[] {
  const furthest = Math.max(0, ...moves.map((m) => m.distance));
  return moves.filter((m, j) => {
    const sd = samples.limbs[j]?.sd[sample] ?? 0;
    return m.distance >= Math.max(leastDistance, leastShare * furthest, leastSds * sd);
  });
}

function lastArrival(samples: PoseSamples, moves: readonly JointMove[], sample: number): number {
  const arrivals = counted(samples, moves, sample).map((m) => m.arrives);
  return arrivals.length > 0 ? Math.max(...arrivals) : sample;
}

function firstLeaving(samples: PoseSamples, moves: readonly JointMove[], sample: number): number {
  const leavings = counted(samples, moves, sample).map((m) => m.leaves);
  return leavings.length > 0 ? Math.min(...leavings) : sample;
}

/** The furthest that any joint strays from its mean place in the span, beyond three standard deviations. Body heights. */
function drift(samples: PoseSamples, first: number, last: number): number {
  let furthest = 0;
  for (const { x, y, sd } of samples.joints) {
    let mx = 0;
    let my = 0;
    for (let k = first; k <= last; k++) {
      mx += (x[k] ?? 0) / (last - first + 1);
      my += (y[k] ?? 0) / (last - first + 1);
    }
    for (let k = first; k <= last; k++) {
      furthest = Math.max(furthest, Math.hypot((x[k] ?? 0) - mx, (y[k] ?? 0) - my) - 3 * (sd[k] ?? 0));
    }
  }
  return furthest;
}

/** Shortest hold that registers with an audience, and longest that stays alive: the trade's floor and ceiling, at 24 fps. */
const registersFrames = 6;
const deadFrames = 24;

/**
 * A rest as frames of the shot: those that begin within it. Null when fewer than two do.
 * @param fps of the shot; the rules of thumb for its length are converted from 24.
 */
export function holdOf(rest: Rest, startSec: number, fps: number, frameCount: number): Hold | null {
  // A tenth of a frame: what the estimate of the rest's ends is not sure of anyway.
  const slack = 0.1;
  const firstFrame = Math.max(0, Math.ceil((rest.startSec - startSec) * fps - slack));
  const last = Math.min(frameCount - 1, Math.floor((rest.endSec - startSec) * fps + slack));
  const frames = last - firstFrame + 1;
  if (frames < 2) return null;
  const at24 = (frames * 24) / fps;
  let warning = '';
  if (at24 < registersFrames) {
    warning = `Only ${frames} frames: an audience needs about ${Math.round((registersFrames * fps) / 24)} to take a pose in.`;
  } else if (at24 > deadFrames && rest.kind === 'hold') {
    warning = `${frames} frames without movement: past about ${Math.round((deadFrames * fps) / 24)} a puppet looks dead. Add a blink or a breath.`;
  }
  return { firstFrame, frames, kind: rest.kind, warning };
}
