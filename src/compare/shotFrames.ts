import { assert } from '../base/assert.ts';
import { type Joint, joints, type Part } from '../base/joints.ts';
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

/** What is known of a shot that may still be growing. */
export interface Growth {
  /** How many pictures there were before the first of those that came in while the shot is open; null = none came in. */
  readonly fromCount: number | null;
  /** How many exposures are marked as shot at the set. */
  readonly marked: number;
}

/**
 * What the pictures of a shot are that may still be growing. That there are, for a moment, as many as key poses says nothing then: they
 * stay what they were before more came in. Where as many exposures are marked as shot as there are pictures, but for the one that is not
 * marked yet, they are those. Else their number tells.
 */
export function recogniseGrowing(
  pictureCount: number,
  plan: PlannedPictures,
  { fromCount, marked }: Growth,
): PictureOrder {
  if (marked > 0 && marked >= pictureCount - 1) return 'exposures';
  if (fromCount === null) return recognisePictures(pictureCount, plan);
  const before = recognisePictures(fromCount, plan);
  if (before === 'poses' && pictureCount <= plan.poseFrames.length) return 'poses';
  return before === 'frames' || pictureCount > plan.exposures.length ? 'frames' : 'exposures';
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
 * What was shot, for holding it against the plan: each picture on its frames. Where a picture is missing, or could not be opened (its
 * step has no brightness), nothing is known of the puppet.
 * @param frames of the row, those of missing pictures included, as `framesOfPictures` gives them.
 * @param motion one entry for each picture, those beyond the plan included.
 * @param steps how pictures differ as wholes, one for each picture; null = not measured.
 * @param places of the pictures in the row, rising; absent = none is missing. Shape [picture].
 * @returns null for fewer than two pictures within the plan.
 */
export function shotOnPlan(
  order: PictureOrder,
  frames: readonly number[],
  plan: PlannedPictures,
  motion: Motion,
  steps: readonly PictureStep[] | null,
  places: readonly number[] = Array.from(motion.timesSec.keys()),
): ShotPictures | null {
  const first = frames[0];
  if (first === undefined || places.filter((place) => place < frames.length).length < 2) return null;
  const pictureOf = frames.map((_, place) => places.indexOf(place));
  const isThere = (place: number) => pictureOf[place]! >= 0 && !isBlank(steps?.[pictureOf[place]!]);
  const stepOf = (place: number): PictureStep => steps?.[pictureOf[place]!] ?? noStep;
  const laid = (from: number, to: number) => {
    const entries = Array.from({ length: to - from }, (_, k) => (isThere(from + k) ? pictureOf[from + k]! : -1));
    return { motion: motionOf(motion, entries), ...stepSdsOf(motion, entries) };
  };
  if (order === 'frames') {
    const last = frames.at(-1)!;
    // Only whole exposures: the rest of one is not shot yet.
    const exposures = plan.exposures.filter((e) => e.firstFrame >= first && e.firstFrame + e.frames - 1 <= last);
    const [begin, end] = [exposures[0], exposures.at(-1)];
    if (!begin || !end || exposures.length < 2) return null;
    const stepInto = ({ firstFrame, frames: many }: Exposure) => {
      const all = Array.from({ length: many }, (_, k) => stepOf(firstFrame - first + k));
      // Where its first picture is missing, the next was held against the exposure before.
      return all.find((step) => !isBlank(step)) ?? noStep;
    };
    const pictures = steps && exposures.map(stepInto);
    return { exposures, ...laid(begin.firstFrame - first, end.firstFrame + end.frames - first), pictures };
  }
  const ends = order === 'poses' ? plan.poseFrames : plan.exposures.map((e) => e.firstFrame);
  const exposures = frames.map((firstFrame) => ({
    firstFrame,
    frames: (ends.find((f) => f > firstFrame) ?? plan.frameCount) - firstFrame,
  }));
  return { exposures, ...laid(0, frames.length), pictures: steps && frames.map((_, place) => stepOf(place)) };
}

/** Of a picture that is not there. */
const noStep: PictureStep = { shiftXPx: Number.NaN, shiftYPx: Number.NaN, brightness: Number.NaN };

/** A picture that could be opened has a brightness. */
function isBlank(step: PictureStep | undefined): boolean {
  return step !== undefined && Number.isNaN(step.brightness);
}

/** What movements between neighbouring entries err by, as numbers: a shot is handed to another thread. */
function stepSdsOf({ paths, stepSdPx }: Motion, entries: readonly number[]): Pick<ShotPictures, 'stepSds'> {
  if (!stepSdPx) return {};
  const between = (joint: Joint, k: number) => {
    const [from, to] = [entries[k - 1] ?? -1, entries[k]!];
    return from < 0 || to < 0 ? Number.NaN : stepSdPx(joint, from, to);
  };
  return {
    stepSds: new Map(
      joints
        .filter((joint) => paths.has(joint))
        .map((joint) => [joint, Float64Array.from(entries, (_, k) => between(joint, k))]),
    ),
  };
}

/** Some entries of a motion; −1 = nothing is known there, the time neither. */
function motionOf(motion: Motion, entries: readonly number[]): Motion {
  if (entries.length === motion.timesSec.length && entries.every((entry, i) => entry === i))
    return { timesSec: motion.timesSec, paths: motion.paths };
  const pick = (column: Float64Array) => Float64Array.from(entries, (k) => (k < 0 ? Number.NaN : column[k]!));
  const paths = new Map(
    [...motion.paths].map(([part, path]): [Part, JointPath] => [
      part,
      {
        xPx: pick(path.xPx),
        yPx: pick(path.yPx),
        vxPx: pick(path.vxPx),
        vyPx: pick(path.vyPx),
        sdPx: pick(path.sdPx),
        confidence: Float32Array.from(entries, (k) => (k < 0 ? 0 : path.confidence[k]!)),
        guessed: Uint8Array.from(entries, (k) => (k < 0 ? 1 : path.guessed[k]!)),
      },
    ]),
  );
  return { timesSec: pick(motion.timesSec), paths };
}
