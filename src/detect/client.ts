import type { Failure, Outcome } from '../base/failure.ts';
import { good } from '../base/failure.ts';
import type { Footage } from '../base/footage.ts';
import { type CallHooks, type PauseSwitch, WorkerCalls } from '../ingest/calls.ts';
import type { TakeSource } from '../ingest/openTake.ts';
import type { PixelWay } from '../ingest/picture.ts';
import type { Sightings } from '../track/sighting.ts';
import type { BackendName } from './chooseBackend.ts';
import { layCrops } from './cropPath.ts';
import { GatheredReading, type ReadingState } from './gathered.ts';
import { rowOf } from './outbox.ts';
import type { ReadingDepth } from './poseModel.ts';
import type {
  DetectCalls,
  DetectorChoice,
  PerformerAt,
  ReadProgress,
  RefineRequest,
  SourceRequest,
  TakeReading,
} from './protocol.ts';

/** How a take is read. */
export interface ReadOptions {
  /** Default "fine". */
  readonly depth?: ReadingDepth;
  /** Pictures per second of numbered stills. Default 24. */
  readonly stillsRate?: number;
  /** Seconds between pictures in which people are counted; 0 = never. Default 0.5. */
  readonly countPeopleEverySec?: number;
  /** Use this backend only. Default: the fastest that works. */
  readonly backend?: BackendName;
  /** Read pixels this way only. Default: the faster one. */
  readonly pixelWay?: PixelWay;
  /** Where the animator pointed the performer out. Default: nowhere, the reader chooses. */
  readonly performer?: readonly PerformerAt[];
  /** A reading of the same take that was stopped: it goes on where that one ended. Default: begins anew. */
  readonly resume?: Pick<TakeReading, 'footage' | 'sightings'> | null;
  /** How many workers share the fine pass. Default by the machine (see `fineWorkers`). */
  readonly workers?: number;
}

/** What may accompany a reading. */
export interface ReadHooks {
  readonly onProgress?: ((state: ReadingState) => void) | undefined;
  /** Hears of the whole quick reading, before the fine pass begins. */
  readonly onQuick?: ((reading: TakeReading) => void) | undefined;
  readonly signal?: AbortSignal | undefined;
  readonly pause?: PauseSwitch | undefined;
}

/** The models of the fine pass, as measurement chose them (see DEVELOPERS.md). */
const fineModels = { main: 'movenet-thunder', further: 'blazepose-full' } as const;
/** A worker of several takes at most this many pictures at a time: a stop or a reload then loses little. */
const longestPiece = 60;

/** Reads takes in workers. Keep one for several takes: the models are loaded and timed once. */
export class TakeReader {
  readonly #workers: WorkerCalls<DetectCalls>[] = [];

  /** Reads a take; see `readTake`. One at a time. */
  async read(source: TakeSource, options: ReadOptions = {}, hooks: ReadHooks = {}): Promise<Outcome<TakeReading>> {
    const file: SourceRequest = {
      source: source instanceof File ? source : [...source],
      stillsRate: options.stillsRate ?? 24,
      backend: options.backend ?? null,
      pixelWay: options.pixelWay ?? null,
    };
    const gathered = new GatheredReading();
    const callHooks: CallHooks<ReadProgress> = {
      signal: hooks.signal,
      pause: hooks.pause,
      onProgress: (progress) => {
        gathered.take(progress);
        hooks.onProgress?.(gathered.state());
      },
    };
    const quick = await this.#scan(file, options, gathered, callHooks);
    if (!quick.ok) return quick;
    if (options.depth === 'quick') return this.#follow(file, quick.value, gathered, callHooks);
    hooks.onQuick?.(quick.value);
    // Models of both passes run on what the first of them was found to run on best.
    const isNew = quick.value.sightings !== options.resume?.sightings;
    const backend = isNew ? quick.value.detector.backend : file.backend;
    const fine = await this.#refine({ ...file, backend }, quick.value, options.workers, gathered, callHooks);
    return fine.ok ? this.#follow(file, fine.value, gathered, callHooks) : fine;
  }

