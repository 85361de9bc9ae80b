import '@fontsource/atkinson-hyperlegible-next/400.css';
import '@fontsource/atkinson-hyperlegible-next/700.css';
import '@fontsource/atkinson-hyperlegible-mono/400.css';
import '@fontsource/atkinson-hyperlegible-mono/700.css';
import './batch.css';
import { mount, unmount } from 'svelte';
import { present } from '../base/assert.ts';
import { failed, good, type Outcome } from '../base/failure.ts';
import type { Footage } from '../base/footage.ts';
import {
  type BatchJob,
  type BatchPlan,
  type BatchProgress,
  type BatchReading,
  type BatchReply,
  batchHook,
  progressHook,
} from '../cli/batchJob.ts';
import { TakeReader } from '../detect/client.ts';
import { readSound } from '../ingest/sound.ts';
import type { Heard } from '../plan/heard.ts';
import { buildPlan, type Plan } from '../plan/plan.ts';
import { planJson } from '../plan/planJson.ts';
import { sheetCsv } from '../plan/sheetCsv.ts';
import { choicesOf, newBook } from '../project/book.ts';
import { computeTiming } from '../timing/computeTiming.ts';
import { findOnsets } from '../timing/onsets.ts';
import { fitTracks } from '../track/fitTracks.ts';
import { pictureAt } from './pictureAt.ts';
import PrintedPages from './sheet/PrintedPages.svelte';
import { leastPictures, nobodySeen, tooShort } from './takeFailures.ts';
import { showFootage, sourceOf } from './takeOnScreen.ts';

/**
 * The app without its screens, for the command line: the same rooms, called once. The files are those in the page's file
 * input; the printed pages are left in the document.
 */
const batch = { plan, read };
(window as unknown as Record<string, unknown>)[batchHook] = batch;

const reader = new TakeReader();
const input = present(document.querySelector<HTMLInputElement>('input[type=file]'), 'file input');
const pagesPlace = present(document.getElementById('pages'), 'place for pages');
let shownPages: Record<string, unknown> | null = null;

async function plan(job: BatchJob): Promise<BatchReply<BatchPlan>> {
  if (shownPages) await unmount(shownPages);
  shownPages = null;
  const reading = await readFiles(job);
  if (!reading.ok) return { ok: false, sentence: reading.failure.sentence };
  const made = planOf(reading.value, await hear(reading.value.footage), job);
  if (!made.ok) return { ok: false, sentence: made.failure.sentence };
  const { timing, doubts, detector } = made.value;
  await layOutPages(made.value, job);
  return {
    ok: true,
    value: {
      planJson: `${JSON.stringify(planJson(made.value))}\n`,
      sheetCsv: sheetCsv(made.value),
      pageCount: document.querySelectorAll('.page').length,
      summary: {
        pictureCount: reading.value.footage.timesSec.length,
        frameCount: timing.grid.frameCount,
        keyCount: timing.keys.length,
        holdCount: timing.holds.length,
        exposureCount: timing.exposures.length,
        doubtCount: doubts.length,
        model: detector.model,
        backend: detector.backend,
        readSeconds: detector.readSeconds,
      },
    },
  };
}

async function read(job: BatchJob): Promise<BatchReply<BatchReading>> {
  const reading = await readFiles(job);
  return reading.ok ? reading : { ok: false, sentence: reading.failure.sentence };
}

async function readFiles(job: BatchJob): Promise<Outcome<BatchReading>> {
  const tell = (window as unknown as Record<string, ((p: BatchProgress) => void) | undefined>)[progressHook];
  const outcome = await reader.read(
    sourceOf([...(input.files ?? [])]),
    { depth: job.model, stillsRate: job.stillsFps },
    {
      onProgress: ({ picturesDone, pictureCount, secondsLeft }) => tell?.({ picturesDone, pictureCount, secondsLeft }),
    },
  );
  if (!outcome.ok) return outcome;
  const { footage, sightings } = outcome.value;
  return good({ footage, sightings });
}

/** The take's sound, where it has any that can be read; a plan needs none. */
async function hear({ codec, firstStampSec, endSec }: Footage): Promise<Heard | null> {
  const file = input.files?.[0];
  if (!file || codec === 'stills') return null;
  const outcome = await readSound({ file, firstStampSec, endSec });
  return outcome.ok && outcome.value ? { track: outcome.value, onsets: findOnsets(outcome.value) } : null;
}

function planOf({ footage, sightings }: BatchReading, heard: Heard | null, job: BatchJob): Outcome<Plan> {
  if (sightings.readCount < leastPictures) return { ok: false, failure: tooShort(sightings.readCount) };
  const book = {
    ...newBook(job.shotName),
    rate: { frames: job.rate.frames, seconds: job.rate.seconds },
    onFrames: job.onFrames,
    puppetHeightMm: job.puppetHeightMm,
  };
  const tracks = fitTracks(sightings, book.corrections, { mirrored: book.mirrored });
  if (tracks.joints.length === 0) return failed(nobodySeen.code, nobodySeen.sentence);
  const timing = computeTiming(tracks, choicesOf(book, 0, footage.endSec));
  return good(buildPlan({ book, footage, sightings, tracks, timing, heard }));
}

/** Lays the printed pages into the document and waits for their pictures and fonts. */
async function layOutPages(made: Plan, job: BatchJob): Promise<void> {
  const take = showFootage([...(input.files ?? [])], job.stillsFps, made.footage);
  await new Promise<void>((onready) => {
    shownPages = mount(PrintedPages, {
      target: pagesPlace,
      props: {
        plan: made,
        choices: { paper: 'A4', withCharts: true },
        take,
        pictureAt: (takeSec: number) => pictureAt(made.footage.timesSec, takeSec),
        onScreen: false,
        onready,
      },
    });
  });
  take.close();
  await document.fonts.ready;
}
