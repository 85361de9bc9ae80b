import { findBalance } from './balance.ts';
import { frameCountOf } from './hitch.ts';
import { jointAngleAt, type LimitedJoint } from './jointAngles.ts';
import { reach } from './legs.ts';
import { standsWithin } from './limits.ts';
import { soft } from './pieces.ts';
import type { LimitFix, OverFeetFix, PoseFix } from './poseFix.ts';
import type { PuppetJoint, PuppetMotion, PuppetPath, Side } from './puppetMotion.ts';

/** A fix fades in and out over so many frames beside its span. */
const softFrames = 4;
/** Within so many degrees of its limit a joint is slowed down rather than stopped. */
const kneeDeg = 5;

const sides = ['left', 'right'] as const;

/**
 * The motion with poses changed to what the puppet can do. Limbs keep their lengths, standing feet their places, and what hangs on a
 * joint goes along with it. Joints first, then balance, each in the order given.
 */
export function applyFixes(motion: PuppetMotion, fixes: readonly PoseFix[]): PuppetMotion {
  if (fixes.length === 0) return motion;
  const paths = new Map<PuppetJoint, PuppetPath>();
  for (const [joint, path] of motion.paths)
    paths.set(joint, { ...path, xMm: path.xMm.slice(), yMm: path.yMm.slice(), zMm: path.zMm.slice() });
  const fixed: PuppetMotion = { ...motion, paths };
  for (const fix of fixes) if (fix.kind === 'limit') keepLimit(fixed, fix);
  for (const fix of fixes) if (fix.kind === 'overFeet') bringOverFeet(fixed, fix);
  return fixed;
}

/** First and last frame of a span; null = it lies outside the shot. */
function spanOf({ followed: { timesSec } }: PuppetMotion, { startSec, endSec }: PoseFix): [number, number] | null {
  const within = [...timesSec.keys()].filter((k) => timesSec[k]! >= startSec - 1e-6 && timesSec[k]! <= endSec + 1e-6);
  return within.length === 0 ? null : [within[0]!, within.at(-1)!];
}

/** 1 within a span, softly to 0 beside it. */
function fading(k: number, first: number, last: number): number {
  return soft(1 - Math.max(0, first - k, k - last) / softFrames);
}

/** The angle itself below the limit, and ever less beyond: it comes near the limit and never passes it. */
export function softlyLimited(deg: number, limitDeg: number): number {
  const begins = limitDeg - kneeDeg;
  return deg <= begins ? deg : limitDeg - kneeDeg * Math.exp(-(deg - begins) / kneeDeg);
}

function keepLimit(motion: PuppetMotion, fix: LimitFix): void {
  const span = spanOf(motion, fix);
  if (!span) return;
  const [first, last] = span;
  const [from, to] = [Math.max(0, first - softFrames), Math.min(frameCountOf(motion) - 1, last + softFrames)];
  const turns = new Float64Array(to - from + 1).fill(Number.NaN);
  for (let k = from; k <= to; k++) {
    const angle = jointAngleAt(motion, fix.joint, k);
    if (angle) turns[k - from] = fading(k, first, last) * (angle.turnTo(softlyLimited(angle.deg, angle.limitDeg)) || 0);
  }
  const known = [...turns.keys()].filter((i) => !Number.isNaN(turns[i]!));
  const side: Side = fix.joint.startsWith('left') ? 'left' : 'right';
  // One way for the whole span, or the pose would leap where the foot lands.
  const stands = fix.joint !== 'neck' && standsWithin(motion, side, from, to);
  for (let i = 0; i < turns.length; i++) {
    if (Number.isNaN(turns[i]!)) turns[i] = faded(turns, known, i);
    if (turns[i] !== 0) turnJoint(motion, fix.joint, side, from + i, turns[i]!, stands);
  }
}

/** Where the angle cannot be told for a moment: what the nearest frames had, fading. */
function faded(turns: Float64Array, known: readonly number[], i: number): number {
  const near = (of: number | undefined) =>
    of === undefined ? 0 : turns[of]! * soft(1 - Math.abs(of - i) / softFrames);
  const [before, after] = [near(known.findLast((k) => k < i)), near(known.find((k) => k > i))];
  return Math.abs(before) > Math.abs(after) ? before : after;
}

