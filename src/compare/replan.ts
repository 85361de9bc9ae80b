import { fpsOf } from '../base/frameRate.ts';
import type { Hitch } from '../puppet/hitch.ts';
import { findHitches } from '../puppet/hitches.ts';
import { shortArms, shortRuns } from '../puppet/outOfReach.ts';
import { standingHeightMm } from '../puppet/profile.ts';
import type { Planted, PuppetJoint, PuppetMotion, PuppetPath, Side } from '../puppet/puppetMotion.ts';
import { type CatchUp, planFrameFor } from './catchUp.ts';
import type { Comparison } from './compareShot.ts';
import { isOffTime, lateAt } from './keyTiming.ts';
import { columnAt, type JointPlaces } from './places.ts';
import { PoseOffsets } from './poseOffsets.ts';
import { type PlannedKey, type PlannedShot, type ShotPictures, usualFrames } from './shot.ts';
import { standsOf } from './standFindings.ts';

/** The remaining moves up to a key, from where the puppet is. */
export interface Replan {
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
  /** What the puppet may not be able to do of it, and could of the plan. */
  readonly hitches: readonly Hitch[];
}

/** A foot that stands beside its place by no more than this share of the height is on it: 1 mm of 250. */
const footShare = 0.004;

/**
 * Lays the moves anew from the last shot pose to the next key: the plan, as late as the shot is, plus what the pose is off by, both of
 * which go smoothly and are gone at the key. Velocity goes on as it was shot; limbs keep their lengths; standing feet stay where they
 * stand; hands that hold on keep their hold.
 * @param exposure index of the last one shot.
 * @returns null where no key comes after it, or the body was not registered ('none').
 */
