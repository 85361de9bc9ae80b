import type { Job } from '../ingest/calls.ts';
import type { OpenTake } from '../ingest/openTake.ts';
import type { Picture } from '../ingest/picture.ts';
import {
  checkSightings,
  emptySightingColumns,
  jointsPerPicture,
  type SightingColumns,
  type Sightings,
  sightingRows,
} from '../track/sighting.ts';
import { ActorReader } from './actorReader.ts';
import type { PeopleFinder, PoseModel } from './poseModel.ts';
import type { DetectorChoice, ReadProgress, TakeReading } from './protocol.ts';

/** A model ready to run, and why it runs where it does. */
export interface Detector {
  readonly model: PoseModel;
  readonly finder: PeopleFinder | null;
  readonly choice: DetectorChoice;
}

/** Batches are sent at most this often, milliseconds: the page draws no faster, and messages cost. */
const batchEvery = 80;

/**
 * Reads all pictures of a take. Decoding of the next picture overlaps with work on this one; nothing is kept of a
 * picture but its joints, so memory grows by about 200 bytes a picture.
 * @param countEverySec seconds between pictures in which people are counted; 0 = never.
 * @throws WorldFailure; an AbortError when the job is cancelled.
 */
export async function readTake(
  take: OpenTake,
  detector: Detector,
  countEverySec: number,
  job: Job<ReadProgress>,
): Promise<TakeReading> {
  const { footage } = take;
  const columns = emptySightingColumns(footage.timesSec.length);
  const peopleSeen: { timeSec: number; count: number }[] = [];
  const reader = new ActorReader(detector.model, detector.finder, footage.widthPx, footage.heightPx);
  const outbox = new Outbox(job, columns, peopleSeen);
  const began = performance.now();
  let idle = 0;
  let nextCountSec = countEverySec > 0 ? 0 : Number.POSITIVE_INFINITY;

  await forEachAhead(take.pictures(), async (picture) => {
    const before = performance.now();
    await job.goOn();
    idle += performance.now() - before;
    const timeSec = footage.timesSec[picture.index]!;
    const count = timeSec >= nextCountSec - 1e-9;
    if (count) nextCountSec = timeSec + countEverySec;
    const { pose, people } = await reader.read(picture, count);
    const row = picture.index * jointsPerPicture;
    columns.xPx.set(pose.xPx, row);
    columns.yPx.set(pose.yPx, row);
    columns.confidence.set(pose.confidence, row);
    if (people !== null) peopleSeen.push({ timeSec, count: people });
    outbox.add(picture.index);
  });
  outbox.send();

  const settled = take.settle();
  const kept = settled.kept;
  const readSeconds = (performance.now() - began - idle) / 1000;
  const sightings: Sightings = {
    detector: {
      model: detector.choice.model,
      backend: detector.choice.backend,
      millisecondsPerFrame: (1000 * readSeconds) / kept.length,
      readSeconds,
    },
    widthPx: footage.widthPx,
    heightPx: footage.heightPx,
    timesSec: settled.footage.timesSec,
    ...sightingRows(columns, kept),
    readCount: kept.length,
    peopleSeen,
  };
  checkSightings(sightings);
  return { footage: settled.footage, sightings, detector: detector.choice, pixelWay: take.pixelWay() };
}

/** Works through pictures with the next one already asked for; closes every one of them, whatever happens. */
async function forEachAhead(
  pictures: AsyncGenerator<Picture, void, undefined>,
  work: (picture: Picture) => Promise<void>,
): Promise<void> {
  let next = pictures.next();
  try {
    for (;;) {
      const here = await next;
      if (here.done) return;
      next = pictures.next();
      // Seen by nobody until the next turn: it must not count as unhandled meanwhile.
      next.catch(() => {});
      try {
        await work(here.value);
      } finally {
        here.value.close();
      }
    }
  } catch (error) {
    const ahead = await next.catch(() => null);
    if (ahead && !ahead.done) ahead.value.close();
    throw error;
  } finally {
    await pictures.return();
  }
}

class Outbox {
  #pictures: number[] = [];
  #peopleSent = 0;
  #sentAt = performance.now();

  constructor(
    readonly job: Job<ReadProgress>,
    readonly columns: SightingColumns,
    readonly peopleSeen: readonly { readonly timeSec: number; readonly count: number }[],
  ) {}

  add(picture: number): void {
    this.#pictures.push(picture);
    if (performance.now() - this.#sentAt >= batchEvery) this.send();
  }

  send(): void {
    if (this.#pictures.length === 0) return;
    const pictures = Int32Array.from(this.#pictures);
    const columns = sightingRows(this.columns, pictures);
    const batch = { pictures, columns, people: this.peopleSeen.slice(this.#peopleSent) };
    this.#peopleSent = this.peopleSeen.length;
    this.#pictures = [];
    this.#sentAt = performance.now();
    const buffers = [pictures.buffer, ...Object.values(columns).map((column) => column.buffer)];
    this.job.progress({ kind: 'batch', batch }, buffers);
  }
}
