import type { Joint } from '../base/joints.ts';
import type { HandContact } from '../track/handContact.ts';
import type { JointPath, Motion } from '../track/motion.ts';
import { putArm } from './arm.ts';
import { putBody } from './body.ts';
import { findStands } from './feet.ts';
import { directionOf } from './foot.ts';
import { groundHeights } from './ground.ts';
import { hangLeg, putLeg } from './leg.ts';
import { shortArms, shortRuns } from './outOfReach.ts';
import { measurePerformer, type PerformerLengths } from './performer.ts';
import { type PlaneTrack, pieceOnPuppet } from './pieces.ts';
import { Places } from './places.ts';
import { type PuppetProfile, standingHeightMm } from './profile.ts';
import type { FrameRun, Held, OutOfReach, PuppetMotion, Side, StepPlan } from './puppetMotion.ts';
import { carryRoot } from './root.ts';
import { plantedOf, standingsOf, standingTargets } from './standing.ts';
import { findWalks, withStepsForGround } from './steps.ts';
import { putTail } from './tail.ts';
import { findUnplanted, type Unplanted } from './unplanted.ts';
import { bringWithinReach } from './withinReach.ts';

/** Who is to be brought onto the puppet. */
export interface Performer {
  /** Standing height in the picture, pixels. */
  readonly heightPx: number;
  /** True lengths of the limbs, pixels; null = measured over the motion itself. */
  readonly lengths: PerformerLengths | null;
}

/** What the animator has decided about it. */
export interface RetargetChoices {
  /** Frames a second of the shot. */
  readonly fps: number;
  /** Legs of other length: as many steps as the performer, or as many as the same ground takes. */
  readonly steps: StepPlan;
  readonly handContacts: readonly HandContact[];
  /** Marked points that the tail follows, from the body outwards, one more than it has pieces; null = it hangs. Pixels. */
  readonly tail: readonly JointPath[] | null;
}

const sides = ['left', 'right'] as const;
/** The weight goes from one foot to the other within this time, seconds; a hand comes off a thing within the same. */
const shiftSec = 6 / 24;
/** The hips are moved by at most this share of the height so that knees keep their bend; further, and the knees give. */
const mostShift = 0.02;

/**
 * Brings a performer's motion onto a puppet: each limb keeps its angle in the picture and how far it points out of it, and has the
 * puppet's own length in space. Standing feet stand still to the last digit (legs bend to suit, the hips move), hands keep the place of
 * a contact. Frames are the motion's; in the set's millimetres y = 0 is the floor line.
 */
export function retarget(
  filmed: Motion,
  performer: Performer,
  profile: PuppetProfile,
  choices: RetargetChoices,
): PuppetMotion {
  const made = bring(filmed, performer, profile, choices, []);
  if (choices.steps !== 'sameGround' || made.walks.length === 0) return made;
  // How far quicker steps go on these legs is seen only once they are done.
  const strides = made.walks.map((walk) => walk.groundMm / wayOf(made, walk));
  return bring(filmed, performer, profile, choices, strides);
}

/** How far the hips go in a stretch of frames, millimetres. */
function wayOf({ paths }: PuppetMotion, { firstFrame, frames }: FrameRun): number {
  const { xMm, yMm } = paths.get('pelvis')!;
  const last = firstFrame + frames;
  return Math.hypot(xMm[last]! - xMm[firstFrame]!, yMm[last]! - yMm[firstFrame]!);
}

