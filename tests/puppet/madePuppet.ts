import type { Joint, Part } from '../../src/base/joints.ts';
import { realisticPuppet } from '../../src/puppet/builtIn.ts';
import type { PuppetProfile } from '../../src/puppet/profile.ts';
import type { Planted, PuppetJoint, PuppetMotion, PuppetPath } from '../../src/puppet/puppetMotion.ts';
import type { JointPath, Motion } from '../../src/track/motion.ts';

/** Places of joints, millimetres, y up. */
export type PuppetPose = Readonly<Partial<Record<PuppetJoint, readonly [number, number]>>>;

const turn = (deg: number): [number, number] => [Math.sin((deg * Math.PI) / 180), -Math.cos((deg * Math.PI) / 180)];

/** Angles of a puppet seen from its left side, facing right; 0 hangs, + forward; knees + back, elbows + forward. */
export interface SidePose {
  readonly trunkDeg?: number;
  readonly armDeg?: number;
  readonly elbowDeg?: number;
  readonly thighDeg?: number;
  readonly kneeDeg?: number;
}

/** A puppet from the side, both sides alike, its ankles where they are when it stands. */
export function fromTheSide(profile: PuppetProfile, pose: SidePose = {}): PuppetPose {
  const { sizes: s } = profile;
  const { trunkDeg = 0, armDeg = 0, elbowDeg = 0, thighDeg = 0, kneeDeg = 0 } = pose;
  const go = ([x, y]: readonly [number, number], deg: number, long: number): [number, number] => {
    const [dx, dy] = turn(deg);
    return [x + dx * long, y + dy * long];
  };
  const ankle: [number, number] = [0, s.ankleMm];
  const knee = go(ankle, thighDeg - kneeDeg + 180, s.shankMm);
  const pelvis = go(knee, thighDeg + 180, s.thighMm);
  const neck = go(pelvis, 180 - trunkDeg, s.trunkMm);
  const ear = go(neck, 180 - trunkDeg, s.neckMm + s.headMm / 2);
  const elbow = go(neck, armDeg - trunkDeg, s.upperArmMm);
  const wrist = go(elbow, armDeg - trunkDeg + elbowDeg, s.forearmMm);
  const hand = go(wrist, armDeg - trunkDeg + elbowDeg, s.handMm);
  const nose = go(ear, 90 - trunkDeg, s.headMm / 2);
  const sides = (['left', 'right'] as const).flatMap((side): [PuppetJoint, readonly [number, number]][] => [
    [`${side}Ear`, ear],
    [`${side}Shoulder`, neck],
    [`${side}Elbow`, elbow],
    [`${side}Wrist`, wrist],
    [`${side}Hand`, hand],
    [`${side}Hip`, pelvis],
    [`${side}Knee`, knee],
    [`${side}Ankle`, ankle],
    [`${side}Heel`, [-s.heelMm, 0]],
    [`${side}Toe`, [s.footMm - s.heelMm, 0]],
  ]);
  return { ...Object.fromEntries(sides), nose, neck, pelvis };
}

/** A motion through poses, one per frame; everything is seen surely and lies in the picture plane. */
export function madeMotion(
  poses: readonly PuppetPose[],
  { profile = realisticPuppet, ...given }: Partial<PuppetMotion> = {},
  sdMm = 0.1,
): PuppetMotion {
  const n = poses.length;
  const names = Object.keys(poses[0]!) as Joint[];
  const paths = new Map<PuppetJoint, PuppetPath>(
    names.map((joint) => [
      joint,
      {
        xMm: Float64Array.from(poses, (pose) => pose[joint]?.[0] ?? Number.NaN),
        yMm: Float64Array.from(poses, (pose) => pose[joint]?.[1] ?? Number.NaN),
        zMm: new Float64Array(n),
        sdMm: new Float64Array(n).fill(sdMm),
        guessed: new Uint8Array(n),
      },
    ]),
  );
  const planted = (['left', 'right'] as const).map((side): Planted => {
    const [xMm, yMm] = poses[0]![`${side}Ankle`]!;
    return { side, on: 'foot', firstFrame: 0, frames: n, xMm, yMm };
  });
  return {
    profile,
    followed: { timesSec: Float64Array.from(poses, (_, k) => k / 24), paths: new Map() },
    mmPerPx: 1,
    originPx: [0, 0],
    paths,
    planted,
    walks: [],
    legRatio: 1,
    feetSeen: true,
    unplanted: [],
    held: [],
    outOfReach: [],
    ...given,
  };
}

