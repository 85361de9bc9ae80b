import { assert } from '../base/assert.ts';
import type { Part } from '../base/joints.ts';
import type { Exposure } from '../timing/timing.ts';
import type { JointPath, Motion } from '../track/motion.ts';
import type { PictureStep } from './cameraEvents.ts';
import type { ShotPictures } from './shot.ts';

/** What the pictures of a shot are: one for each exposure, one for each frame (held ones twice or more), or one for each key pose. */
export const pictureOrders = ['exposures', 'frames', 'poses'] as const;
/** One of them. */
export type PictureOrder = (typeof pictureOrders)[number];

/** What of the plan decides what pictures are. */
export interface PlannedPictures {
  readonly frameCount: number;
  readonly exposures: readonly Exposure[];
  /** Frames at which the key poses begin, rising. */
  readonly poseFrames: readonly number[];
}

/**
 * What so many pictures are, in the order of likelihood: what fits to the number comes first. While a shot is not finished there are
 * fewer than planned: then one for each exposure, as a camera leaves them, unless there are more than exposures.
 */
export function recognisePictures(pictureCount: number, plan: PlannedPictures): PictureOrder {
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
  pictures: PictureOrder,
  plan: PlannedPictures,
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

/**
 * What was shot, for holding it against the plan: each picture on its frames.
 * @param frames as `framesOfPictures` gives them.
 * @param motion one entry for each picture, those beyond the plan included.
 * @param steps how pictures differ as wholes, one for each picture; null = not measured.
 * @returns null for fewer than two pictures within the plan.
 */
export function shotOnPlan(
  order: PictureOrder,
  frames: readonly number[],
  plan: PlannedPictures,
  motion: Motion,
  steps: readonly PictureStep[] | null,
): ShotPictures | null {
  const first = frames[0];
  if (frames.length < 2 || first === undefined) return null;
  if (order === 'frames') {
    const last = frames.at(-1)!;
    // Only whole exposures: the rest of one is not shot yet.
    const exposures = plan.exposures.filter((e) => e.firstFrame >= first && e.firstFrame + e.frames - 1 <= last);
    const [begin, end] = [exposures[0], exposures.at(-1)];
    if (!begin || !end || exposures.length < 2) return null;
    const from = begin.firstFrame - first;
    const pictures = steps && exposures.map((e) => steps[e.firstFrame - first]!);
    return { exposures, motion: entriesOf(motion, from, end.firstFrame + end.frames - first), pictures };
  }
  const ends = order === 'poses' ? plan.poseFrames : plan.exposures.map((e) => e.firstFrame);
  const exposures = frames.map((firstFrame) => ({
    firstFrame,
    frames: (ends.find((f) => f > firstFrame) ?? plan.frameCount) - firstFrame,
  }));
  return { exposures, motion: entriesOf(motion, 0, frames.length), pictures: steps?.slice(0, frames.length) ?? null };
}

/** Some entries of a motion, `to` not included. */
function entriesOf(motion: Motion, from: number, to: number): Motion {
  if (from === 0 && to === motion.timesSec.length) return motion;
  const paths = new Map(
    [...motion.paths].map(([part, path]): [Part, JointPath] => [
      part,
      {
        xPx: path.xPx.slice(from, to),
        yPx: path.yPx.slice(from, to),
        vxPx: path.vxPx.slice(from, to),
        vyPx: path.vyPx.slice(from, to),
        sdPx: path.sdPx.slice(from, to),
        confidence: path.confidence.slice(from, to),
        guessed: path.guessed.slice(from, to),
      },
    ]),
  );
  return { timesSec: motion.timesSec.slice(from, to), paths };
}
