import type { Joint, Part, PropId } from '../base/joints.ts';
import type { Influence } from './placements.ts';

/**
 * One joint's movement at the times of the `Motion` that holds it. All columns have shape [time].
 */
export interface JointPath {
  /** Upright video pixels, y down. NaN = nothing can be said (the joint was never seen). */
  readonly xPx: Float64Array;
  readonly yPx: Float64Array;
  /** Pixels per second. NaN where the position is. */
  readonly vxPx: Float64Array;
  readonly vyPx: Float64Array;
  /** Standard deviation of the position along one axis, pixels; NaN where the position is. */
  readonly sdPx: Float64Array;
  /** 0..1: how much the detector's sightings near this time can be trusted. */
  readonly confidence: Float32Array;
  /** 1 where no usable sighting is near and the position is filled in from the neighbours in time. */
  readonly guessed: Uint8Array;
}

/** All joints of the performer at chosen times. */
export interface Motion {
  /** Take seconds, rising. Shape [time]. */
  readonly timesSec: Float64Array;
  /** Paths of the performer's joints, then of the marked points, if any. */
  readonly paths: ReadonlyMap<Part, JointPath>;
  /**
   * Standard deviation along one axis of a joint's movement between two of the times (entries), pixels. Absent where
   * nobody knows how neighbouring positions err together: see `stepSdOf`.
   */
  readonly stepSdPx?: (part: Part, from: number, to: number) => number;
}

/**
 * Standard deviation along one axis of a joint's movement between two entries of a motion, pixels; as of independent
 * positions where the motion does not know better, which is an upper bound. NaN where the joint is not known.
 */
export function stepSdOf(motion: Motion, part: Part, from: number, to: number): number {
  if (motion.stepSdPx) return motion.stepSdPx(part, from, to);
  const path = motion.paths.get(part);
  return Math.hypot(path?.sdPx[from] ?? Number.NaN, path?.sdPx[to] ?? Number.NaN);
}

/**
 * The performer's fitted movement, which can be asked for at any time. Made by `fitTracks`.
 */
export interface Tracks {
  /** Times of the sightings behind it. Shape [picture]. */
  readonly timesSec: Float64Array;
  /**
   * Standing height of the performer in pixels (vertex to sole), from limb lengths over the whole take; see `bodySize.ts`. Where nobody
   * was seen, what stands in for it: see `hasNoScale`.
   */
  readonly bodyHeightPx: number;
  /** True where nothing tells how large things are: then `bodyHeightPx` only says what is small and what is large in the picture. */
  readonly hasNoScale?: boolean;
  /** Median distance from mid-shoulder to mid-hip, pixels. */
  readonly torsoPx: number;
  /** Joints that were seen often enough to be tracked. */
  readonly joints: readonly Joint[];
  /** Evaluates every joint at the times given (rising, take seconds); outside the take the ends are held. */
  at(timesSec: Float64Array): Motion;
  /** What a joint's path was made from, for showing beside it; null for joints that no detector reports. */
  seen(joint: Joint): SeenJoint | null;
  /** The marked points as measured, for what smoothing would round off; absent or empty where there are none. */
  readonly seenPoints?: ReadonlyMap<PropId, SeenPoint>;
  /** What is doubtful, for showing beside the result. */
  readonly doubts: readonly Doubt[];
  /** When another take begins, seconds, rising; absent or empty where the tracks are of one take. */
  readonly cutsSec?: readonly number[];
}

/** A marked point as it was measured. Columns have shape [picture]. */
export interface SeenPoint {
  /** Take seconds, rising. */
  readonly timesSec: Float64Array;
  /** Upright pixels. NaN = not seen. */
  readonly xPx: Float64Array;
  readonly yPx: Float64Array;
  /** Standard deviation along one axis, pixels. */
  readonly sdPx: Float64Array;
}

/** One joint as it was seen and corrected, after sides were settled. Columns have shape [picture]. */
export interface SeenJoint {
  /** Take seconds. */
  readonly timesSec: Float64Array;
  /** Upright pixels. NaN = not seen, or left out (a repeated picture, a span marked as hidden). */
  readonly xPx: Float64Array;
  readonly yPx: Float64Array;
  /** 1 where the path follows the sighting, 0 where it was taken for a mistake, or says nothing. */
  readonly believed: Uint8Array;
  /** The animator's placements, with how far each moves the path. Rising times. */
  readonly influences: readonly Influence[];
}

/** What may be doubtful about tracks. */
export type DoubtCode =
  /** Seen too faintly to be relied on. */
  | 'hidden'
  /** Not seen; filled in from before and after. */
  | 'guessed'
  /** Left and right were exchanged by the computation. */
  | 'swapped'
  /** So fast that the shutter smears it. */
  | 'blurred'
  | 'out-of-frame'
  /** Points toward or away from the lens, so the picture hides part of its length and of its moves. */
  | 'out-of-plane'
  | 'two-people'
  | 'nobody'
  /** Too few pixels for small moves. */
  | 'small'
  /** Seen leaping, which was not believed. */
  | 'outlier'
  /** One take ends and another begins, and the pose does not join. */
  | 'cut';

/** Something the animator should know before trusting a number. */
export interface Doubt {
  readonly code: DoubtCode;
  /** Null when it concerns the whole body. */
  readonly joint: Joint | null;
  /** Take seconds, inclusive. */
  readonly startSec: number;
  readonly endSec: number;
  /** What is doubtful in a few words, the same for every span of one joint and code: "left hand hard to see". */
  readonly headline: string;
  /** One plain sentence or two. Frame numbers and millimetres are not in it: the screen adds them for the shot and the puppet. */
  readonly sentence: string;
  /** About how far the tracks may be off here, torso lengths: for putting the worst first. */
  readonly worth: number;
  /** What the picture hides; null for every code but 'out-of-plane'. */
  readonly plane: Foreshortening | null;
}

/** A limb that points out of the picture plane, over one span. */
export interface Foreshortening {
  /** Angle between limb and picture plane, 0..90°: acos(apparent ÷ true length), from the span's median. */
  readonly angleDeg: number;
  /** The limb's true length, pixels, and how much of it the picture does not show. */
  readonly truePx: number;
  readonly hiddenPx: number;
  /** What the model's depth estimate says of it; null where there is none, or it says neither. */
  readonly depth: 'toward the lens' | 'away from the lens' | 'disagrees' | null;
}
