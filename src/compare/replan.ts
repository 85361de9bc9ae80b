import { fpsOf } from '../base/frameRate.ts';
import type { Hitch } from '../puppet/hitch.ts';
import { findHitches } from '../puppet/hitches.ts';
import { shortArms, shortRuns } from '../puppet/outOfReach.ts';
import { standingHeightMm } from '../puppet/profile.ts';
import type { PuppetJoint, PuppetMotion, Side } from '../puppet/puppetMotion.ts';
import type { Hold } from '../timing/timing.ts';
import { type CatchUp, planFrameFor } from './catchUp.ts';
import { type FootThere, feetThere, movePlanted } from './offFeet.ts';
import { type Footing, type MeasuredPose, PoseOffsets } from './poseOffsets.ts';
import { copyOf, retimed } from './retimedMotion.ts';
import type { PlannedKey, PlannedShot } from './shot.ts';
import type { Stance, StancePlace } from './stance.ts';
import { standsOf } from './standFindings.ts';

/** What of a planned shot its moves are laid anew from. */
export type Replannable = Pick<PlannedShot, 'motion' | 'rate' | 'keys' | 'holds'>;

/** The remaining moves up to a key, from where the puppet is. */
export interface Replan {
  readonly stance: Stance;
  /** The shot with its frames after the last shot one laid anew; up to that frame and after the key it is the plan as it was. */
  readonly motion: PuppetMotion;
  /** First and last frame that were laid anew. A foot that stands beside its place stays there until it is lifted, past the key if need be. */
  readonly firstFrame: number;
  readonly lastFrame: number;
  readonly key: PlannedKey;
  /** By how many frames the shot was late, and catches up; 0 = it is on time. */
  readonly lateFrames: number;
  /** Standing feet that are not where they were planned, and stay. */
  readonly feet: readonly { readonly side: Side; readonly offMm: number }[];
  /** The puppet as it stands at the last shot exposure, its limbs at their lengths: millimetres, y up, z out of the picture plane. */
  readonly standing: ReadonlyMap<PuppetJoint, readonly [x: number, y: number, z: number]>;
  readonly feetThere: readonly FootThere[];
}

/**
 * The keys that moves may be laid to from a stance, rising; and which one is meant where nothing else is said: the next key. A breakdown
 * is a pose on the way: to be right there at once would take a leap that the eye sees, while the key is what tells the shot.
 * Where none but breakdowns follow, the next of them.
 */
export function keysAhead<K extends PlannedKey>(
  keys: readonly K[],
  { firstFrame, frames }: Pick<Stance, 'firstFrame' | 'frames'>,
): { readonly all: readonly K[]; readonly usual: K | null } {
  const all = keys.filter((k) => k.frameIndex >= firstFrame + frames);
  return { all, usual: all.find((k) => k.kind === 'key') ?? all[0] ?? null };
}

/**
 * Lays the moves anew from where the puppet stands to a key: the plan, as late as the shot is, plus what the pose is off by, both of
 * which go smoothly and are gone at the key. Velocity goes on as it was shot; limbs keep their lengths; standing feet stay where they
 * stand; hands that hold on keep their hold; in a hold nothing moves, and what is off waits for its end.
 * @param key one behind the stance.
 */
