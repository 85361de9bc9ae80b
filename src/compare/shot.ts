import { assert } from '../base/assert.ts';
import type { FrameRate } from '../base/frameRate.ts';
import type { Joint } from '../base/joints.ts';
import type { PuppetMotion } from '../puppet/puppetMotion.ts';
import type { Exposure, Hold, Key } from '../timing/timing.ts';
import type { Motion } from '../track/motion.ts';
import { median } from '../track/quantile.ts';
import type { PictureStep } from './cameraEvents.ts';
import { type JointPlaces, measuredPlaces, type PlaceColumns } from './places.ts';

/** What of a key the comparison needs. */
export type PlannedKey = Pick<Key, 'id' | 'frameIndex' | 'kind' | 'name'>;

/** What was to be shot. */
export interface PlannedShot {
  /** The puppet at each frame of the shot. */
  readonly motion: PuppetMotion;
  readonly rate: FrameRate;
  /** Rising. */
  readonly keys: readonly PlannedKey[];
  readonly holds: readonly Hold[];
  readonly exposures: readonly Exposure[];
}

/** What was shot, as far as it has been. */
export interface ShotPictures {
  /** One for each picture that differs from the one before, on the plan's frames (from 0). Rising; they tile what was shot. */
  readonly exposures: readonly Exposure[];
  /** Where the puppet's joints were found, picture pixels: one sample for each exposure, or one for each frame from the first exposure's on. NaN, the time too, where a picture is missing. */
  readonly motion: Motion;
  /**
   * What each joint's movement from the sample before errs by, along one axis, pixels, where its motion knows; NaN = not known, and at the
   * first. Shape [sample]. Absent = nobody knows how neighbouring places err together.
   */
  readonly stepSds?: ReadonlyMap<Joint, Float64Array>;
  /** How each exposure's picture differs from the one before as a whole, the first from itself. Shape [exposure]; null = not measured. */
  readonly pictures: readonly PictureStep[] | null;
  /** Joints that a person marked on the puppet; a detector puts the others where a person of such a size would have them. Absent = all. */
  readonly marked?: ReadonlySet<Joint>;
}

/** Joint places at each exposure, pixels, y down: where there is a sample for each frame, the mean over those of the exposure's frames that are known. */
export function exposurePlaces({ exposures, motion }: ShotPictures): JointPlaces {
  const places = measuredPlaces(motion);
  const n = exposures.length;
  if (places.count === n) return places;
  const start = exposures[0]?.firstFrame ?? 0;
  const frames = exposures.reduce((sum, e) => sum + e.frames, 0);
  assert(places.count === frames, `${places.count} samples for ${n} exposures of ${frames} frames`);
  const mean = (column: Float64Array) =>
    Float64Array.from(exposures, (e) => {
      const known = column
        .subarray(e.firstFrame - start, e.firstFrame - start + e.frames)
        .filter((v) => !Number.isNaN(v));
      return known.reduce((sum, v) => sum + v / known.length, known.length > 0 ? 0 : Number.NaN);
    });
  const at = new Map(
    [...places.at].map(([joint, { x, y, sd }]): [typeof joint, PlaceColumns] => [
      joint,
      // Errors of neighbouring frames go together, so the mean is no surer than one of them.
      { x: mean(x), y: mean(y), sd: mean(sd) },
    ]),
  );
  return { count: n, at };
}

/** The samples of an exposure, the first and the one after the last. */
export function samplesOf({ exposures, motion }: ShotPictures, i: number): [from: number, to: number] {
  if (motion.timesSec.length === exposures.length) return [i, i + 1];
  const from = exposures[i]!.firstFrame - exposures[0]!.firstFrame;
  return [from, from + exposures[i]!.frames];
}

/** Was a joint put by a hand in one of an exposure's pictures? Then it is surely there: nobody is surer of a place than that. */
export function isByHand(shot: ShotPictures, joint: Joint, i: number): boolean {
  const [from, to] = samplesOf(shot, i);
  return shot.motion.paths.get(joint)?.confidence.subarray(from, to).includes(1) ?? false;
}

/** What each joint's movement from the exposure before errs by, along one axis, pixels. Shape [exposure], the first NaN. */
export function exposureStepSds({ exposures, motion, stepSds }: ShotPictures): ReadonlyMap<Joint, Float64Array> {
  if (!stepSds || motion.timesSec.length === exposures.length) return stepSds ?? new Map();
  const start = exposures[0]?.firstFrame ?? 0;
  // Within an exposure nothing moves: what counts is the step into its first frame.
  return new Map(
    [...stepSds].map(([joint, sd]) => [joint, Float64Array.from(exposures, (e) => sd[e.firstFrame - start]!)]),
  );
}

/** How many frames exposures usually last: 2 on twos. */
export function usualFrames(exposures: readonly Exposure[]): number {
  return median(exposures.map((e) => e.frames));
}

/** First frame of each exposure. Shape [exposure]. */
export function framesOf(exposures: readonly Exposure[]): number[] {
  return exposures.map((e) => e.firstFrame);
}
