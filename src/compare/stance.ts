import type { Joint } from '../base/joints.ts';
import type { Comparison } from './compareShot.ts';
import { isOffTime, lateAt } from './keyTiming.ts';
import { usualFrames } from './shot.ts';

/** Where one joint was found on the set, millimetres, y up. */
export interface StancePlace {
  readonly joint: Joint;
  readonly xMm: number;
  readonly yMm: number;
  /** Standard deviation along one axis. */
  readonly sdMm: number;
}

/** Where the puppet was found to stand at an exposure that was shot: all that the moves after it are laid anew from. Plain data for the book. */
export interface Stance {
  /** The frames that show it, from 0. */
  readonly firstFrame: number;
  readonly frames: number;
  /** The plan's frame that the pose is, with fractions; `firstFrame` itself where the shot is on time. */
  readonly planFrame: number;
  /** Joints that were measured, each once. */
  readonly pose: readonly StancePlace[];
  /** The exposure before, for how fast it goes: so many frames earlier. Null = too long ago, or there was none. */
  readonly before: {
    readonly frames: number;
    readonly planFrame: number;
    readonly pose: readonly StancePlace[];
  } | null;
}

/** How fast the puppet goes is not told by an exposure that lies further back, frames. */
const mostBefore = 4;

/**
 * Where the puppet stands at an exposure of a shot.
 * @param exposure index among the shot's.
 * @returns null where it has no such exposure or its picture is missing, or the body was not registered on the set ('none').
 */
export function stanceAt(comparison: Comparison, exposure: number): Stance | null {
  const { exposures, registration, planFrame, warp } = comparison;
  const at = exposures[exposure];
  if (!at || registration.kind === 'none') return null;
  const { firstFrame, frames } = at;
  const pose = poseAt(comparison, exposure);
  if (pose.length === 0) return null;
  const isLate = isOffTime(lateAt(warp, planFrame[exposure]!), usualFrames(exposures));
  const before = exposures[exposure - 1];
  const poseBefore = before && firstFrame - before.firstFrame <= mostBefore ? poseAt(comparison, exposure - 1) : [];
  return {
    firstFrame,
    frames,
    planFrame: isLate ? planFrame[exposure]! : firstFrame,
    pose,
    before:
      before && poseBefore.length > 0
        ? {
            frames: firstFrame - before.firstFrame,
            planFrame: isLate ? planFrame[exposure - 1]! : before.firstFrame,
            pose: poseBefore,
          }
        : null,
  };
}

/** Joints at an exposure as they were measured, but for what is the same in all of the shot: that is how the puppet is built or found. */
function poseAt({ registration, offs }: Comparison, i: number): StancePlace[] {
  return [...registration.places.at].flatMap(([joint, { x, y, sd }]) => {
    const off = offs.get(joint);
    const [xMm, yDown] = off ? [off.planX[i]! + off.x[i]!, off.planY[i]! + off.y[i]!] : [x[i]!, y[i]!];
    return Number.isFinite(xMm + yDown + sd[i]!) ? [{ joint, xMm, yMm: -yDown + 0, sdMm: sd[i]! }] : [];
  });
}
