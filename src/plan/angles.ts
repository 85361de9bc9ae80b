import { type Hinge, hinges, type Joint } from '../base/joints.ts';
import type { PuppetMotion } from '../puppet/puppetMotion.ts';
import type { Timing } from '../timing/timing.ts';
import type { Motion } from '../track/motion.ts';
import type { FoundStanding } from './moves.ts';
import { heldExposures } from './poses.ts';

/** A hinge of the puppet at one exposure, as seen from the camera. NaN = nothing can be said. */
export interface HingeAngle {
  readonly exposure: number;
  readonly hinge: Hinge['name'];
  /** The angle between both limbs, 0 (folded) to 180 (straight). */
  readonly deg: number;
  /** Change from the exposure before; positive opens the hinge. NaN at exposure 0. */
  readonly changeDeg: number;
  /** What the hand is asked to do: a multiple of the smallest step in degrees, the remainder carried; 0 = leave it. NaN at exposure 0. */
  readonly roundedDeg: number;
}

/**
 * The angle at a hinge of the puppet in one frame (degrees, 0 to 180), NaN when one of its joints is unknown or two fall together. Arms and
 * legs against the body are measured from the line between shoulder and hip as the performer shows it: the puppet's body leans and
 * turns as the performer's does, while its shoulders and hips may be narrower.
 */
export function hingeDeg(motion: Motion, puppet: PuppetMotion, hinge: Hinge, frame: number): number {
  const limb = (to: Joint): readonly [number, number] => {
    const [from, end] = [puppet.paths.get(hinge.at), puppet.paths.get(to)];
    if (!from || !end) return [Number.NaN, Number.NaN];
    return [end.xMm[frame]! - from.xMm[frame]!, from.yMm[frame]! - end.yMm[frame]!];
  };
  const body = (to: Joint): readonly [number, number] => {
    const [from, end] = [motion.paths.get(hinge.at), motion.paths.get(to)];
    if (!from || !end) return [Number.NaN, Number.NaN];
    return [end.xPx[frame]! - from.xPx[frame]!, end.yPx[frame]! - from.yPx[frame]!];
  };
  const isAtBody = /Shoulder|Hip/.test(hinge.at) && /Shoulder|Hip/.test(hinge.a);
  const [ax, ay] = isAtBody ? body(hinge.a) : limb(hinge.a);
  const [bx, by] = limb(hinge.b);
  if (Math.hypot(ax, ay) === 0 || Math.hypot(bx, by) === 0) return Number.NaN;
  // atan2 of cross and dot product keeps its precision near 0 and 180 degrees, where acos loses it.
  return (Math.atan2(Math.abs(ax * by - ay * bx), ax * bx + ay * by) * 180) / Math.PI;
}

/**
 * Rounds a row of angles to changes that a hand can place: each change leads from where the hand left the hinge to the new
 * angle, so that after any number of exposures the hinge is right to half a step (outside held ones).
 * @param deg Shape [exposure]; NaN = unknown, after which the account starts anew.
 * @param found the angle at exposures where the puppet was found to stand otherwise: the account starts anew from it.
 */
export function roundAngles(
  deg: readonly number[],
  held: readonly boolean[],
  stepDeg: number,
  found: ReadonlyMap<number, number> = new Map(),
): number[] {
  let placed = Number.NaN;
  return deg.map((d, i) => {
    if (!Number.isFinite(d) || !Number.isFinite(placed)) {
      placed = found.get(i) ?? d;
      return Number.NaN;
    }
    const change = held[i] ? 0 : Math.round(Math.round((d - placed) / stepDeg) * stepDeg * 1e6) / 1e6;
    placed = found.get(i) ?? placed + change;
    return change + 0;
  });
}

/** All hinge angles of a shot: by exposure, for each the hinges in `hinges` order that have all three joints. */
export function planAngles(
  timing: Timing,
  puppet: PuppetMotion,
  standing: FoundStanding = { asked: puppet, at: new Set() },
): HingeAngle[] {
  const held = heldExposures(timing);
  const known = hinges.filter((h) => [h.a, h.at, h.b].every((j) => timing.motion.paths.has(j)));
  const rows = known.map((hinge) => {
    const frameOf = (i: number) => timing.exposures[i]!.firstFrame;
    const deg = timing.exposures.map((e) => hingeDeg(timing.motion, standing.asked, hinge, e.firstFrame));
    const found = new Map([...standing.at].map((i) => [i, hingeDeg(timing.motion, puppet, hinge, frameOf(i))]));
    return { hinge, deg, found, rounded: roundAngles(deg, held, puppet.profile.smallestStepDeg, found) };
  });
  return timing.exposures.flatMap((_, i) =>
    rows.map(({ hinge, deg, found, rounded }) => ({
      exposure: i,
      hinge: hinge.name,
      deg: deg[i]!,
      changeDeg: i === 0 ? Number.NaN : deg[i]! - (found.get(i - 1) ?? deg[i - 1]!),
      roundedDeg: rounded[i]!,
    })),
  );
}