/** What hangs on a joint, from it outwards. */
const arm = (side: Side) => [`${side}Elbow`, `${side}Wrist`, `${side}Hand`] as const;
const leg = (side: Side) => [`${side}Knee`, `${side}Ankle`, `${side}Heel`, `${side}Toe`] as const;
const head: readonly PuppetJoint[] = ['nose', 'leftEye', 'rightEye', 'leftEar', 'rightEar', 'mouth', 'chin'];
const upperBody: readonly PuppetJoint[] = [
  'neck',
  'chest',
  ...head,
  ...sides.flatMap((side) => [`${side}Shoulder` as const, ...arm(side)]),
];

function turnJoint(
  motion: PuppetMotion,
  joint: LimitedJoint,
  side: Side,
  k: number,
  deg: number,
  stands: boolean,
): void {
  const turn = (centre: PuppetJoint, what: readonly PuppetJoint[]) => turnAbout(motion, centre, what, k, deg);
  switch (joint === 'neck' ? 'Neck' : joint.slice(side.length)) {
    case 'Neck':
      turn('neck', head);
      break;
    case 'Shoulder':
      turn(`${side}Shoulder`, arm(side));
      break;
    case 'Elbow':
      turn(`${side}Elbow`, arm(side).slice(1));
      break;
    case 'Wrist':
      turn(`${side}Wrist`, arm(side).slice(2));
      break;
    case 'Hip':
      // A leg that stands stays: the body gives way.
      if (stands) turnAbout(motion, 'pelvis', upperBody, k, -deg);
      else turn(`${side}Hip`, leg(side));
      break;
    case 'Knee':
      if (stands) turnOverKnee(motion, side, k, -deg);
      else turn(`${side}Knee`, leg(side).slice(1));
      break;
    default:
      if (!stands) turn(`${side}Ankle`, leg(side).slice(2));
  }
}

function turnAbout(motion: PuppetMotion, centre: PuppetJoint, what: readonly PuppetJoint[], k: number, deg: number) {
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
function turnOverKnee(motion: PuppetMotion, side: Side, k: number, deg: number): void {
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

/** A leg as it is in a frame. */
interface LegPose {
  readonly upper: readonly [number, number, number];
  readonly lower: readonly [number, number, number];
  readonly ankle: readonly [number, number];
}

function poseOfLeg({ paths }: PuppetMotion, side: Side, k: number): LegPose | null {
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

/** Bends a leg so that its foot is where it was before the hip moved. */
function standOn(motion: PuppetMotion, side: Side, k: number, was: LegPose): void {
  const { paths, profile } = motion;
  const [hip, knee, ankle] = [paths.get(`${side}Hip`)!, paths.get(`${side}Knee`)!, paths.get(`${side}Ankle`)!];
  const bent = reach([hip.xMm[k]!, hip.yMm[k]!], was.ankle, was, profile.sizes.thighMm, profile.sizes.shankMm, 1);
  [knee.xMm[k], knee.yMm[k], knee.zMm[k]] = [...bent.middle, bent.middleZ] as [number, number, number];
  [ankle.xMm[k], ankle.yMm[k], ankle.zMm[k]] = [...bent.end, bent.endZ] as [number, number, number];
}

/** How often the shift is made better: the centre of mass goes less far than the hips. */
const rounds = 12;

function bringOverFeet(motion: PuppetMotion, fix: OverFeetFix): void {
  const span = spanOf(motion, fix);
  if (!span) return;
  const [first, last] = span;
  const [from, to] = [Math.max(0, first - softFrames), Math.min(frameCountOf(motion) - 1, last + softFrames)];
  for (let round = 0; round < rounds; round++) {
    const { outsideMm } = findBalance(motion);
    let worst = 0;
    const need = (k: number) => (k < first || k > last ? 0 : -(outsideMm[k]! || 0));
    for (let k = from; k <= to; k++) {
      // The largest need around, fading: so the body sways there and back.
      let shift = 0;
      for (let j = Math.max(first, k - softFrames); j <= Math.min(last, k + softFrames); j++) {
        const part = need(j) * soft(1 - Math.abs(j - k) / softFrames);
        if (Math.abs(part) > Math.abs(shift)) shift = part;
      }
      worst = Math.max(worst, Math.abs(need(k)));
      // A hair more than needed, or the last bit would take for ever.
      if (shift !== 0) shiftBody(motion, k, shift * 1.05 + Math.sign(shift) * 1e-6);
    }
    if (worst === 0) return;
  }
}

/** Moves the body sideways; legs that stand keep their feet and bring the hips down where they are too short. */
function shiftBody(motion: PuppetMotion, k: number, x: number): void {
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
