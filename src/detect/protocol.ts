import type { Footage } from '../base/footage.ts';
import type { TakeSource } from '../ingest/openTake.ts';
import type { PixelWay } from '../ingest/picture.ts';
import type { SightingColumns, Sightings } from '../track/sighting.ts';
import type { BackendChoice, BackendName } from './chooseBackend.ts';
import type { ModelChoice } from './poseModel.ts';

/** Which model runs on what, and why. */
export interface DetectorChoice extends BackendChoice {
  /** The model's name ("movenet-thunder"). */
  readonly model: string;
}

/** The performer is the person nearest to this point (upright pixels) at this time (take seconds). */
export interface PerformerAt {
  readonly timeSec: number;
  readonly xPx: number;
  readonly yPx: number;
}

/** What to read and how. */
export interface ReadRequest {
  readonly source: TakeSource;
  readonly model: ModelChoice;
  /** Pictures per second of numbered stills. */
  readonly stillsRate: number;
  /** Seconds between pictures in which people are counted; 0 = never. */
  readonly countPeopleEverySec: number;
  /** Where the animator pointed the performer out; rising times, empty = the reader chooses. */
  readonly performer: readonly PerformerAt[];
  /** Use this backend only; null = choose. */
  readonly backend: BackendName | null;
  /** Read pixels this way only; null = time both and choose. */
  readonly pixelWay: PixelWay | null;
}

/** Everything that reading a take gives. */
export interface TakeReading {
  readonly footage: Footage;
  readonly sightings: Sightings;
  readonly detector: DetectorChoice;
  /** How pixels were got out of the decoder. */
  readonly pixelWay: PixelWay | null;
}

/** Joints of some pictures. */
export interface SightingsBatch {
  /** Places in the promised footage, rising. */
  readonly pictures: Int32Array;
  /** One row per entry of `pictures`. */
  readonly columns: SightingColumns;
  readonly people: readonly { readonly timeSec: number; readonly count: number }[];
}

/** What is told while reading. */
export type ReadProgress =
  | { readonly kind: 'footage'; readonly footage: Footage }
  | { readonly kind: 'detector'; readonly detector: DetectorChoice }
  | { readonly kind: 'batch'; readonly batch: SightingsBatch };

/** The worker's calls: name → [request, reply, progress]. */
export type DetectCalls = {
  readonly read: readonly [ReadRequest, TakeReading, ReadProgress];
};
