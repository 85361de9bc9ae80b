import type { Footage } from '../base/footage.ts';
import type { FrameRate } from '../base/frameRate.ts';
import type { Orientation, PageKind, PaperName } from '../base/paper.ts';
import type { PuppetProfile } from '../puppet/profile.ts';
import type { OnFrames } from '../timing/timing.ts';
import type { Sightings } from '../track/sighting.ts';

/** How thoroughly a take is read: one look at each picture, or that and then a careful one. */
export type ModelChoice = 'quick' | 'fine';

/** What the command line asks the headless page to do with the files it has handed over. Plain values only. */
export interface BatchJob {
  /** The shot's name, printed on the sheet: the file name without extension. */
  readonly shotName: string;
  readonly model: ModelChoice;
  /** Pictures per second of a folder of stills; not used for a video. */
  readonly stillsFps: number;
  readonly rate: FrameRate;
  readonly onFrames: OnFrames;
  readonly puppet: PuppetProfile;
  /** Left out = what a new shot prints, on A4. */
  readonly print?: PrintWish;
}

/** What is printed of a take, and on what. */
export interface PrintWish {
  readonly paper: PaperName;
  readonly orientation: Orientation;
  /** Never empty; null = those that a new shot prints. */
  readonly pages: readonly PageKind[] | null;
}

/** The finished files of one take, and the few numbers that the summary line shows. */
export interface BatchPlan {
  readonly planJson: string;
  readonly sheetCsv: string;
  /** How many pages stand in the page's document, ready to be printed. */
  readonly pageCount: number;
  readonly summary: {
    readonly pictureCount: number;
    readonly frameCount: number;
    readonly keyCount: number;
    readonly holdCount: number;
    readonly exposureCount: number;
    readonly doubtCount: number;
    readonly model: string;
    readonly backend: string;
    readonly readSeconds: number;
  };
}

/** What was read of one take, before anything is computed from it. Typed arrays cross from the page as they are. */
export interface BatchReading {
  readonly footage: Footage;
  readonly sightings: Sightings;
}

/** Either the thing asked for or the sentence to print; crosses from the page as plain values. */
export type BatchReply<T> =
  | { readonly ok: true; readonly value: T }
  | { readonly ok: false; readonly sentence: string };

/** How far the reading of the present take has come. */
export interface BatchProgress {
  readonly picturesDone: number;
  readonly pictureCount: number;
  /** Seconds left at the present rate; NaN while unknown. */
  readonly secondsLeft: number;
}

/** Name of the function that the command line puts into the page to hear of progress. */
export const progressHook = 'nudgebookProgress';
/** Name of the object that the page puts on its window (see `app/batch.ts`). */
export const batchHook = 'nudgebookBatch';
