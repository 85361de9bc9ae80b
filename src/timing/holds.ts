import { type LimbEnds, whenAllTold } from './legEnds.ts';
import type { PoseSamples } from './poseSamples.ts';
import type { SampleSpan } from './stillness.ts';
import type { TimeMap } from './timeMap.ts';
import type { Hold } from './timing.ts';

/** A span in which the body rests, before it is snapped to frames. Take seconds. */
export interface Rest {
  readonly startSec: number;
  readonly endSec: number;
  readonly kind: Hold['kind'];
}

/** How far speeds below a limit reach into the soft start or end of a move: 2 frames at 24 fps. */
const softSec = 2 / 24;
/** A pose kept for less than this is a turn. */
const shortestSec = 3 / 24;
/**
 * The rest at each pose of a path, or null where the body turns at once, from the fitted ways into and out of each pose. A
 * way starts and stops softly, so looking for speeds below a limit would find every hold too long by one to two frames at
 * either end; the fitted way says when the last limb truly arrives and the first leaves.
 * @param at sample of each pose of the path, rising.
 * @param ends of the legs between them, see `endsOfLegs`.
 * @param stills spans in which no joint shows any speed: they reach into the soft ends by up to two frames, so a rest is never
 *   shorter than what is left of them without that. This keeps rests whose next move is too small to be fitted.
 * @param stillDistance how far a joint may wander in a hold beyond its noise, body heights; more is a moving hold.
 */
export function findRests(
  samples: PoseSamples,
  at: readonly number[],
  ends: readonly (readonly LimbEnds[])[],
  stills: readonly SampleSpan[],
  stillDistance: number,
): (Rest | null)[] {
  const soft = softSec / samples.stepSec;
  const last = samples.count - 1;
  return at.map((sample, i) => {
    if (samples.joints.length === 0) return null;
    const before = ends[i - 1];
    const after = ends[i];
    const still = stills.find((s) => sample >= s.first - 1 && sample <= s.last);
    const latestStart = still ? still.first + soft : last;
    const earliestEnd = still ? still.last - soft : 0;
    const start = before ? Math.max(0, Math.min(latestStart, lastArrival(before) ?? sample)) : 0;
    const end = after ? Math.min(last, Math.max(earliestEnd, firstLeaving(after) ?? sample)) : last;
    if ((end - start) * samples.stepSec < shortestSec) return null;
    const sec = (k: number) => samples.startSec + k * samples.stepSec;
    const kind = drift(samples, Math.ceil(start), Math.floor(end)) > stillDistance ? 'movingHold' : 'hold';
    return { startSec: sec(start), endSec: sec(end), kind };
  });
}

function lastArrival(ends: readonly LimbEnds[]): number | null {
  return whenAllTold(ends.map((e) => ({ at: e.stop, sd: e.stopSd, distance: e.distance })));
}

function firstLeaving(ends: readonly LimbEnds[]): number | null {
  const back = whenAllTold(ends.map((e) => ({ at: -e.outset, sd: e.outsetSd, distance: e.distance })));
  return back === null ? null : -back;
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

/** Shortest hold that registers with an audience, frames at 24 fps (about a quarter of a second; teachers of animation). */
export const registersFrames = 6;
/** Longest complete stop that stays alive, frames at 24 fps (puppet animators: up to 12, sometimes 24, then it needs life). */
const deadFrames = 24;

/**
 * A rest as frames of the shot: those that begin within it. Null when fewer than two do.
 * @param fps of the shot; the rules of thumb for its length are converted from 24.
 */
export function holdOf(rest: Rest, map: TimeMap, fps: number, frameCount: number): Hold | null {
  const [from, to] = [map.shotAt(rest.startSec) * fps, map.lastShotAt(rest.endSec) * fps];
  return holdBetween(rest, from, to, fps, frameCount);
}

/**
 * The holds of a shot, rising: its rests, given as frames, and the holds that the animator laid into the movement. One that
 * was laid beside or into a rest makes one hold with it.
 */
export function allHolds(rests: readonly Hold[], map: TimeMap, fps: number, frameCount: number): Hold[] {
  let holds = [...rests];
  map.knots.forEach((knot, i) => {
    const next = map.knots[i + 1];
    if (!next || next.takeSec - knot.takeSec > 1e-9 || next.shotSec <= knot.shotSec) return;
    const still: Rest = { startSec: knot.takeSec, endSec: knot.takeSec, kind: 'hold' };
    const laid = holdBetween(still, knot.shotSec * fps, next.shotSec * fps, fps, frameCount);
    if (!laid) return;
    const touches = (h: Hold) =>
      laid.firstFrame <= h.firstFrame + h.frames && h.firstFrame <= laid.firstFrame + laid.frames;
    const joined = [laid, ...holds.filter(touches)];
    const first = Math.min(...joined.map((h) => h.firstFrame));
    const end = Math.max(...joined.map((h) => h.firstFrame + h.frames));
    const rest: Rest = {
      startSec: Math.min(...joined.map((h) => h.fromSec)),
      endSec: Math.max(...joined.map((h) => h.toSec)),
      kind: joined.some((h) => h.kind === 'movingHold') ? 'movingHold' : 'hold',
    };
    holds = [...holds.filter((h) => !touches(h)), ...[holdBetween(rest, first, end - 1, fps, frameCount) ?? []].flat()];
  });
  return holds.sort((a, b) => a.firstFrame - b.firstFrame);
}

/** A tenth of a frame: what the estimate of a rest's ends is not sure of anyway. */
const slack = 0.1;

/** The first frame of a hold that begins at `from`, in frames that are not rounded. */
export function firstHeldFrame(from: number): number {
  return Math.ceil(from - slack);
}

/** The last frame of a hold that ends at `to`, in frames that are not rounded. */
export function lastHeldFrame(to: number): number {
  return Math.floor(to + slack);
}

/** @param from and `to` frames, not rounded. */
function holdBetween(rest: Rest, from: number, to: number, fps: number, frameCount: number): Hold | null {
  const firstFrame = Math.max(0, firstHeldFrame(from));
  const last = Math.min(frameCount - 1, lastHeldFrame(to));
  const frames = last - firstFrame + 1;
  if (frames < 2) return null;
  const at24 = (frames * 24) / fps;
  let warning = '';
  if (at24 < registersFrames) {
    warning = `Only ${frames} frames: an audience needs about ${Math.round((registersFrames * fps) / 24)} to take a pose in.`;
  } else if (at24 > deadFrames && rest.kind === 'hold') {
    warning = `${frames} frames without movement: past about ${Math.round((deadFrames * fps) / 24)} a puppet looks dead. Add a blink or a breath.`;
  }
  return { firstFrame, frames, fromSec: rest.startSec, toSec: rest.endSec, kind: rest.kind, warning };
}
