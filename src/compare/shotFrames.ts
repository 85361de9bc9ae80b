import { assert } from '../base/assert.ts';
import type { Exposure } from '../timing/timing.ts';

/** What the pictures of a shot are: one for each exposure, one for each frame (held ones twice or more), or one for each key pose. */
export const shotPictures = ['exposures', 'frames', 'poses'] as const;
/** One of them. */
export type ShotPictures = (typeof shotPictures)[number];

/** What of the plan decides what pictures are. */
export interface PlannedShot {
  readonly frameCount: number;
  readonly exposures: readonly Exposure[];
  /** Frames at which the key poses begin, rising. */
  readonly poseFrames: readonly number[];
}

/**
 * What so many pictures are, in the order of likelihood: what fits to the number comes first. While a shot is not finished there are
 * fewer than planned: then one for each exposure, as a camera leaves them, unless there are more than exposures.
 */
export function recogniseShotPictures(pictureCount: number, plan: PlannedShot): ShotPictures {
  if (pictureCount === plan.exposures.length) return 'exposures';
  if (pictureCount === plan.frameCount) return 'frames';
  if (pictureCount === plan.poseFrames.length) return 'poses';
  return pictureCount < plan.exposures.length ? 'exposures' : 'frames';
}

/**
 * The frames of the shot at which each picture begins, from 0. Shape [picture]; pictures beyond the plan are not in it.
 * @param firstFrame the frame of the first picture: for shots taken up in the middle.
 */
export function framesOfPictures(
  pictureCount: number,
  pictures: ShotPictures,
  plan: PlannedShot,
  firstFrame = 0,
): number[] {
  assert(firstFrame >= 0 && Number.isInteger(firstFrame), `first frame ${firstFrame}`);
  const all =
    pictures === 'exposures'
      ? plan.exposures.map((e) => e.firstFrame)
      : pictures === 'poses'
        ? plan.poseFrames
        : Array.from({ length: plan.frameCount }, (_, k) => k);
  return all.filter((frame) => frame >= firstFrame).slice(0, pictureCount);
}