export function replanFrom(plan: Replannable, stance: Stance, key: PlannedKey): Replan {
  const from = stance.firstFrame;
  const held = from + stance.frames - 1;
  const keyFrame = key.frameIndex;
  const { motion } = plan;
  const n = motion.followed.timesSec.length;
  const { before } = stance;
  const isLate = stance.planFrame !== from && stance.planFrame < keyFrame - 1;
  const catchUp: CatchUp = {
    fromFrame: from,
    fromPlan: isLate ? stance.planFrame : from,
    speed: isLate && before ? (stance.planFrame - before.planFrame) / before.frames : 1,
    keyFrame,
  };
  const timed = isLate ? retimed(motion, held + 1, keyFrame, (frame) => planFrameFor(catchUp, frame)) : motion;
  // Of a shot that is late nobody knows when its holds will be.
  const clock = movingFrames(isLate ? [] : plan.holds, from, keyFrame);
  const isMoving = clock(held + 1) > 0;
  const measured = {
    planFrame: catchUp.fromPlan,
    pose: measuredPose(stance.pose),
    before:
      before && isMoving
        ? {
            pose: measuredPose(before.pose),
            planFrame: isLate ? before.planFrame : from - before.frames,
            frames: before.frames,
          }
        : null,
  };
  const sizeMm = standingHeightMm(motion.profile);
  const feet = feetThere(timed.planted, from, held, measured.pose, motion, catchUp.fromPlan, sizeMm);
  const offsets = new PoseOffsets(timed, motion, measured);
  const paths = copyOf(timed.paths);
  let lastFrame = keyFrame;
  const short: Record<Side, Float64Array> = { left: new Float64Array(n), right: new Float64Array(n) };
  for (const { stand, off } of feet)
    if (stand && off.size > 0 && stand.last >= keyFrame)
      lastFrame = Math.max(lastFrame, Math.min(n - 1, nextStand(stand.last)));
  for (let k = held + 1; k <= lastFrame; k++) {
    const shortMm = offsets.pose(
      paths,
      k,
      clock(k),
      clock(keyFrame),
      feet.map((foot) => footingAt(k, foot)),
    );
    short.left[k] = shortMm.left;
    short.right[k] = shortMm.right;
  }
  let { planted } = timed;
  for (const { side, stand, off } of feet)
    if (stand && off.size > 0) planted = movePlanted(planted, side, held + 1, stand.last, off);
  return {
    stance,
    motion: {
      ...timed,
      paths,
      planted,
      outOfReach: [
        ...timed.outOfReach.filter(
          (o) => o.limb.endsWith('Leg') && (o.firstFrame > lastFrame || o.firstFrame + o.frames <= held),
        ),
        ...shortRuns('leftLeg', short.left),
        ...shortRuns('rightLeg', short.right),
        ...shortArms(paths, timed.held),
      ],
    },
    firstFrame: held + 1,
    lastFrame,
    key,
    lateFrames: isLate ? from - stance.planFrame : 0,
    feet: feet.flatMap(({ side, off }) => (off.size > 0 ? [{ side, offMm: off.size }] : [])),
    standing: standingPose(),
    feetThere: feet,
  };

  /** The plan's pose with all of its offset, as the puppet stands now. */
  function standingPose(): Replan['standing'] {
    const shown = isLate ? retimed(motion, from, from + 1, () => catchUp.fromPlan) : motion;
    const there = copyOf(shown.paths);
    const all = new PoseOffsets(shown, motion, measured);
    all.pose(
      there,
      from,
      0,
      1,
      feet.map((foot) => footingAt(from, foot)),
    );
    return new Map([...there].map(([joint, { xMm, yMm, zMm }]) => [joint, [xMm[from]!, yMm[from]!, zMm[from]!]]));
  }

  /** Frame by which a foot that was lifted at the end of a stand is where it was planned. */
  function nextStand(end: number): number {
    return end + Math.round(fpsOf(plan.rate) / 4);
  }

  /** Where an ankle is to be as against the plan, or how far its leg's swing has come. */
  function footingAt(k: number, { side, stand, off }: FootThere): Footing {
    const next = standsOf(timed.planted, side).find((s) => s.first > from && s.first > (stand?.last ?? -1));
    const swing = { at: clock(k), ends: clock(Math.min(keyFrame, next?.first ?? keyFrame)) };
    if (!stand) {
      const isDown = standsOf(timed.planted, side).some((s) => k >= s.first && k <= s.last && s.first > from);
      return { side, stands: isDown, x: 0, y: 0, swing };
    }
    if (k <= stand.last) return { side, stands: true, x: off.x, y: off.y, swing };
    // Lifted from beside its place it comes to where it was planned on its way.
    const until = Math.max(
      stand.last + 1,
      Math.min(next?.first ?? nextStand(stand.last), Math.max(keyFrame, nextStand(stand.last))),
    );
    const u = Math.min(1, (k - stand.last) / (until - stand.last));
    const left = 1 - u * u * u * (10 - 15 * u + 6 * u * u);
    return { side, stands: true, x: left * off.x, y: left * off.y, swing };
  }
}

/** A motion with the puppet as it really stands at exposures that were shot, which the moves after them lead away from. */
export function standThere(motion: PuppetMotion, replans: readonly Replan[]): PuppetMotion {
  if (replans.length === 0) return motion;
  const paths = copyOf(motion.paths);
  let { planted } = motion;
  for (const { stance, standing, feetThere: feet } of replans) {
    const end = Math.min(stance.firstFrame + stance.frames, motion.followed.timesSec.length);
    for (const [joint, [x, y, z]] of standing) {
      const path = paths.get(joint);
      path?.xMm.fill(x, stance.firstFrame, end);
      path?.yMm.fill(y, stance.firstFrame, end);
      path?.zMm.fill(z, stance.firstFrame, end);
    }
    for (const { side, off } of feet)
      if (off.size > 0) planted = movePlanted(planted, side, stance.firstFrame, end - 1, off);
  }
  return { ...motion, paths, planted };
}

/** How many frames since `from` something moves: in a hold nothing does, unless the key to be met lies within it. */
function movingFrames(holds: readonly Hold[], from: number, keyFrame: number): (frame: number) => number {
  const still = holds.filter((h) => {
    const last = h.firstFrame + h.frames - 1;
    return h.kind === 'hold' && last > from && !(h.firstFrame < keyFrame && keyFrame <= last);
  });
  return (frame) => {
    let count = Math.max(0, frame - from);
    for (const { firstFrame, frames } of still)
      count -= Math.max(0, Math.min(frame, firstFrame + frames - 1) - Math.max(from, firstFrame));
    return count;
  };
}

function measuredPose(places: readonly StancePlace[]): MeasuredPose {
  return new Map(places.map(({ joint, xMm, yMm, sdMm }) => [joint, [xMm, yMm, sdMm] as const]));
}

/** What the puppet may not be able to do of the moves laid anew, and could of the plan. */
export function newHitches(again: Replan, plan: PuppetMotion): Hitch[] {
  const { firstFrame: first, lastFrame: last } = again;
  const known = findHitches(plan).hitches;
  return findHitches(again.motion).hitches.filter(
    (h) =>
      h.firstFrame <= last &&
      h.firstFrame + h.frames > first &&
      !known.some(
        (k) =>
          k.kind === h.kind &&
          k.part === h.part &&
          k.firstFrame < h.firstFrame + h.frames + 2 &&
          h.firstFrame < k.firstFrame + k.frames + 2 &&
          k.worst > 0.8 * h.worst - 0.5,
      ),
  );
}
