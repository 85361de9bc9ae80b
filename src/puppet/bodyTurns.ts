import { reach } from './legs.ts';
import { type Held, type PuppetJoint, type PuppetMotion, type Side, standsWithin } from './puppetMotion.ts';

const sides = ['left', 'right'] as const;

/** What hangs on a shoulder, from it outwards. */
export const arm = (side: Side) => [`${side}Elbow`, `${side}Wrist`, `${side}Hand`] as const;
/** What hangs on a hip, from it outwards. */
export const leg = (side: Side) => [`${side}Knee`, `${side}Ankle`, `${side}Heel`, `${side}Toe`] as const;
/** What hangs on the neck. */
export const head: readonly PuppetJoint[] = ['nose', 'leftEye', 'rightEye', 'leftEar', 'rightEar', 'mouth', 'chin'];
/** What hangs on the hips upwards. */
export const upperBody: readonly PuppetJoint[] = [
  'neck',
  'chest',
  ...head,
  ...sides.flatMap((side) => [`${side}Shoulder` as const, ...arm(side)]),
];

/** Turns joints about one of them in a frame, degrees anticlockwise in the picture. Changes the paths. */
export function turnAbout(
  motion: PuppetMotion,
  centre: PuppetJoint,
  what: readonly PuppetJoint[],
  k: number,
  deg: number,
) {
  const about = motion.paths.get(centre);
  if (!about) return;
  const [c, s] = [Math.cos((deg * Math.PI) / 180), Math.sin((deg * Math.PI) / 180)];
  for (const joint of what) {
    const path = motion.paths.get(joint);
    if (!path) continue;
    const [dx, dy] = [path.xMm[k]! - about.xMm[k]!, path.yMm[k]! - about.yMm[k]!];
    path.xMm[k] = about.xMm[k]! + c * dx - s * dy;
    path.yMm[k] = about.yMm[k]! + s * dx + c * dy;
  }
}

/** The thigh turns about a knee whose foot stands, and the body goes where the hip does; the other foot stays where it is. */
export function turnOverKnee(motion: PuppetMotion, side: Side, k: number, deg: number): void {
  const [knee, hip] = [motion.paths.get(`${side}Knee`), motion.paths.get(`${side}Hip`)];
  if (!knee || !hip) return;
  const [c, s] = [Math.cos((deg * Math.PI) / 180), Math.sin((deg * Math.PI) / 180)];
  const [dx, dy] = [hip.xMm[k]! - knee.xMm[k]!, hip.yMm[k]! - knee.yMm[k]!];
  const [x, y] = [knee.xMm[k]! + c * dx - s * dy - hip.xMm[k]!, knee.yMm[k]! + s * dx + c * dy - hip.yMm[k]!];
  const other = side === 'left' ? 'right' : 'left';
  const otherLeg = poseOfLeg(motion, other, k);
  moveBody(motion, k, x, y);
  if (otherLeg) standOn(motion, other, k, otherLeg);
}

/** Bends an arm so that its wrist is where the hand holds on; the hand keeps its direction. Changes the paths. */
export function holdOn({ paths, profile }: PuppetMotion, side: Side, k: number, { xMm, yMm }: Held): void {
  const joints = [`${side}Shoulder`, `${side}Elbow`, `${side}Wrist`] as const;
  const [shoulder, elbow, wrist] = joints.map((joint) => paths.get(joint));
  if (!shoulder || !elbow || !wrist) return;
  const pose = {
    upper: [elbow.xMm[k]! - shoulder.xMm[k]!, elbow.yMm[k]! - shoulder.yMm[k]!, elbow.zMm[k]!],
    lower: [wrist.xMm[k]! - elbow.xMm[k]!, wrist.yMm[k]! - elbow.yMm[k]!, wrist.zMm[k]!],
  } as const;
  const { upperArmMm, forearmMm } = profile.sizes;
  const bent = reach([shoulder.xMm[k]!, shoulder.yMm[k]!], [xMm, yMm], pose, upperArmMm, forearmMm, 1);
  const hand = paths.get(`${side}Hand`);
  if (hand) {
    hand.xMm[k]! += bent.end[0] - wrist.xMm[k]!;
    hand.yMm[k]! += bent.end[1] - wrist.yMm[k]!;
  }
  [elbow.xMm[k], elbow.yMm[k], elbow.zMm[k]] = [...bent.middle, bent.middleZ] as [number, number, number];
  [wrist.xMm[k], wrist.yMm[k], wrist.zMm[k]] = [...bent.end, bent.endZ] as [number, number, number];
}

