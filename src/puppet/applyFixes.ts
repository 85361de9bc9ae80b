import { keepApart } from './apart.ts';
import { findBalance } from './balance.ts';
import { arm, head, leg, shiftBody, turnAbout, turnOverKnee, upperBody } from './bodyTurns.ts';
import { fading, softFrames, spanOf, spread } from './fixSpan.ts';
import { rollFoot } from './footRoll.ts';
import { frameCountOf } from './hitch.ts';
import { jointAngleAt, type LimitedJoint } from './jointAngles.ts';
import { leanToReach } from './lean.ts';
import { soft } from './pieces.ts';
import type { LimitFix, OverFeetFix, PoseFix } from './poseFix.ts';
import { type PuppetJoint, type PuppetMotion, type PuppetPath, type Side, standsWithin } from './puppetMotion.ts';

/** Within so many degrees of its limit a joint is slowed down rather than stopped. */
const kneeDeg = 5;

/**
 * The motion with poses changed to what the puppet can do. Limbs keep their lengths, standing feet their places, and what hangs on a
 * joint goes along with it. What the body does comes before what its limbs do: hands that reach, joints, balance, limbs out of each
 * other's way; each in the order given.
 */
export function applyFixes(motion: PuppetMotion, fixes: readonly PoseFix[]): PuppetMotion {
  if (fixes.length === 0) return motion;
  const paths = new Map<PuppetJoint, PuppetPath>();
  for (const [joint, path] of motion.paths)
    paths.set(joint, { ...path, xMm: path.xMm.slice(), yMm: path.yMm.slice(), zMm: path.zMm.slice() });
  let fixed: PuppetMotion = { ...motion, paths };
  for (const fix of fixes) if (fix.kind === 'reach') fixed = { ...fixed, outOfReach: leanToReach(fixed, fix) };
  for (const fix of fixes) {
    if (fix.kind !== 'limit') continue;
    if (isOverStandingFoot(fixed, fix)) fixed = { ...fixed, planted: rollFoot(fixed, fix) };
    else keepLimit(fixed, fix);
  }
  for (const fix of fixes) if (fix.kind === 'overFeet') bringOverFeet(fixed, fix);
  for (const fix of fixes) if (fix.kind === 'apart') keepApart(fixed, fix);
  return fixed;
}

/** An ankle whose foot stands in the span: the foot rolls, for the whole of it. */
function isOverStandingFoot(motion: PuppetMotion, { joint, ...fix }: LimitFix): boolean {
  const span = joint.endsWith('Ankle') ? spanOf(motion, fix) : null;
  return span !== null && standsWithin(motion, joint.startsWith('left') ? 'left' : 'right', ...span);
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

/** How often the shift is made better: the centre of mass goes less far than the hips. */
const rounds = 12;

function bringOverFeet(motion: PuppetMotion, fix: OverFeetFix): void {
  const span = spanOf(motion, fix);
  if (!span) return;
  const [first, last] = span;
  for (let round = 0; round < rounds; round++) {
    const { outsideMm } = findBalance(motion);
    const needs = Array.from(outsideMm.subarray(first, last + 1), (mm) => -(mm || 0));
    const worst = needs.reduce((most, mm) => Math.max(most, Math.abs(mm)), 0);
    // A hair more than needed, or the last bit would take for ever.
    for (const [k, shift] of spread(needs, first, frameCountOf(motion)))
      if (shift !== 0) shiftBody(motion, k, shift * 1.05 + Math.sign(shift) * 1e-6);
    if (worst === 0) return;
  }
}
