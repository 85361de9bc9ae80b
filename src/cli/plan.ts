import { readFileSync } from 'node:fs';
import { failed, good, type Outcome } from '../base/failure.ts';
import { readPuppet } from '../project/puppetSchema.ts';
import { newPuppet } from '../puppet/builtIn.ts';
import { type PuppetProfile, puppetOfHeight } from '../puppet/profile.ts';
import { BatchBrowser } from './batchBrowser.ts';
import { type PlanRequest, type PlanTarget, parsePlanArguments } from './planArguments.ts';
import { ProgressLine } from './progressLine.ts';
import { takeFiles } from './takeFiles.ts';
import { writeWhole } from './writeWhole.ts';

/** `npm run plan`: takes in, plan.json, sheet.csv and sheet.pdf out. Gives the exit code. */
async function main(words: readonly string[]): Promise<number> {
  const parsed = parsePlanArguments(words);
  if (!parsed.ok) {
    (parsed.exitCode === 0 ? console.log : console.error)(parsed.say);
    return parsed.exitCode;
  }
  const puppet = puppetOf(parsed.request);
  if (!puppet.ok) {
    console.error(puppet.failure.sentence);
    return 2;
  }
  const browser = await BatchBrowser.open((line) => console.error(line));
  let failures = 0;
  try {
    for (const take of parsed.request.takes) {
      const sentence = await planOne(browser, take, parsed.request, puppet.value);
      if (sentence === null) continue;
      failures++;
      console.error(`${take.name}: ${sentence}`);
    }
  } finally {
    await browser.close();
  }
  return failures === 0 ? 0 : 1;
}

/** Plans one take and prints its summary. Null when all went well, else the sentence that says why not. */
async function planOne(
  browser: BatchBrowser,
  take: PlanTarget,
  request: PlanRequest,
  puppet: PuppetProfile,
): Promise<string | null> {
  const files = takeFiles(take.path);
  if (!files.ok) return files.failure.sentence;
  const progress = new ProgressLine(take.name);
  const { rate, onFrames, stillsFps, model, print } = request;
  const job = { shotName: take.name, model, stillsFps, rate, onFrames, puppet, print };
  const reply = await browser.plan(files.value, job, (p) => progress.show(p));
  progress.close();
  if (!reply.ok) return reply.sentence;
  const { plan, sheetPdf } = reply.value;
  try {
    writeWhole(take.outDir, { 'plan.json': plan.planJson, 'sheet.csv': plan.sheetCsv, 'sheet.pdf': sheetPdf });
  } catch (error) {
    return `the plan could not be written to ${take.outDir} (${(error as Error).message}). Choose another folder with --out.`;
  }
  const s = plan.summary;
  console.log(
    `${take.name}: ${s.frameCount} frames at ${rate.label} fps, ${s.keyCount} keys, ${s.holdCount} holds, ${s.exposureCount} exposures, ` +
      `${s.doubtCount} doubts; ${s.pictureCount} pictures read in ${s.readSeconds.toFixed(1)} s (${s.model}, ${s.backend}) → ${take.outDir}`,
  );
  return null;
}

/** The puppet that was asked for: its file's or one like a person, built to the height that was named. */
function puppetOf({ puppetFile, puppetHeightMm }: PlanRequest): Outcome<PuppetProfile> {
  const read = puppetFile === null ? good(newPuppet) : readPuppetFile(puppetFile);
  return read.ok && puppetHeightMm !== null ? good(puppetOfHeight(read.value, puppetHeightMm)) : read;
}

function readPuppetFile(path: string): Outcome<PuppetProfile> {
  let text: string;
  try {
    text = readFileSync(path, 'utf8');
  } catch (error) {
    return failed(
      'puppet-unreadable',
      `The puppet file ${path} cannot be read (${(error as Error).message}). Check the name after --puppet.`,
    );
  }
  return readPuppet(text);
}

main(process.argv.slice(2)).then(
  (exitCode) => {
    process.exitCode = exitCode;
  },
  (error: unknown) => {
    console.error(error instanceof Error ? error.message : String(error));
    process.exitCode = 1;
  },
);
