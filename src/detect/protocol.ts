import type { Footage } from '../base/footage.ts';
import type { LegPlan, LegTrace } from '../flow/propLeg.ts';
import type { TakeSource } from '../ingest/openTake.ts';
import type { PixelWay } from '../ingest/picture.ts';
import type { SightingColumns, Sightings } from '../track/sighting.ts';
import type { BackendChoice, BackendName } from './chooseBackend.ts';
import type { CropPath } from './cropPath.ts';
import type { ModelName } from './poseModel.ts';

/** Which model runs on what, and why. */
export interface DetectorChoice extends BackendChoice {
  /** The model's name ("movenet-thunder"), or several with "+" between. */
  readonly model: string;
}

/** How pictures get from the file to a model. */
export interface SourceRequest {
  readonly source: TakeSource;
  /** Pictures per second of numbered stills. */
  readonly stillsRate: number;
  /** Use this backend only; null = choose. */
  readonly backend: BackendName | null;
  /** Read pixels this way only; null = time both and choose. */
  readonly pixelWay: PixelWay | null;
}

/** The performer is the person nearest to this point (upright pixels) at this time (take seconds). */
export interface PerformerAt {
  readonly timeSec: number;
  readonly xPx: number;
  readonly yPx: number;
}

/** The quick pass: one look at every picture, which finds the performer. */
export interface ScanRequest extends SourceRequest {
  /** Seconds between pictures in which people are counted; 0 = never. */
  readonly countPeopleEverySec: number;
  /** Where the animator pointed the performer out; rising times, empty = the reader chooses. */
  readonly performer: readonly PerformerAt[];
  /** What an earlier scan that was stopped had seen (a row per picture of the promised footage); null = begin anew. */
  readonly before: SeenBefore | null;
}

/** What a scan that was stopped had seen. */
export interface SeenBefore {
  /** How many pictures, from the first on. */
  readonly readCount: number;
  readonly columns: SightingColumns;
  readonly people: readonly { readonly timeSec: number; readonly count: number }[];
}

/** The fine pass over some pictures: several looks at each, within a crop that is given. */
export interface RefineRequest extends SourceRequest {
  /** The pictures' own time stamps in the file, seconds. Shape [picture]. */
  readonly stampsSec: Float64Array;
  readonly crops: CropPath;
  /** Pictures `from` ≤ i < `to` are refined. */
  readonly from: number;
  readonly to: number;
  readonly main: ModelName;
  /** Sees what the main model does not know; null = nothing does. */
  readonly further: ModelName | null;
}

/** The last pass: how far the picture around every joint goes from picture to picture. */
export interface FollowRequest extends SourceRequest {
  /** The pictures' own time stamps in the file, seconds. Shape [picture]. */
  readonly stampsSec: Float64Array;
  readonly sightings: Sightings;
  /** Steps from pictures `from` ≤ i < `to` to their next ones are measured. */
  readonly from: number;
  readonly to: number;
}

/** A leg to be followed; pictures by their numbers in `stampsSec`, pixels of the upright picture. */
export interface PointLeg extends LegPlan {
  /** Which leg, for telling what was found. */
  readonly leg: number;
  /** Where it is known to go, from its first picture on, upright video pixels: it may be followed on from there. Empty = nothing is known. */
  readonly knownXPx: Float64Array;
}

/** Following points that the animator marked. */
export interface FollowPointsRequest extends SourceRequest {
  /** The pictures' own time stamps in the file, seconds. Shape [picture]. */
  readonly stampsSec: Float64Array;
  readonly legs: readonly PointLeg[];
}

/** What is told while marked points are followed: a leg that is done, or how many pictures have been looked at. */
export type PointsProgress =
  | { readonly kind: 'leg'; readonly leg: number; readonly trace: LegTrace }
  | { readonly kind: 'pace'; readonly done: number; readonly total: number };

/** What is told when some pictures are refined. */
export interface Refined {
  readonly detector: DetectorChoice;
}

/** Everything that reading a take gives. */
export interface TakeReading {
  readonly footage: Footage;
  readonly sightings: Sightings;
  readonly detector: DetectorChoice;
  /** How pixels were got out of the decoder. */
  readonly pixelWay: PixelWay | null;
}

/** Joints of some pictures; they replace what was told of them before. */
export interface SightingsBatch {
  /** Pictures of the promised footage (scan) or of the request (refine), rising. */
  readonly pictures: Int32Array;
  /** One row per entry of `pictures`. */
  readonly columns: SightingColumns;
  readonly people: readonly { readonly timeSec: number; readonly count: number }[];
}

/** Steps measured from some pictures to their next ones; see `Sightings`. One row per entry of `pictures`. */
export interface StepsBatch {
  readonly pictures: Int32Array;
  readonly onwardXPx: Float32Array;
  readonly onwardYPx: Float32Array;
  readonly onwardSdPx: Float32Array;
}

/** What is told while reading. */
export type ReadProgress =
  | { readonly kind: 'steps'; readonly batch: StepsBatch }
  | { readonly kind: 'footage'; readonly footage: Footage }
  | { readonly kind: 'detector'; readonly detector: DetectorChoice }
  | { readonly kind: 'batch'; readonly batch: SightingsBatch };

/** The worker's calls: name → [request, reply, progress]. */
export type DetectCalls = {
  readonly scan: readonly [ScanRequest, TakeReading, ReadProgress];
  readonly refine: readonly [RefineRequest, Refined, ReadProgress];
  readonly follow: readonly [FollowRequest, null, ReadProgress];
  readonly followPoints: readonly [FollowPointsRequest, null, PointsProgress];
};
