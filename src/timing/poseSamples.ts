import type { Joint } from '../base/joints.ts';
import type { Tracks } from '../track/motion.ts';

/**
 * The performer sampled evenly and finely, for finding keys and holds before anything is snapped to frames. Positions are in
 * body heights, columns have shape [sample].
 */
export interface PoseSamples {
  readonly startSec: number;
  readonly stepSec: number;
  readonly count: number;
  readonly joints: readonly SampledJoint[];
}

/** One joint of `PoseSamples`. */
export interface SampledJoint {
  readonly joint: Joint;
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Standard deviation of the position along one axis, body heights. */
  readonly sd: Float64Array;
  /** How much the joint counts in a pose: 1 for a part that an animator sets on its own, less for one that rides along. */
  readonly weight: number;
}

/**
 * Two samples per frame at 24 fps. Tracks are continuous in time, so this need not be the take's own rate; finer gains
 * nothing, since no joint's track carries movement faster than about 10 Hz.
 */
const samplesPerSec = 48;

/** Eyes and ears ride on the head, which the nose already stands for. */
const ridesAlong: ReadonlySet<Joint> = new Set(['leftEye', 'rightEye', 'leftEar', 'rightEar']);
/** Joints that follow from others tell nothing new. */
const constructed: ReadonlySet<Joint> = new Set(['chin', 'neck', 'chest', 'pelvis']);

/**
 * Samples every joint that is known throughout the span; constructed joints only where no detected one is. Spans shorter
 * than two samples give at least one sample.
 */
export function samplePoses(tracks: Tracks, startSec: number, endSec: number): PoseSamples {
  const stepSec = 1 / samplesPerSec;
  const count = Math.max(1, Math.floor((endSec - startSec) / stepSec + 1e-9) + 1);
  const motion = tracks.at(Float64Array.from({ length: count }, (_, i) => startSec + i * stepSec));
  const detected = tracks.joints.filter((j) => !constructed.has(j));
  const used = detected.length > 0 ? detected : tracks.joints;
  const scale = 1 / tracks.bodyHeightPx;
  const joints: SampledJoint[] = [];
  for (const joint of used) {
    const path = motion.paths.get(joint);
    if (path === undefined || path.xPx.some(Number.isNaN) || path.yPx.some(Number.isNaN)) continue;
    joints.push({
      joint,
      x: path.xPx.map((v) => v * scale),
      y: path.yPx.map((v) => v * scale),
      sd: path.sdPx.map((v) => (Number.isFinite(v) ? v * scale : 0)),
      weight: ridesAlong.has(joint) ? 0.25 : 1,
    });
  }
  return { startSec, stepSec, count, joints };
}

/** When a sample (or a place between two) is, take seconds. */
export function sampleSec(samples: PoseSamples, index: number): number {
  return samples.startSec + index * samples.stepSec;
}
