import type { DetectedJoint } from '../base/joints.ts';

/**
 * How a detector errs and how people move, in units of the performer's size, so that they hold for any picture. Fitted on
 * takes with known truth; see `noiseOf` for how.
 */
export interface JointNoise {
  /** Error that is new in every picture, sd along one axis at confidence 0.75, share of the torso length. */
  readonly quickSd: number;
  /** Error that lasts, sd along one axis, share of the torso length. */
  readonly slowSd: number;
}

/** Sightings below this confidence say nothing: the model's own guess where a joint might be. */
export const leastConfidence = 0.1;
/** How long the slow part of the error lasts, seconds. */
export const slowErrorSec = 0.3;
/** Usual density of joints' random acceleration, torso lengths² / s³. */
export const accelerationDensity = 3;

/** The error model of one joint. */
export function noiseOf(_joint: DetectedJoint): JointNoise {
  return { quickSd: 0.01, slowSd: 0.03 };
}

/** Standard deviation of a sighting's quick error in torso lengths; Infinity when it says nothing. */
export function quickSdAt(noise: JointNoise, confidence: number): number {
  if (!(confidence >= leastConfidence)) return Number.POSITIVE_INFINITY;
  return (noise.quickSd * 0.75) / confidence;
}
