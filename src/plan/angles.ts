import { type Hinge, hinges } from '../base/joints.ts';
import type { Timing } from '../timing/timing.ts';
import type { Motion } from '../track/motion.ts';
import { heldExposures } from './poses.ts';

/** A hinge at one exposure, as seen from the camera. NaN = nothing can be said. */
export interface HingeAngle {
  readonly exposure: number;
  readonly hinge: Hinge['name'];
  /** The angle between both limbs, 0 (folded) to 180 (straight). */
  readonly deg: number;
  /** Change from the exposure before; positive opens the hinge. NaN at exposure 0. */
  readonly changeDeg: number;
  /** What the hand is asked to do: whole degrees, the remainder carried; 0 = leave it. NaN at exposure 0. */
  readonly roundedDeg: number;
}

/** The angle at a hinge in one frame (degrees, 0 to 180), NaN when one of its joints is unknown or two fall together. */
export function hingeDeg(motion: Motion, hinge: Hinge, frame: number): number {
  const at = motion.paths.get(hinge.at);
  const a = motion.paths.get(hinge.a);
  const b = motion.paths.get(hinge.b);
  if (!at || !a || !b) return Number.NaN;
  const ax = a.xPx[frame]! - at.xPx[frame]!;
  const ay = a.yPx[frame]! - at.yPx[frame]!;
  const bx = b.xPx[frame]! - at.xPx[frame]!;
  const by = b.yPx[frame]! - at.yPx[frame]!;
  if (Math.hypot(ax, ay) === 0 || Math.hypot(bx, by) === 0) return Number.NaN;
  // atan2 of cross and dot product keeps its precision near 0 and 180 degrees, where acos loses it.
  return (Math.atan2(Math.abs(ax * by - ay * bx), ax * bx + ay * by) * 180) / Math.PI;
}

/**
 * Rounds a row of angles to whole degrees of change: each change leads from where the hand left the hinge to the new
 * angle, so that after any number of exposures the hinge is right to half a degree (outside held ones).
 * @param deg Shape [exposure]; NaN = unknown, after which the account starts anew.
 */
export function roundAngles(deg: readonly number[], held: readonly boolean[]): number[] {
  let placed = Number.NaN;
  return deg.map((d, i) => {
    if (!Number.isFinite(d) || !Number.isFinite(placed)) {
      placed = d;
      return Number.NaN;
    }
    const change = held[i] ? 0 : Math.round(d - placed);
    placed += change;
    return change + 0;
  });
}

/** All hinge angles of a shot: by exposure, for each the hinges in `hinges` order that have all three joints. */
export function planAngles(timing: Timing): HingeAngle[] {
  const held = heldExposures(timing);
  const known = hinges.filter((h) => [h.a, h.at, h.b].every((j) => timing.motion.paths.has(j)));
  const rows = known.map((hinge) => {
    const deg = timing.exposures.map((e) => hingeDeg(timing.motion, hinge, e.firstFrame));
    return { hinge, deg, rounded: roundAngles(deg, held) };
  });
  return timing.exposures.flatMap((_, i) =>
    rows.map(({ hinge, deg, rounded }) => ({
      exposure: i,
      hinge: hinge.name,
      deg: deg[i]!,
      changeDeg: i === 0 ? Number.NaN : deg[i]! - deg[i - 1]!,
      roundedDeg: rounded[i]!,
    })),
  );
}
