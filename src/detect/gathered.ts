import type { Footage } from '../base/footage.ts';
import {
  emptySightingColumns,
  jointsPerPicture,
  type SightingColumns,
  type Sightings,
  sightingColumns,
  sightingRows,
} from '../track/sighting.ts';
import type { ReadingDepth } from './poseModel.ts';
import type { DetectorChoice, ReadProgress, SightingsBatch, StepsBatch, TakeReading } from './protocol.ts';

/** The passes of a reading: the quick one, the fine one, and the one that follows the picture around the joints. */
export type ReadingPass = ReadingDepth | 'follow';

/** How far a reading has come. A new object at each report; it may be kept. */
export interface ReadingState {
  /** Which pass is under way. */
  readonly pass: ReadingPass;
  /** Null until the file is open. */
  readonly footage: Footage | null;
  /** Null until the model of this pass is loaded and timed. */
  readonly detector: DetectorChoice | null;
  /** In this pass. */
  readonly picturesDone: number;
  /** 0 until the file is open. */
  readonly pictureCount: number;
  /** Over the last few seconds; NaN before the first pictures. */
  readonly picturesPerSecond: number;
  /** In this pass; NaN while unknown. */
  readonly secondsLeft: number;
  /** The joints last seen, for drawing while reading; null before. */
  readonly newest: NewestPose | null;
  /** What has been seen so far, as a copy; null until the file is open. */
  sightingsSoFar(): Sightings | null;
}

/** The joints of the picture last read. Shape [joint], upright pixels. */
export interface NewestPose {
  readonly picture: number;
  readonly timeSec: number;
  readonly xPx: Float32Array;
  readonly yPx: Float32Array;
  readonly confidence: Float32Array;
}

/** Puts the batches of a reading's passes together on the page. */
export class GatheredReading {
  #pass: ReadingPass = 'quick';
  /** How many pictures, from the first on, have been looked at finely. */
  #fineCount = 0;
  #footage: Footage | null = null;
  #detector: DetectorChoice | null = null;
  #columns = emptySightingColumns(0);
  #people: { readonly timeSec: number; readonly count: number }[] = [];
  /** Shape [picture]: 1 where it has been seen in this pass. */
  #seen = new Uint8Array(0);
  #done = 0;
  #readCount = 0;
  #lastPicture = -1;
  /** Sightings that a pass began with: what they say of the detector stands until the next pass has told its own. */
  #before: Sightings | null = null;
  /** Times at which pictures were reported, for the rate: [milliseconds, done by then]. */
  #pace: { at: number; done: number }[] = [];

  /** Begins with what an earlier quick pass had seen. */
  resumeQuick(before: Sightings): void {
    this.#before = before;
  }

  /** Begins the fine pass over a whole quick reading, of which the first `fineCount` pictures are done. */
  beginFine({ footage, sightings }: Pick<TakeReading, 'footage' | 'sightings'>): void {
    this.#pass = 'fine';
    this.#footage = footage;
    this.#detector = null;
    this.#before = sightings;
    this.#lay(sightings, footage.timesSec.length, sightings.fineCount ?? 0);
    this.#readCount = sightings.readCount;
    this.#pace = [];
  }

  /** Begins to follow the picture around the joints of a whole reading, of which the first `followCount` pictures are done. */
  beginFollow({ footage, sightings }: Pick<TakeReading, 'footage' | 'sightings'>): void {
    this.#pass = 'follow';
    this.#footage = footage;
    this.#before = sightings;
    this.#lay(sightings, footage.timesSec.length, sightings.followCount ?? 0);
    this.#fineCount = sightings.fineCount ?? 0;
    this.#readCount = sightings.readCount;
    this.#pace = [];
  }

