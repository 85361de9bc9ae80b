import { existsSync } from 'node:fs';
import { basename, join } from 'node:path';
import { parseArgs } from 'node:util';
import { BatchBrowser } from './batchBrowser.ts';
import type { BatchReading, ModelChoice } from './batchJob.ts';
import { accuracyReport, measureTake, type TakeAccuracy } from './benchAccuracy.ts';
import { pipelineReport, readPlainly } from './benchPipeline.ts';
import { truthTakes } from './benchTruth.ts';
import { projectRoot } from './builtApp.ts';
import { ProgressLine } from './progressLine.ts';

const usage = `Usage: npm run bench -- [pipeline|accuracy] [--model fast|accurate] [--truth DIR] [--take VIDEO]

  pipeline  pictures per second of reading, beside the plain way
  accuracy  errors on takes whose truth is known, our tracks beside three plain ways
            (without either word: both)
  --model   the detector. Without it: accurate
  --truth   a folder with more takes of known truth, as NAME.mp4 and NAME.truth.json
  --take    the video whose reading is timed. Without it: the demo take`;

const ownTakes = join(projectRoot, 'fixtures/takes');

interface Wish {
  readonly parts: ReadonlySet<string>;
  readonly model: ModelChoice;
  readonly truthFolders: readonly string[];
  readonly timedTake: string;
}

function readWish(): Wish {
  const { values, positionals } = parseArgs({
    options: { model: { type: 'string' }, truth: { type: 'string' }, take: { type: 'string' } },
    allowPositionals: true,
  });
  const parts = new Set(positionals.length > 0 ? positionals : ['pipeline', 'accuracy']);
  const strange = [...parts].find((part) => part !== 'pipeline' && part !== 'accuracy');
  if (strange) throw new Error(`There is no benchmark “${strange}”.\n\n${usage}`);
  const model = values.model ?? 'accurate';
  if (model !== 'fast' && model !== 'accurate')
    throw new Error(`--model takes fast or accurate, not “${model}”.\n\n${usage}`);
  const timedTake = values.take ?? join(ownTakes, 'keeper.mp4');
  const missing = [values.truth ?? ownTakes, timedTake].find((path) => !existsSync(path));
  if (missing) throw new Error(`There is nothing at ${missing}.\n\n${usage}`);
  return { parts, model, truthFolders: [ownTakes, ...(values.truth ? [values.truth] : [])], timedTake };
}

async function read(browser: BatchBrowser, videoPath: string, model: ModelChoice): Promise<BatchReading> {
  const progress = new ProgressLine(basename(videoPath));
  const rate = { frames: 24, seconds: 1 };
  const job = { shotName: '', model, stillsFps: 24, rate, onFrames: 2, puppetHeightMm: 250 } as const;
  const reply = await browser.read([videoPath], job, (p) => progress.show(p));
  progress.close();
  if (!reply.ok) throw new Error(`${videoPath}: ${reply.sentence}`);
  return reply.value;
}

async function bench(): Promise<void> {
  const { parts, model, truthFolders, timedTake } = readWish();
  const browser = await BatchBrowser.open((line) => console.error(line));
  let timed: BatchReading | null = null;
  const accuracies: TakeAccuracy[] = [];
  try {
    if (parts.has('pipeline')) timed = await read(browser, timedTake, model);
    for (const take of parts.has('accuracy') ? truthFolders.flatMap(truthTakes) : [])
      accuracies.push(measureTake(take, await read(browser, take.videoPath, model)));
  } finally {
    await browser.close();
  }
  // Timed when the other browser has gone: the two must not share the processor.
  if (timed) console.log(`${pipelineReport(basename(timedTake), timed, await readPlainly(timedTake, timed))}\n`);
  if (accuracies.length > 0) console.log(accuracyReport(accuracies));
}

bench().catch((error: unknown) => {
  console.error(error instanceof Error ? error.message : String(error));
  process.exitCode = 1;
});