  /** Ends the workers and releases the models. */
  close(): void {
    for (const worker of this.#workers) worker.close();
    this.#workers.length = 0;
  }

  async #scan(
    file: SourceRequest,
    options: ReadOptions,
    gathered: GatheredReading,
    hooks: CallHooks<ReadProgress>,
  ): Promise<Outcome<TakeReading>> {
    const { resume } = options;
    const count = resume?.footage.timesSec.length ?? 0;
    if (resume && resume.sightings.readCount >= count) return good(asRead(resume));
    // Where a picture was not decoded, what decoding taught is not in the sightings: then all is read anew.
    const before = resume && resume.sightings.readCount > 0 && isUnbroken(resume.sightings) ? resume.sightings : null;
    if (before) gathered.resumeQuick(before);
    const scanned = await this.#worker(0).call(
      'scan',
      {
        ...file,
        countPeopleEverySec: options.countPeopleEverySec ?? 0.5,
        performer: options.performer ?? [],
        before: before && { readCount: before.readCount, columns: before, people: before.peopleSeen },
      },
      hooks,
    );
    if (!scanned.ok || !before) return scanned;
    // Pictures that were added to a take: those of before keep what later passes had seen in them.
    const { fineCount, followCount } = before;
    return good({ ...scanned.value, sightings: { ...scanned.value.sightings, fineCount, followCount } });
  }

  async #refine(
    file: SourceRequest,
    quick: TakeReading,
    workers: number | undefined,
    gathered: GatheredReading,
    hooks: CallHooks<ReadProgress>,
  ): Promise<Outcome<TakeReading>> {
    const { footage, sightings } = quick;
    const began = performance.now();
    const from = sightings.fineCount ?? 0;
    const end = footage.timesSec.length;
    if (from >= end) return good(quick);
    gathered.beginFine(quick);
    const request = {
      ...file,
      ...fineModels,
      stampsSec: stampsOf(footage),
      crops: layCrops(
        Array.from(footage.timesSec, (_, i) => rowOf(sightings, i)),
        footage.timesSec,
        footage.widthPx,
        footage.heightPx,
      ),
    };
    const many = Math.max(1, workers ?? fineWorkers(file.backend));
    const failure = await this.#share(request, piecesOf(from, end, many), many, hooks);
    if (failure) return { ok: false, failure };
    const seen = gathered.sightings();
    const fineSeconds = (performance.now() - began) / 1000;
    const detector = gathered.state().detector ?? quick.detector;
    return good({
      ...quick,
      detector,
      sightings: {
        ...(seen ?? sightings),
        // Pictures that do not decode are never reported: the pass is over nevertheless.
        fineCount: end,
        readCount: sightings.readCount,
        detector: {
          model: detector.model,
          backend: detector.backend,
          millisecondsPerFrame:
            sightings.detector.millisecondsPerFrame + (1000 * fineSeconds) / Math.max(1, end - from),
          readSeconds: sightings.detector.readSeconds + fineSeconds,
        },
      },
    });
  }

  /** Measures how far the picture goes around the joints that were seen. */
  async #follow(
    file: SourceRequest,
    read: TakeReading,
    gathered: GatheredReading,
    hooks: CallHooks<ReadProgress>,
  ): Promise<Outcome<TakeReading>> {
    const { footage, sightings } = read;
    const began = performance.now();
    const from = sightings.followCount ?? 0;
    const end = footage.timesSec.length;
    if (from >= end) return good(read);
    gathered.beginFollow(read);
    const followed = await this.#worker(0).call(
      'follow',
      { ...file, stampsSec: stampsOf(footage), sightings, from, to: end },
      hooks,
    );
    if (!followed.ok) return followed;
    const { onwardXPx, onwardYPx, onwardSdPx } = gathered.sightings() ?? sightings;
    const seconds = (performance.now() - began) / 1000;
    const { detector } = sightings;
    return good({
      ...read,
      sightings: {
        ...sightings,
        onwardXPx,
        onwardYPx,
        onwardSdPx,
        followCount: end,
        detector: {
          ...detector,
          millisecondsPerFrame: detector.millisecondsPerFrame + (1000 * seconds) / Math.max(1, sightings.readCount),
          readSeconds: detector.readSeconds + seconds,
        },
      },
    });
  }

  /** Hands the pieces out to workers, each the next one when it has done one. @returns the first failure, or null. */
  async #share(
    request: Omit<RefineRequest, 'from' | 'to'>,
    pieces: readonly { readonly from: number; readonly to: number }[],
    many: number,
    hooks: CallHooks<ReadProgress>,
  ): Promise<Failure | null> {
    let failure: Failure | null = null;
    const queue = [...pieces];
    const stop = new AbortController();
    const signal = hooks.signal ? AbortSignal.any([hooks.signal, stop.signal]) : stop.signal;
    const work = async (worker: WorkerCalls<DetectCalls>) => {
      for (let piece = queue.shift(); piece && !failure; piece = queue.shift()) {
        const outcome = await worker.call('refine', { ...request, ...piece }, { ...hooks, signal });
        if (outcome.ok) continue;
        failure ??= outcome.failure;
        stop.abort();
      }
    };
    await Promise.all(Array.from({ length: Math.min(many, pieces.length) }, (_, i) => work(this.#worker(i))));
    return failure;
  }

  #worker(i: number): WorkerCalls<DetectCalls> {
    this.#workers[i] ??= new WorkerCalls<DetectCalls>(
      new Worker(new URL('./detect.worker.ts', import.meta.url), { type: 'module', name: 'detect' }),
    );
    return this.#workers[i];
  }
}

