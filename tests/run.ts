import { spawnSync } from 'node:child_process';
import { mkdirSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { join } from 'node:path';
import { ensureBuild, projectRoot } from '../src/cli/builtApp.ts';
import { ensureChromium } from '../src/cli/chromium.ts';
import { add, countPlaywright, countVitest, nothing, readTally, settle, type Tally, tallyLine } from './tally.ts';

/** One runner. What it prints goes straight through. */
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

function run(step: Step): Tally {
  console.log(`\n── ${step.name}`);
  const started = performance.now();
  const { status } = spawnSync('npm', [...step.command], {
    cwd: projectRoot,
    stdio: 'inherit',
    env: { ...process.env, ...step.env },
    shell: process.platform === 'win32',
  });
  const counted = step.count ? step.count() : { ...nothing, passed: status === 0 ? 1 : 0 };
  const tally = settle(counted, status);
  console.log(`── ${step.name}: ${tallyLine(tally)} in ${((performance.now() - started) / 1000).toFixed(0)} s`);
  return tally;
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

/** Runs everything, in the order in which a mistake shows soonest, and goes on after failures. */
async function main(): Promise<Tally> {
  rmSync(reports, { recursive: true, force: true });
  mkdirSync(reports, { recursive: true });
  ensureChromium();
  const cheap = ['check:types', 'check:pure', 'check:svelte', 'check:style'].map(check).map(run);
  // Built once, before anything serves it. When it cannot be built, the steps that need it say so.
  const steps = [vitest('node'), vitest('browser'), journeys(await freePort())];
  try {
    ensureBuild((line) => console.log(`\n── ${line}`));
  } catch (error) {
    console.error(error instanceof Error ? error.message : error);
  }
  return [...cheap, ...steps.map(run)].reduce(add, nothing);
}

let total: Tally = { ...nothing, failed: 1 };
try {
  total = await main();
} catch (error) {
  console.error(error instanceof Error ? error.message : error);
}
console.log(`\n${tallyLine(total)}`);
process.exitCode = total.failed > 0 || total.passed === 0 ? 1 : 0;