  take(progress: ReadProgress): void {
    if (progress.kind === 'steps') this.#addSteps(progress.batch);
    else if (progress.kind === 'detector') this.#detector = progress.detector;
    else if (progress.kind === 'footage') {
      this.#footage = progress.footage;
      const count = progress.footage.timesSec.length;
      if (this.#before) this.#lay(this.#before, count, this.#before.readCount);
      else this.#lay(null, count, 0);
    } else this.#add(progress.batch);
  }

  /** How many pictures, from the first on, this pass has seen without a gap. */
  get prefix(): number {
    const gap = this.#seen.indexOf(0);
    return gap < 0 ? this.#seen.length : gap;
  }

  state(): ReadingState {
    const footage = this.#footage;
    const first = this.#pace[0];
    const last = this.#pace[this.#pace.length - 1];
    const rate = first && last && last.at > first.at ? (1000 * (last.done - first.done)) / (last.at - first.at) : NaN;
    const count = footage?.timesSec.length ?? 0;
    return {
      pass: this.#pass,
      footage,
      detector: this.#detector,
      picturesDone: this.#done,
      pictureCount: count,
      picturesPerSecond: rate,
      secondsLeft: (count - this.#done) / rate,
      newest: this.#newest(),
      sightingsSoFar: () => this.sightings(),
    };
  }

  /** What has been seen so far, as a copy. */
  sightings(): Sightings | null {
    const footage = this.#footage;
    if (!footage) return null;
    return {
      detector: {
        model: this.#detector?.model ?? this.#before?.detector.model ?? 'none yet',
        backend: this.#detector?.backend ?? this.#before?.detector.backend ?? 'none yet',
        millisecondsPerFrame: Number.NaN,
        readSeconds: Number.NaN,
      },
      widthPx: footage.widthPx,
      heightPx: footage.heightPx,
      timesSec: footage.timesSec,
      ...sightingRows(this.#columns, Int32Array.from(footage.timesSec.keys())),
      readCount: this.#readCount,
      ...(this.#pass === 'fine' ? { fineCount: this.prefix } : {}),
      ...(this.#pass === 'follow' ? { followCount: this.prefix } : {}),
      ...(this.#pass === 'follow' && this.#fineCount > 0 ? { fineCount: this.#fineCount } : {}),
      peopleSeen: [...this.#people],
    };
  }

  #lay(columns: (SightingColumns & Pick<Sightings, 'peopleSeen'>) | null, count: number, done: number): void {
    this.#columns = emptySightingColumns(count);
    for (const name of columns ? sightingColumns : []) this.#columns[name].set(columns![name]);
    this.#people = [...(columns?.peopleSeen ?? [])];
    this.#seen = new Uint8Array(count).fill(1, 0, done);
    this.#done = done;
    this.#readCount = done;
  }

  #add(batch: SightingsBatch): void {
    for (const [row, picture] of batch.pictures.entries()) {
      const from = row * jointsPerPicture;
      for (const name of sightingColumns)
        this.#columns[name].set(
          batch.columns[name].subarray(from, from + jointsPerPicture),
          picture * jointsPerPicture,
        );
      this.#lastPicture = picture;
      this.#readCount = Math.max(this.#readCount, picture + 1);
      if (!this.#seen[picture]) this.#done++;
      this.#seen[picture] = 1;
    }
    this.#people.push(...batch.people);
    this.#count();
  }

  #addSteps(batch: StepsBatch): void {
    for (const [row, picture] of batch.pictures.entries()) {
      const from = row * jointsPerPicture;
      for (const name of ['onwardXPx', 'onwardYPx', 'onwardSdPx'] as const)
        this.#columns[name].set(batch[name].subarray(from, from + jointsPerPicture), picture * jointsPerPicture);
      this.#lastPicture = picture;
      if (!this.#seen[picture]) this.#done++;
      this.#seen[picture] = 1;
    }
    this.#count();
  }

  #count(): void {
    const now = performance.now();
    this.#pace.push({ at: now, done: this.#done });
    while (this.#pace.length > 2 && now - this.#pace[0]!.at > 4000) this.#pace.shift();
  }

  #newest(): NewestPose | null {
    const picture = this.#lastPicture;
    if (!this.#footage || picture < 0) return null;
    const row = (column: Float32Array) => column.slice(picture * jointsPerPicture, (picture + 1) * jointsPerPicture);
    return {
      picture,
      timeSec: this.#footage.timesSec[picture]!,
      xPx: row(this.#columns.xPx),
      yPx: row(this.#columns.yPx),
      confidence: row(this.#columns.confidence),
    };
  }
}
