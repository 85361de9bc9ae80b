import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { parseArgs } from 'node:util';
import { newPuppet } from '../puppet/builtIn.ts';
import { BatchBrowser } from './batchBrowser.ts';
import type { BatchReading, ModelChoice } from './batchJob.ts';
import { measureTake, type TakeAccuracy } from './benchAccuracy.ts';
import { accuraciesFrom, accuracyJson } from './benchFile.ts';
import { keepReading, takeKept } from './benchKeep.ts';
import { pipelineReport, readPlainly } from './benchPipeline.ts';
import { accuracyReport, comparison } from './benchReport.ts';
import { type TruthTake, truthTakes } from './benchTruth.ts';
import { projectRoot } from './builtApp.ts';
import { ProgressLine } from './progressLine.ts';

const usage = `Usage: npm run bench -- [pipeline|accuracy] [--model quick|fine] [--truth DIR]… [--take VIDEO]
                        [--take-names NAME,…] [--keep DIR [--again]] [--groups] [--json FILE]
                        [--compare FILE]

  pipeline      pictures per second of reading, beside the plain way
  accuracy      errors on takes whose truth is known, our tracks beside three plain ways
                (without either word: both)
  --model       how takes are read. Without it: fine
  --truth       a folder with more takes of known truth, as NAME.mp4 and NAME.truth.json (may be given again;
                NUDGEBOOK_TRUTH in the environment names one, too)
  --take        the video whose reading is timed. Without it: the demo take
  --take-names  only these takes, names with commas between (without it all but those that two people share,
                where nothing says who is to be followed)
  --groups      the errors of head, arms, legs, hands and feet of every way, not of ours alone
  --keep        a folder for what was read of each take: taken from there next time, so that only the tracks are
                computed anew
  --again       reads every take anew, whatever the folder of --keep holds
  --json        writes all numbers into a file ("-": prints them instead of the tables)
  --compare     an earlier file of --json: prints what has changed since`;

const ownTakes = join(projectRoot, 'fixtures/takes');

interface Wish {
  readonly parts: ReadonlySet<string>;
  readonly model: ModelChoice;
  readonly truthFolders: readonly string[];
  readonly timedTake: string;
  readonly takeNames: readonly string[] | null;
  readonly groups: boolean;
  readonly keepFolder: string | null;
  readonly again: boolean;
  readonly jsonFile: string | null;
  readonly before: readonly TakeAccuracy[] | null;
}

/** @returns null when only help is wanted. @throws Error with the usage. */
function readWish(): Wish | null {
  const text = { type: 'string' } as const;
  const { values, positionals } = parseArgs({
    options: {
      model: text,
      truth: { type: 'string', multiple: true },
      take: text,
      'take-names': text,
      groups: { type: 'boolean' },
      keep: text,
      again: { type: 'boolean' },
      help: { type: 'boolean' },
      json: text,
      compare: text,
    },
    allowPositionals: true,
  });
  if (values.help) return null;
  const parts = new Set(positionals.length > 0 ? positionals : ['pipeline', 'accuracy']);
  const strange = [...parts].find((part) => part !== 'pipeline' && part !== 'accuracy');
  if (strange) throw new Error(`There is no benchmark “${strange}”.\n\n${usage}`);
  const model = values.model ?? 'fine';
  if (model !== 'quick' && model !== 'fine')
    throw new Error(`--model takes quick or fine, not “${model}”.\n\n${usage}`);
  const timedTake = values.take ?? join(ownTakes, 'keeper.mp4');
  const further = values.truth ?? (process.env.NUDGEBOOK_TRUTH ? [process.env.NUDGEBOOK_TRUTH] : []);
  const missing = [...further, timedTake, ...(values.compare ? [values.compare] : [])].find((p) => !existsSync(p));
  if (missing) throw new Error(`There is nothing at ${missing}.\n\n${usage}`);
  return {
    parts,
    model,
    truthFolders: [ownTakes, ...further],
    timedTake,
    takeNames: values['take-names']?.split(',').filter(Boolean) ?? null,
    groups: values.groups ?? false,
    keepFolder: values.keep ?? null,
    again: values.again ?? false,
    jsonFile: values.json ?? null,
    before: values.compare ? accuraciesFrom(readFileSync(values.compare, 'utf8')) : null,
  };
}

/** Opens a browser when the first take is read, since kept readings need none. */
class LateBrowser {
  private browser: Promise<BatchBrowser> | null = null;

  async read(videoPath: string, model: ModelChoice): Promise<BatchReading> {
    this.browser ??= BatchBrowser.open((line) => console.error(line));
    const browser = await this.browser;
    const progress = new ProgressLine(basename(videoPath));
    const rate = { frames: 24, seconds: 1 };
    const job = { shotName: '', model, stillsFps: 24, rate, onFrames: 2, puppet: newPuppet } as const;
    const reply = await browser.read([videoPath], job, (p) => progress.show(p));
    progress.close();
    if (!reply.ok) throw new Error(`${videoPath}: ${reply.sentence}`);
    return reply.value;
  }

  async close(): Promise<void> {
    await (await this.browser)?.close();
  }
}

/** The kept reading where there is one and it is wanted; else a new one, which is kept if that is wanted. */
async function readOrTake(browser: LateBrowser, take: TruthTake, wish: Wish): Promise<BatchReading> {
  const { model, keepFolder, again } = wish;
  const kept = keepFolder && !again ? takeKept(keepFolder, take.name, model, take.videoPath) : null;
  if (kept) {
    if (!kept.sameCode)
      console.error(`${take.name}: kept before the reading code was changed; --again would read it anew.`);
    return kept.reading;
  }
  const reading = await browser.read(take.videoPath, model);
  if (keepFolder) keepReading(keepFolder, take.name, model, take.videoPath, reading);
  return reading;
}

function chosenTakes({ truthFolders, takeNames }: Wish): TruthTake[] {
  const all = truthFolders.flatMap(truthTakes);
  const strange = takeNames?.find((name) => !all.some((take) => take.name === name));
  if (strange)
    throw new Error(`There is no take “${strange}” of known truth, only ${all.map((take) => take.name).join(', ')}.`);
  return all.filter((take) => (takeNames ? takeNames.includes(take.name) : !take.isShared));
}

async function bench(): Promise<void> {
  const wish = readWish();
  if (!wish) {
    console.log(usage);
    return;
  }
  const { parts, model, timedTake, groups, jsonFile, before } = wish;
  const browser = new LateBrowser();
  let timed: BatchReading | null = null;
  const accuracies: TakeAccuracy[] = [];
  try {
    if (parts.has('pipeline')) timed = await browser.read(timedTake, model);
    for (const take of parts.has('accuracy') ? chosenTakes(wish) : [])
      accuracies.push(measureTake(take, await readOrTake(browser, take, wish)));
  } finally {
    await browser.close();
  }
  // Timed when the other browser has gone: the two must not share the processor.
  if (timed) console.log(`${pipelineReport(basename(timedTake), timed, await readPlainly(timedTake, timed))}\n`);
  if (accuracies.length === 0) return;
  if (jsonFile === '-') console.log(accuracyJson(accuracies));
  else {
    if (jsonFile) writeFileSync(jsonFile, `${accuracyJson(accuracies)}\n`);
    console.log(before ? comparison(before, accuracies, groups) : accuracyReport(accuracies, groups));
  }
}

bench().catch((error: unknown) => {
  console.error(error instanceof Error ? error.message : String(error));
  process.exitCode = 1;
});
