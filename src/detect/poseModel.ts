import { detectedJoints, sideFollowers, sidePairs } from '../base/joints.ts';
import type { Region } from '../ingest/pixels.ts';

/** How thoroughly a take is read: one look at each picture, or that and then a careful look at each. */
export type ReadingDepth = 'quick' | 'fine';

/** The models that see one person. */
export type ModelName = 'movenet-lightning' | 'movenet-thunder' | 'blazepose-full' | 'blazepose-heavy';

/** Numbers per joint in an estimate. */
export const estimateStep = 4;

/**
 * What a model sees in a square picture: x, y (0..1 of the square; may lie outside), confidence (0..1) and depth (in
 * sides of the square, relative to the middle of the hips; negative = nearer to the lens) per joint. Shape
 * [joint × 4], in the order of `detectedJoints`. A joint that the model does not know has NaN and confidence 0; so has
 * the depth of every joint where the model guesses none.
 */
export type Estimate = Float32Array;

/** A model that sees one person in a square picture. Made for one backend; one estimate at a time. */
export interface PoseModel {
  /** As reported in plans: "movenet-thunder". */
  readonly name: string;
  /** Side of the square picture it takes, pixels. */
  readonly inputSide: number;
  /**
   * Sees the joints of one person, independently of any picture before.
   * @param rgba square, `inputSide`², 8 bits.
   */
  estimate(rgba: Uint8ClampedArray): Promise<Estimate>;
  dispose(): void;
}

/** A model that finds people in a whole picture. */
export interface PeopleFinder {
  /** The longer side of the picture it takes, pixels; the other side follows the picture's shape. */
  readonly inputSide: number;
  /**
   * Finds people.
   * @returns boxes in 0..1 of the picture, the surest first.
   */
  find(rgba: Uint8ClampedArray, width: number, height: number): Promise<FoundPerson[]>;
  dispose(): void;
}

/** One person found. */
export interface FoundPerson {
  readonly box: Region;
  /** Between shoulders and hips; null when they are not seen. Units as `box`. */
  readonly trunk: Region | null;
  /** 0..1. */
  readonly score: number;
}

/** An estimate in which nothing is seen. */
export function emptyEstimate(): Estimate {
  const estimate = new Float32Array(estimateStep * detectedJoints.length).fill(Number.NaN);
  for (let j = 0; j < detectedJoints.length; j++) estimate[estimateStep * j + 2] = 0;
  return estimate;
}

/** Every pair of left and right joints, as places in `detectedJoints`. */
const sideTwins: readonly (readonly [number, number])[] = [
  ...sidePairs,
  ...sideFollowers.map((follower) => follower.pair),
].map(([left, right]) => [detectedJoints.indexOf(left), detectedJoints.indexOf(right)]);

/** What an estimate of the mirrored square says of the square itself: x turned round, left and right exchanged. */
export function unmirrored(estimate: Estimate): Estimate {
  const result = estimate.slice();
  for (const [left, right] of sideTwins)
    for (let k = 0; k < estimateStep; k++) {
      result[estimateStep * left + k] = estimate[estimateStep * right + k]!;
      result[estimateStep * right + k] = estimate[estimateStep * left + k]!;
    }
  for (let at = 0; at < result.length; at += estimateStep) result[at] = 1 - result[at]!;
  return result;
}