export function replan(
  plan: PlannedShot,
  shot: ShotPictures,
  comparison: Comparison,
  exposure = shot.exposures.length - 1,
): Replan | null {
  const { registration, planFrame } = comparison;
  const shotAt = shot.exposures[exposure]!;
  const from = shotAt.firstFrame;
  const held = from + shotAt.frames - 1;
  const key = plan.keys.find((k) => k.frameIndex > held);
  if (!key || registration.kind === 'none') return null;
  const keyFrame = key.frameIndex;
  const { motion } = plan;
  const n = motion.followed.timesSec.length;
  const late = lateAt(comparison.warp, planFrame[exposure]!);
  const before = shot.exposures[exposure - 1];
  const isLate = isOffTime(late, usualFrames(shot.exposures)) && planFrame[exposure]! < keyFrame - 1;
  const catchUp: CatchUp = {
    fromFrame: from,
    fromPlan: isLate ? planFrame[exposure]! : from,
    speed: isLate && before ? (planFrame[exposure]! - planFrame[exposure - 1]!) / (from - before.firstFrame) : 1,
    keyFrame,
  };
  const planAt = (frame: number) => (isLate ? planFrameFor(catchUp, frame) : frame);
  const timed = isLate ? retimed(motion, held + 1, keyFrame, planAt) : motion;

  const last = poseAtExposure(registration.places, exposure);
  const pair = before && from - before.firstFrame <= 4 ? poseAtExposure(registration.places, exposure - 1) : null;
  const offsets = new PoseOffsets(timed, motion, {
    frame: from,
    planFrame: catchUp.fromPlan,
    pose: last,
    before:
      pair && before
        ? {
            pose: pair,
            planFrame: isLate ? planFrame[exposure - 1]! : before.firstFrame,
            frames: from - before.firstFrame,
          }
        : null,
  });
  const sizeMm = standingHeightMm(motion.profile);
  const feet = (['left', 'right'] as const).map((side) => {
    const stand = standsOf(timed.planted, side).find((s) => s.first <= from && s.last > held);
    return {
      side,
      stand,
      off: stand ? footOff(registration.places, motion, side, exposure, Math.round(catchUp.fromPlan), sizeMm) : null,
    };
  });
  const paths = copyOf(timed.paths);
  let lastFrame = keyFrame;
  const short: Record<Side, Float64Array> = { left: new Float64Array(n), right: new Float64Array(n) };
  for (const { stand, off } of feet)
    if (stand && off && off.size > 0 && stand.last >= keyFrame)
      lastFrame = Math.max(lastFrame, Math.min(n - 1, nextStand(stand.last)));
  for (let k = held + 1; k <= lastFrame; k++) {
    const footing = feet.map(({ side, stand, off }) => ({ side, ...footingAt(k, side, stand ?? null, off) }));
    const shortMm = offsets.pose(paths, k, k - from, keyFrame - from, footing);
    short.left[k] = shortMm.left;
    short.right[k] = shortMm.right;
  }
  const made: PuppetMotion = {
    ...timed,
    paths,
    planted: timed.planted.flatMap((run) => splitPlanted(run, held, feet)),
    outOfReach: [
      ...timed.outOfReach.filter(
        (o) => o.limb.endsWith('Leg') && (o.firstFrame > lastFrame || o.firstFrame + o.frames <= held),
      ),
      ...shortRuns('leftLeg', short.left),
      ...shortRuns('rightLeg', short.right),
      ...shortArms(paths, timed.held),
    ],
  };
  return {
    motion: made,
    firstFrame: held + 1,
    lastFrame,
    key,
    lateFrames: isLate ? from - planFrame[exposure]! : 0,
    feet: feet.flatMap(({ side, off }) => (off && off.size > 0 ? [{ side, offMm: off.size }] : [])),
    hitches: newHitches(made, motion, held + 1, lastFrame),
  };

  /** Frame by which a foot that was lifted at the end of a stand is where it was planned. */
  function nextStand(end: number): number {
    return end + Math.round(fpsOf(plan.rate) / 4);
  }

  /** Where an ankle is to be as against the plan; null = as the offsets of a swinging leg have it. */
  function footingAt(
    k: number,
    side: Side,
    stand: { readonly first: number; readonly last: number } | null,
    off: { readonly x: number; readonly y: number } | null,
  ): { stands: boolean; x: number; y: number; swingEnds: number } {
    const next = standsOf(timed.planted, side).find((s) => s.first > from && s.first > (stand?.last ?? -1));
    const swingEnds = Math.min(keyFrame, next?.first ?? keyFrame);
    if (!stand || !off) {
      const isDown = standsOf(timed.planted, side).some((s) => k >= s.first && k <= s.last && s.first > from);
      return { stands: isDown, x: 0, y: 0, swingEnds };
    }
    if (k <= stand.last) return { stands: true, x: off.x, y: off.y, swingEnds };
    // Lifted from beside its place it comes to where it was planned on its way.
    const until = Math.max(
      stand.last + 1,
      Math.min(next?.first ?? nextStand(stand.last), Math.max(keyFrame, nextStand(stand.last))),
    );
    const u = Math.min(1, (k - stand.last) / (until - stand.last));
    const left = 1 - u * u * u * (10 - 15 * u + 6 * u * u);
    return { stands: true, x: left * off.x, y: left * off.y, swingEnds };
  }
}

/** A measured pose, millimetres, y up, with standard deviations. */
export type MeasuredPose = ReadonlyMap<PuppetJoint, readonly [x: number, y: number, sd: number]>;

function poseAtExposure(places: JointPlaces, i: number): MeasuredPose {
  return new Map([...places.at].map(([joint, { x, y, sd }]) => [joint, [x[i]!, -y[i]!, sd[i]!] as const]));
}

function copyOf(paths: PuppetMotion['paths']): Map<PuppetJoint, PuppetPath> {
  return new Map(
    [...paths].map(([joint, path]) => [
      joint,
      { ...path, xMm: path.xMm.slice(), yMm: path.yMm.slice(), zMm: path.zMm.slice() },
    ]),
  );
}