/** Angles of a puppet that faces the lens, or is turned away from it by `yawDeg`; arms out by `outDeg`. */
export interface FrontPose {
  readonly outDeg?: number;
  readonly yawDeg?: number;
}

/** A puppet that stands and faces the lens; turned about the vertical its widths shrink, its arms stay in the picture plane. */
export function fromTheFront(profile: PuppetProfile, { outDeg = 0, yawDeg = 0 }: FrontPose = {}): PuppetPose {
  const { sizes: s } = profile;
  const [wide, deep] = [Math.cos((yawDeg * Math.PI) / 180), Math.sin((yawDeg * Math.PI) / 180)];
  const hipY = s.ankleMm + s.shankMm + s.thighMm;
  const neckY = hipY + s.trunkMm;
  const earY = neckY + s.neckMm + s.headMm / 2;
  const sides = (['left', 'right'] as const).flatMap((side): [PuppetJoint, readonly [number, number]][] => {
    const sign = side === 'left' ? wide : -wide;
    const [ox, oy] = turn(outDeg);
    const out = Math.sign(sign) || 1;
    const x = (sign * s.shouldersMm) / 2;
    const arm = (mm: number) => [x + out * ox * mm, neckY + oy * mm] as const;
    const hip = (sign * s.hipsMm) / 2;
    return [
      [`${side}Ear`, [(sign * s.headWidthMm) / 2, earY]],
      [`${side}Shoulder`, [x, neckY]],
      [`${side}Elbow`, arm(s.upperArmMm)],
      [`${side}Wrist`, arm(s.upperArmMm + s.forearmMm)],
      [`${side}Hand`, arm(s.upperArmMm + s.forearmMm + s.handMm)],
      [`${side}Hip`, [hip, hipY]],
      [`${side}Knee`, [hip, s.ankleMm + s.shankMm]],
      [`${side}Ankle`, [hip, s.ankleMm]],
      [`${side}Heel`, [hip - deep * s.heelMm, 0]],
      [`${side}Toe`, [hip + deep * (s.footMm - s.heelMm), 0]],
    ];
  });
  return { ...Object.fromEntries(sides), nose: [deep * 0.46 * s.headMm, earY], neck: [0, neckY], pelvis: [0, hipY] };
}

/** The same pose in a mirrored picture, sides as they are. */
export function mirrored(pose: PuppetPose): PuppetPose {
  return Object.fromEntries(Object.entries(pose).map(([joint, at]) => [joint, [-at![0], at![1]] as const]));
}

/** The performer of the same poses, with the body of a person; pixels of 1.7 m in the picture = the height of the 1:6 puppet. */
export function performerOf(poses: readonly PuppetPose[]): Motion {
  const n = poses.length;
  const flat = (value: number) => new Float64Array(n).fill(value);
  const paths = new Map<Part, JointPath>(
    Object.keys(poses[0]!).map((joint) => [
      joint as Part,
      {
        xPx: Float64Array.from(poses, (pose) => pose[joint as 'nose']![0]),
        yPx: Float64Array.from(poses, (pose) => -pose[joint as 'nose']![1]),
        vxPx: flat(0),
        vyPx: flat(0),
        sdPx: flat(0.1),
        confidence: new Float32Array(n).fill(1),
        guessed: new Uint8Array(n),
      },
    ]),
  );
  return { timesSec: Float64Array.from(poses, (_, k) => k / 24), paths };
}