/**
 * Reads a take in workers of its own: every picture's joints, and what the footage is. Progress, pause and cancel by
 * `hooks`; after a cancel (failure `cancelled`) or another failure what was seen is in the last progress state.
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

/**
 * How many workers share the fine pass. On a processor each keeps one core busy, and half of them are left to decoding
 * and to the page; a graphics card is kept busy by one.
 */
export function fineWorkers(backend: BackendName | null, cores = navigator.hardwareConcurrency ?? 2): number {
  return backend === 'wasm' ? Math.min(4, Math.max(1, cores >> 1)) : 1;
}

/** The pictures' own time stamps in the file, seconds. */
function stampsOf(footage: Footage): Float64Array {
  return footage.timesSec.map((time) => time + footage.firstStampSec);
}

/** The pictures `from` ≤ i < `end` in runs for so many workers: one for a single worker, else short ones in order. */
export function piecesOf(from: number, end: number, many: number): { from: number; to: number }[] {
  const share = Math.max(1, Math.ceil((end - from) / many));
  const length = many === 1 ? share : Math.min(longestPiece, share);
  const pieces: { from: number; to: number }[] = [];
  for (let at = from; at < end; at += length) pieces.push({ from: at, to: Math.min(end, at + length) });
  return pieces;
}

function isUnbroken(sightings: Sightings): boolean {
  for (let i = 0; i < sightings.readCount; i++) if (Number.isNaN(rowOf(sightings, i).xPx[0]!)) return false;
  return true;
}

/** A reading kept from before, as if it had just been made. */
function asRead(kept: Pick<TakeReading, 'footage' | 'sightings'>): TakeReading {
  const { model, backend, millisecondsPerFrame } = kept.sightings.detector;
  const detector: DetectorChoice = {
    model,
    backend: backend as BackendName,
    millisecondsPerEstimate: millisecondsPerFrame,
    reason: 'Read before.',
  };
  return { footage: kept.footage, sightings: kept.sightings, detector, pixelWay: null };
}