/** The plan laid over other frames, from one of the shot's to before a key; feet and hands stand and hold when their plan does. */
function retimed(
  motion: PuppetMotion,
  from: number,
  keyFrame: number,
  planAt: (frame: number) => number,
): PuppetMotion {
  const paths = copyOf(motion.paths);
  for (const [joint, path] of motion.paths) {
    const to = paths.get(joint)!;
    for (let k = from; k < keyFrame; k++) {
      to.xMm[k] = columnAt(path.xMm, planAt(k));
      to.yMm[k] = columnAt(path.yMm, planAt(k));
      to.zMm[k] = columnAt(path.zMm, planAt(k));
    }
  }
  const moved = <T extends { readonly firstFrame: number; readonly frames: number }>(run: T): T[] => {
    const within = (f: number) => f >= run.firstFrame - 1e-6 && f <= run.firstFrame + run.frames - 1 + 1e-6;
    const frames: number[] = [];
    for (let k = 0; k < motion.followed.timesSec.length; k++)
      if (within(k >= from && k < keyFrame ? planAt(k) : k)) frames.push(k);
    return frames.length === 0 ? [] : [{ ...run, firstFrame: frames[0]!, frames: frames.at(-1)! - frames[0]! + 1 }];
  };
  for (const run of motion.planted) {
    const joints = { foot: ['Ankle', 'Heel', 'Toe'], heel: ['Heel'], toe: ['Toe'] } as const;
    for (const part of joints[run.on]) {
      const [was, to] = [motion.paths.get(`${run.side}${part}`), paths.get(`${run.side}${part}`)];
      if (!was || !to) continue;
      // What stands does not move by a hair, though curves between frames would bend before it is lifted.
      for (const { firstFrame, frames } of moved(run))
        for (let k = Math.max(from, firstFrame); k < Math.min(keyFrame, firstFrame + frames); k++) {
          to.xMm[k] = was.xMm[run.firstFrame]!;
          to.yMm[k] = was.yMm[run.firstFrame]!;
        }
    }
  }
  return { ...motion, paths, planted: motion.planted.flatMap(moved), held: motion.held.flatMap(moved) };
}

/** How far a standing foot is from where it was planned; 0 where it is within what can be placed, and told. Millimetres, y up. */
function footOff(
  places: JointPlaces,
  { paths }: PuppetMotion,
  side: Side,
  exposure: number,
  frame: number,
  sizeMm: number,
): { x: number; y: number; size: number } {
  let [x, y, sd, count] = [0, 0, 0, 0];
  for (const joint of [`${side}Ankle`, `${side}Heel`, `${side}Toe`] as const) {
    const [seen, planned] = [places.at.get(joint), paths.get(joint)];
    if (!seen || !planned || Number.isNaN(seen.x[exposure]! + planned.xMm[frame]!)) continue;
    x += seen.x[exposure]! - planned.xMm[frame]!;
    y += -seen.y[exposure]! - planned.yMm[frame]!;
    sd += seen.sd[exposure]!;
    count++;
  }
  if (count === 0) return { x: 0, y: 0, size: 0 };
  [x, y, sd] = [x / count, y / count, sd / count];
  const size = Math.hypot(x, y);
  return size > footShare * sizeMm && size > (3 * sd) / Math.sqrt(count) ? { x, y, size } : { x: 0, y: 0, size: 0 };
}

/** A run on which a foot stands on beside its place, from what was shot on. */
function splitPlanted(
  run: Planted,
  held: number,
  feet: readonly {
    readonly side: Side;
    readonly stand: { readonly first: number; readonly last: number } | undefined;
    readonly off: { readonly x: number; readonly y: number; readonly size: number } | null;
  }[],
): Planted[] {
  const foot = feet.find((f) => f.side === run.side);
  const end = run.firstFrame + run.frames;
  if (!foot?.stand || !foot.off || foot.off.size === 0 || end <= held + 1 || run.firstFrame > foot.stand.last)
    return [run];
  const first = Math.max(run.firstFrame, held + 1);
  const moved: Planted = {
    ...run,
    firstFrame: first,
    frames: end - first,
    xMm: run.xMm + foot.off.x,
    yMm: run.yMm + foot.off.y,
  };
  return first > run.firstFrame ? [{ ...run, frames: first - run.firstFrame }, moved] : [moved];
}

/** Hitches that the plan did not have in these frames. */
function newHitches(made: PuppetMotion, plan: PuppetMotion, first: number, last: number): Hitch[] {
  const known = findHitches(plan).hitches;
  return findHitches(made).hitches.filter(
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