/** A leg as it is in a frame. */
export interface LegPose {
  readonly upper: readonly [number, number, number];
  readonly lower: readonly [number, number, number];
  readonly ankle: readonly [number, number];
}

/** A leg in a frame; null where it is not known. */
export function poseOfLeg({ paths }: PuppetMotion, side: Side, k: number): LegPose | null {
  const [hip, knee, ankle] = [paths.get(`${side}Hip`), paths.get(`${side}Knee`), paths.get(`${side}Ankle`)];
  if (!hip || !knee || !ankle || Number.isNaN(hip.xMm[k]! + knee.xMm[k]! + ankle.xMm[k]!)) return null;
  return {
    upper: [knee.xMm[k]! - hip.xMm[k]!, knee.yMm[k]! - hip.yMm[k]!, knee.zMm[k]!],
    lower: [ankle.xMm[k]! - knee.xMm[k]!, ankle.yMm[k]! - knee.yMm[k]!, ankle.zMm[k]!],
    ankle: [ankle.xMm[k]!, ankle.yMm[k]!],
  };
}

/** Everything but the legs below the hips. */
function moveBody({ paths }: PuppetMotion, k: number, x: number, y: number): void {
  for (const [joint, path] of paths) {
    if (/Knee|Ankle|Heel|Toe/.test(joint)) continue;
    path.xMm[k]! += x;
    path.yMm[k]! += y;
  }
}

/** Bends a leg so that its ankle is where `was` says, from where the hip is. Changes the paths. */
export function standOn(motion: PuppetMotion, side: Side, k: number, was: LegPose): void {
  const { paths, profile } = motion;
  const [hip, knee, ankle] = [paths.get(`${side}Hip`)!, paths.get(`${side}Knee`)!, paths.get(`${side}Ankle`)!];
  const bent = reach([hip.xMm[k]!, hip.yMm[k]!], was.ankle, was, profile.sizes.thighMm, profile.sizes.shankMm, 1);
  [knee.xMm[k], knee.yMm[k], knee.zMm[k]] = [...bent.middle, bent.middleZ] as [number, number, number];
  [ankle.xMm[k], ankle.yMm[k], ankle.zMm[k]] = [...bent.end, bent.endZ] as [number, number, number];
}

/** Moves the body sideways; legs that stand keep their feet and bring the hips down where they are too short. */
export function shiftBody(motion: PuppetMotion, k: number, x: number): void {
  const legs = sides.map((side) => ({
    side,
    pose: poseOfLeg(motion, side, k),
    stands: standsWithin(motion, side, k, k),
  }));
  moveBody(motion, k, x, 0);
  const legMm = motion.profile.sizes.thighMm + motion.profile.sizes.shankMm;
  const hipOf = (side: Side) => motion.paths.get(`${side}Hip`);
  const low = Math.min(
    0,
    ...legs.flatMap(({ side, pose, stands }) => {
      const hip = hipOf(side);
      if (!stands || !pose || !hip) return [];
      const beside = Math.min(legMm, Math.abs(pose.ankle[0] - hip.xMm[k]!));
      return [Math.sqrt(legMm ** 2 - beside ** 2) - (hip.yMm[k]! - pose.ankle[1])];
    }),
  );
  moveBody(motion, k, 0, low);
  for (const { side, pose, stands } of legs) {
    if (stands && pose) standOn(motion, side, k, pose);
    else
      for (const joint of leg(side)) {
        const path = motion.paths.get(joint);
        if (!path) continue;
        path.xMm[k]! += x;
        path.yMm[k]! += low;
      }
  }
}
