/**
 * How a detector errs and how people move, in torso lengths (0.288 of the standing height), so that it holds for any
 * picture size.
 *
 * How these were fitted: MoveNet Thunder (and Lightning, with the same numbers, for a check) on four rendered takes of a
 * clothed figure moved by motion capture (bending and lifting; sitting; walking; dancing) with exact joint positions. Each
 * joint's median offset was taken out; the error's variogram (spread of its change over 1, 2, 4, 8, 16 pictures) rises
 * from a jump of about 1 % at the first picture to the whole spread after half a second: a quick part and a slow part.
 * Spreads per kind of joint and their growth with falling confidence were read off robustly (68 % quantile), rounded, and
 * the few shared numbers set in the middle of the flat region in which the error of movements from frame to frame hardly
 * changes (factors of 1.5 in any of them: less than 4 %). The slow error's time, the densities and the doubt of steps were
 * chosen in the same way when flow came in, again in the middle of a flat region (factors of 2: less than 3 %).
 */
import { type DetectedJoint, furtherJoints } from '../base/joints.ts';

/** Sightings below this confidence say nothing: the model's own guess where a joint might be. */
export const leastConfidence = 0.1;
/** The slow part of the error forgets itself in this time, seconds. */
export const slowErrorSec = 0.5;
/** Usual density of joints' random acceleration, torso lengths² / s³. */
export const accelerationDensity = 2;
/** Factor on it where flow follows the joint: its steps are worth more than the belief that speed changes little. */
export const followedDensityFactor = 4;

/** The confidence of an ordinary good sighting, at which the numbers below hold. */
const ordinaryConfidence = 0.75;
/** Error that is new in every picture, sd along one axis. */
const quickSd = 0.014;
/** Error that lasts, sd along one axis. Shoulders and hips lie deep in cloth, eyes and ankles are seen sharply. */
const slowSds = {
  head: 0.0115,
  shoulder: 0.029,
  elbow: 0.029,
  wrist: 0.0275,
  hip: 0.025,
  knee: 0.0195,
  ankle: 0.0145,
  // Carried over from a second model, which sees clothed hands and feet less well.
  mouth: 0.02,
  hand: 0.06,
  heel: 0.05,
  toe: 0.06,
} as const;

/** Factor on it for joints beyond the COCO set. */
const furtherQuickFactor = 2;

/** Standard deviation of the quick error of a sighting, torso lengths; Infinity when it says nothing. */
export function quickSdAt(joint: DetectedJoint, confidence: number): number {
  if (!(confidence >= leastConfidence)) return Number.POSITIVE_INFINITY;
  const isFurther = (furtherJoints as readonly DetectedJoint[]).includes(joint);
  return quickSd * (isFurther ? furtherQuickFactor : 1) * (ordinaryConfidence / confidence) ** 1.5;
}

/** Standard deviation of the slow error of a sighting, torso lengths. */
export function slowSdAt(joint: DetectedJoint, confidence: number): number {
  const kind = joint.replace(/^(left|right)/, '').toLowerCase();
  const sd = kind in slowSds ? slowSds[kind as keyof typeof slowSds] : slowSds.head;
  return (sd * ordinaryConfidence) / Math.max(leastConfidence, confidence);
}

/**
 * Factor on what a sighting of a puppet's joint errs by: a detector that knows people only is unsure of limbs that no person has, and then
 * places them along the limb where a person would have them. Read off rendered puppets of three builds whose joints are known.
 */
export function doubtInPuppet(confidence: number): number {
  return Math.max(1, ordinaryConfidence / Math.max(leastConfidence, confidence));
}

/**
 * Factor on the fit's standard deviation where the joint moves at `speed` torso lengths a second. The slow error hangs on
 * the pose: at rest it stands still and is no more than the joint's constant offset; in a fast move it changes all the
 * time, and pictures blur. Measured: 0.65 at rest, 1 at one torso length a second, 1.3 above four.
 */
export function speedFactor(speed: number): number {
  return 0.62 + (0.38 * speed) / (speed + 0.15) + 0.06 * Math.min(speed, 6);
}

/** A step measured by flow is never surer than this: the skin or cloth it follows is not the joint. Torso lengths. */
const leastStepSd = 0.0015;
/** Factor on what the flow says of itself, with which one and two standard deviations hold about what they should. */
const stepSpreadFactor = 1.3;
/** Part of the step's length that is added: limbs that turn move unevenly around the joint. */
const stepShare = 0.05;

/**
 * Standard deviation of a step measured by flow, along one axis, pixels; NaN when it was not measured or nothing was seen.
 * @param spreadPx   What the flow says of itself.
 * @param lengthPx   The step's length.
 * @param confidence Of the sighting around which it was measured: a guessed place is perhaps not the joint's.
 */
export function stepSdAt(spreadPx: number, lengthPx: number, confidence: number, unitPx: number): number {
  if (!(spreadPx >= 0) || !(confidence > 0)) return Number.NaN;
  const sd = Math.hypot(leastStepSd * unitPx, stepSpreadFactor * spreadPx, stepShare * lengthPx);
  return sd * Math.sqrt(ordinaryConfidence / Math.max(leastConfidence, confidence));
}
