import { spawn, spawnSync } from 'node:child_process';
import { mkdirSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { availableParallelism } from 'node:os';
import { join } from 'node:path';
import { ensureBuild, projectRoot } from '../src/cli/builtApp.ts';
import { ensureChromium } from '../src/cli/chromium.ts';
import { add, countPlaywright, countVitest, nothing, readTally, settle, type Tally, tallyLine } from './tally.ts';

/** One runner. */
interface Step {
  readonly name: string;
  /** Words after `npm`. */
  readonly command: readonly string[];
  readonly env?: Readonly<Record<string, string>>;
  /** Counts what ran. A step without it is one test: its exit code. */
  readonly count?: () => Tally;
}

const reports = join(projectRoot, 'test-results');

const check = (script: string): Step => ({ name: script, command: ['run', '--silent', script] });

const vitest = (project: string): Step => {
  const report = join(reports, `${project}.json`);
  const reporters = ['--reporter=default', '--reporter=json', `--outputFile.json=${report}`];
  return {
    name: `${project} tests`,
    command: ['exec', '--no', '--', 'vitest', 'run', '--project', project, ...reporters],
    count: () => readTally(report, countVitest),
  };
};

const journeys = (port: number): Step => {
  const report = join(reports, 'journey.json');
  return {
    name: 'journeys',
    command: [
      'exec',
      '--no',
      '--',
      'playwright',
      'test',
      '--config',
      'tests/playwright.config.ts',
      '--reporter=list,json',
    ],
    env: { NUDGEBOOK_TEST_PORT: `${port}`, PLAYWRIGHT_JSON_OUTPUT_NAME: report },
    count: () => readTally(report, countPlaywright),
  };
};

const howToSpawn = (step: Step) => ({
  cwd: projectRoot,
  env: { ...process.env, ...step.env },
  shell: process.platform === 'win32',
});

/** What a step that has ended comes to; said on a line with how long it took. */
function ended(step: Step, status: number | null, startedMs: number): Tally {
  const counted = step.count ? step.count() : { ...nothing, passed: status === 0 ? 1 : 0 };
  const tally = settle(counted, status);
  console.log(`── ${step.name}: ${tallyLine(tally)} in ${((performance.now() - startedMs) / 1000).toFixed(0)} s`);
  return tally;
}

/** Runs a step by itself. What it prints goes straight through. */
function run(step: Step): Tally {
  console.log(`\n── ${step.name}`);
  const started = performance.now();
  const { status } = spawnSync('npm', [...step.command], { ...howToSpawn(step), stdio: 'inherit' });
  return ended(step, status, started);
}

/** Runs steps beside each other, each of which keeps hardly more than one core busy. What one prints is shown when it has ended. */
async function runBeside(steps: readonly Step[]): Promise<Tally[]> {
  const left = [...steps];
  const tallies: Tally[] = [];
  const lane = async () => {
    for (let step = left.shift(); step; step = left.shift()) {
      const started = performance.now();
      const printed: Buffer[] = [];
      const child = spawn('npm', [...step.command], { ...howToSpawn(step), stdio: ['ignore', 'pipe', 'pipe'] });
      for (const stream of [child.stdout, child.stderr]) stream.on('data', (data: Buffer) => printed.push(data));
      const status = await new Promise<number | null>((resolve) => {
        child.once('error', () => resolve(null));
        child.once('close', resolve);
      });
      console.log(`\n── ${step.name}`);
      process.stdout.write(Buffer.concat(printed));
      tallies.push(ended(step, status, started));
    }
  };
  await Promise.all(Array.from({ length: availableParallelism() }, lane));
  return tallies;
}

/** A port that is free now. */
function freePort(): Promise<number> {
  return new Promise((resolve, reject) => {
    const probe = createServer().once('error', reject);
    probe.listen(0, '127.0.0.1', () => {
      const address = probe.address();
      probe.close(() => resolve(typeof address === 'object' && address ? address.port : 0));
    });
  });
}

/** Runs everything, and goes on after failures. */
async function main(): Promise<Tally> {
  rmSync(reports, { recursive: true, force: true });
  mkdirSync(reports, { recursive: true });
  ensureChromium();
  // Built once, before anything serves it. When it cannot be built, the steps that need it say so.
  try {
    ensureBuild((line) => console.log(`\n── ${line}`));
  } catch (error) {
    console.error(error instanceof Error ? error.message : error);
  }
  // Tests in browsers wait for pages much of the time. The longest first.
  const checks = ['check:svelte', 'check:types', 'check:pure', 'check:style'].map(check);
  const beside = await runBeside([vitest('node'), vitest('browser'), ...checks]);
  // By itself: what a hand waits for is measured there.
  return [...beside, run(journeys(await freePort()))].reduce(add, nothing);
}

let total: Tally = { ...nothing, failed: 1 };
try {
  total = await main();
} catch (error) {
  console.error(error instanceof Error ? error.message : error);
}
console.log(`\n${tallyLine(total)}`);
process.exitCode = total.failed > 0 || total.passed === 0 ? 1 : 0;