/** @param strides by how much those of each walk are to be longer yet; one for each, or none = as they come. */
function bring(
  filmed: Motion,
  performer: Performer,
  profile: PuppetProfile,
  choices: RetargetChoices,
  strides: readonly number[],
): PuppetMotion {
  const n = filmed.timesSec.length;
  const { heightPx } = performer;
  const { sizes } = profile;
  const mmPerPx = standingHeightMm(profile) / heightPx;
  const truePx = performer.lengths ?? measurePerformer(filmed, heightPx);
  const legRatio = legScale(sizes, truePx) / mmPerPx;
  const found = findStands(filmed, heightPx);
  const walks = findWalks(filmed, found, heightPx, choices.fps, legRatio, mmPerPx);
  const { motion, stands } =
    choices.steps === 'sameGround' && walks.length > 0
      ? withStepsForGround(filmed, found, heightPx, choices.fps, legRatio, strides)
      : { motion: filmed, stands: found };
  const piece = (from: Joint, to: Joint, mm: number, name: keyof PerformerLengths) =>
    pieceOnPuppet(motion, from, to, mm, truePx[name]);
  const hips = piece('rightHip', 'leftHip', sizes.hipsMm, 'hips');
  const shoulders = piece('rightShoulder', 'leftShoulder', sizes.shouldersMm, 'shoulders');
  const trunk = piece('pelvis', 'neck', sizes.trunkMm, 'trunk');
  const shiftFrames = Math.max(1, shiftSec * choices.fps);

  const legs = bothSides((side) => {
    const thigh = piece(`${side}Hip`, `${side}Knee`, sizes.thighMm, `${side}Thigh`);
    const shank = piece(`${side}Knee`, `${side}Ankle`, sizes.shankMm, `${side}Shank`);
    const foot = piece(`${side}Heel`, `${side}Toe`, 1, `${side}Foot`);
    return hangLeg(side, hips, thigh, shank, foot, sizes);
  });
  const standings = bothSides((side) =>
    standingsOf(stands[side], (k) => directionOf(legs[side].foot, k), sizes).filter(
      (s) => !Number.isNaN(legs[side].chain.x[s.first]!),
    ),
  );
  const pelvisPath = motion.paths.get('pelvis');
  const unplanted = findUnplanted(motion, stands, heightPx);
  const root = carryRoot({
    pelvis: carriedPelvis(pelvisPath, unplanted, mmPerPx, legScale(sizes, truePx) || mmPerPx),
    chain: bothSides((side) => legs[side].chain),
    standings,
    heights: groundHeights(motion, standings, legScale(sizes, truePx) || mmPerPx),
    shiftFrames,
    sizes,
  });

  /** Where each ankle is to be while its foot stands. Shape [frame]; NaN elsewhere. */
  const targets = bothSides((side) => standingTargets(standings[side], root.places, n));
  const feet = sides.map((side) => ({ ...legs[side], target: targets[side] }));
  bringWithinReach(root, feet, sizes.thighMm + sizes.shankMm, mostShift * standingHeightMm(profile));

  const made = new Places(n);
  const outOfReach: OutOfReach[] = [];
  const held: Held[] = [];
  putBody(made, root, hips, trunk, shoulders, motion, heightPx, sizes);
  for (const side of sides) {
    const leg = putLeg(made, side, legs[side], targets[side], standings[side], root, profile);
    outOfReach.push(...shortRuns(`${side}Leg`, leg));
    held.push(...putArm(made, motion, side, sizes, truePx, choices.handContacts, choices.fps, shiftFrames));
  }
  putTail(made, profile, choices.tail, n);

  const planted = sides
    .flatMap((side) => standings[side].flatMap((s) => plantedOf(side, s, root.places)))
    .sort((a, b) => a.firstFrame - b.firstFrame);
  const feetSeen = sides.some((side) => legs[side].chain.x.some((v) => !Number.isNaN(v)));
  held.sort((a, b) => a.firstFrame - b.firstFrame);
  const paths = made.paths(motion, mmPerPx);
  return {
    profile,
    followed: motion,
    mmPerPx,
    originPx: [(pelvisPath?.xPx[0] ?? 0) - root.x[0]! / mmPerPx, (pelvisPath?.yPx[0] ?? 0) + root.y[0]! / mmPerPx],
    paths,
    planted,
    held,
    walks,
    legRatio,
    feetSeen,
    unplanted: feetSeen ? unplanted : [],
    outOfReach: [...outOfReach, ...shortArms(paths, held)],
  };
}

/**
 * The performer's pelvis in the puppet's millimetres: it goes as far as the puppet's legs take it over the ground, and at the scale of
 * the standing height in the air, so that what falls falls rightly.
 */
function carriedPelvis(
  path: JointPath | undefined,
  unplanted: readonly Unplanted[],
  mmPerPx: number,
  legMmPerPx: number,
): PlaneTrack {
  const n = path?.xPx.length ?? 0;
  const [x, y] = [new Float64Array(n).fill(Number.NaN), new Float64Array(n).fill(Number.NaN)];
  const isCarried = (k: number) =>
    !unplanted.some((run) => run.how === 'air' && k >= run.firstFrame && k < run.firstFrame + run.frames);
  let last = -1;
  for (let k = 0; k < n; k++) {
    const [px, py] = [path?.xPx[k] ?? Number.NaN, path?.yPx[k] ?? Number.NaN];
    if (Number.isNaN(px + py)) continue;
    const scale = isCarried(k - 1) && isCarried(k) ? legMmPerPx : mmPerPx;
    x[k] = last < 0 ? px * mmPerPx : x[last]! + (px - path!.xPx[last]!) * scale;
    y[k] = last < 0 ? -py * mmPerPx : y[last]! - (py - path!.yPx[last]!) * scale;
    last = k;
  }
  return { x, y };
}

/** Puppet millimetres for a picture pixel of the performer's legs; NaN where no leg was seen. */
function legScale({ thighMm, shankMm }: PuppetProfile['sizes'], { leftThigh, leftShank }: PerformerLengths): number {
  return (thighMm + shankMm) / (leftThigh + leftShank);
}

function bothSides<T>(of: (side: Side) => T): Record<Side, T> {
  return { left: of('left'), right: of('right') };
}
