import type { Outcome } from '../base/failure.ts';
import type { Footage } from '../base/footage.ts';
import { type PauseSwitch, WorkerCalls } from '../ingest/calls.ts';
import type { TakeSource } from '../ingest/openTake.ts';
import type { PixelWay } from '../ingest/picture.ts';
import {
  emptySightingColumns,
  jointsPerPicture,
  type Sightings,
  sightingColumns,
  sightingRows,
} from '../track/sighting.ts';
import type { BackendName } from './chooseBackend.ts';
import type { ModelChoice } from './poseModel.ts';
import type {
  DetectCalls,
  DetectorChoice,
  PerformerAt,
  ReadProgress,
  SightingsBatch,
  TakeReading,
} from './protocol.ts';

/** How a take is read. */
export interface ReadOptions {
  /** Default "accurate". */
  readonly model?: ModelChoice;
  /** Pictures per second of numbered stills. Default 24. */
  readonly stillsRate?: number;
  /** Seconds between pictures in which people are counted; 0 = never. Default 0.5. */
  readonly countPeopleEverySec?: number;
  /** Where the animator pointed the performer out. Default: nowhere, the reader chooses. */
  readonly performer?: readonly PerformerAt[];
  /** Use this backend only. Default: the fastest that works. */
  readonly backend?: BackendName;
  /** Read pixels this way only. Default: the faster one. */
  readonly pixelWay?: PixelWay;
}

/** How far a reading has come. A new object at each report; it may be kept. */
export interface ReadingState {
  /** Null until the file is open. */
  readonly footage: Footage | null;
  /** Null until the model is loaded and timed. */
  readonly detector: DetectorChoice | null;
  readonly picturesDone: number;
  /** 0 until the file is open. */
  readonly pictureCount: number;
  /** Over the last few seconds; NaN before the first pictures. */
  readonly picturesPerSecond: number;
  /** NaN while unknown. */
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

/** What may accompany a reading. */
export interface ReadHooks {
  readonly onProgress?: ((state: ReadingState) => void) | undefined;
  readonly signal?: AbortSignal | undefined;
  readonly pause?: PauseSwitch | undefined;
}

/** Reads takes in a worker. Keep one for several takes: the model is loaded and timed once. */
export class TakeReader {
  readonly #calls = new WorkerCalls<DetectCalls>(
    new Worker(new URL('./detect.worker.ts', import.meta.url), { type: 'module', name: 'detect' }),
  );

  /** Reads a take; see `readTake`. One at a time. */
  read(source: TakeSource, options: ReadOptions = {}, hooks: ReadHooks = {}): Promise<Outcome<TakeReading>> {
    const gathered = new GatheredReading();
    return this.#calls.call(
      'read',
      {
        source: source instanceof File ? source : [...source],
        model: options.model ?? 'accurate',
        stillsRate: options.stillsRate ?? 24,
        countPeopleEverySec: options.countPeopleEverySec ?? 0.5,
        performer: options.performer ?? [],
        backend: options.backend ?? null,
        pixelWay: options.pixelWay ?? null,
      },
      {
        signal: hooks.signal,
        pause: hooks.pause,
        onProgress: (progress) => {
          gathered.take(progress);
          hooks.onProgress?.(gathered.state());
        },
      },
    );
  }

  /** Ends the worker and releases the model. */
  close(): void {
    this.#calls.close();
  }
}

/**
 * Reads a take in a worker of its own: every picture's joints, and what the footage is. Progress, pause and cancel by
 * `hooks`; after a cancel (failure `cancelled`) what was seen is in the last progress state.
 */
export async function readTake(
  source: TakeSource,
  options: ReadOptions = {},
  hooks: ReadHooks = {},
): Promise<Outcome<TakeReading>> {
  const reader = new TakeReader();
  try {
    return await reader.read(source, options, hooks);
  } finally {
    reader.close();
  }
}

/** Puts the batches together on the page. */
class GatheredReading {
  #footage: Footage | null = null;
  #detector: DetectorChoice | null = null;
  #columns = emptySightingColumns(0);
  #people: { readonly timeSec: number; readonly count: number }[] = [];
  #done = 0;
  #lastPicture = -1;
  /** Times at which pictures were reported, for the rate: [milliseconds, done by then]. */
  #pace: { at: number; done: number }[] = [];

  take(progress: ReadProgress): void {
    if (progress.kind === 'detector') this.#detector = progress.detector;
    else if (progress.kind === 'footage') {
      this.#footage = progress.footage;
      this.#columns = emptySightingColumns(progress.footage.timesSec.length);
    } else this.#add(progress.batch);
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
    }
    this.#people.push(...batch.people);
    this.#done += batch.pictures.length;
    const now = performance.now();
    this.#pace.push({ at: now, done: this.#done });
    while (this.#pace.length > 2 && now - this.#pace[0]!.at > 4000) this.#pace.shift();
  }

  state(): ReadingState {
    const footage = this.#footage;
    const first = this.#pace[0];
    const last = this.#pace[this.#pace.length - 1];
    const rate = first && last && last.at > first.at ? (1000 * (last.done - first.done)) / (last.at - first.at) : NaN;
    const count = footage?.timesSec.length ?? 0;
    return {
      footage,
      detector: this.#detector,
      picturesDone: this.#done,
      pictureCount: count,
      picturesPerSecond: rate,
      secondsLeft: (count - this.#done) / rate,
      newest: this.#newest(),
      sightingsSoFar: () => this.#sightings(),
    };
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

  #sightings(): Sightings | null {
    const footage = this.#footage;
    if (!footage) return null;
    return {
      detector: {
        model: this.#detector?.model ?? 'none yet',
        backend: this.#detector?.backend ?? 'none yet',
        millisecondsPerFrame: Number.NaN,
        readSeconds: Number.NaN,
      },
      widthPx: footage.widthPx,
      heightPx: footage.heightPx,
      timesSec: footage.timesSec,
      ...sightingRows(this.#columns, Int32Array.from(footage.timesSec.keys())),
      readCount: this.#lastPicture + 1,
      peopleSeen: [...this.#people],
    };
  }
}
