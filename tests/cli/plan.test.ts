import { spawn } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { joints } from '../../src/base/joints.ts';
import { projectRoot } from '../../src/cli/builtApp.ts';
import { writePuppet } from '../../src/project/puppetSchema.ts';
import { bigHeadedPuppet } from '../../src/puppet/builtIn.ts';
import { pdfLines } from '../draw/pdfLines.ts';

const out = mkdtempSync(join(tmpdir(), 'nudgebook-plan-'));
afterAll(() => rmSync(out, { recursive: true }));

/** Calls `npm run plan` as a user would, and hears all it says. */
function npmRunPlan(...words: string[]): Promise<{ exitCode: number | null; said: string; complained: string }> {
  return new Promise((resolve, reject) => {
    const child = spawn('npm', ['run', '--silent', 'plan', '--', ...words], { cwd: projectRoot });
    let said = '';
    let complained = '';
    child.stdout.on('data', (chunk: Buffer) => {
      said += chunk;
    });
    child.stderr.on('data', (chunk: Buffer) => {
      complained += chunk;
    });
    child.once('error', reject);
    child.once('close', (exitCode) => resolve({ exitCode, said, complained }));
  });
}

const maybe = z.number().nullable();
const perFrame = (n: number) => z.array(maybe).length(n);

/** The contract of plan.json, version 1, for a shot of n frames: exact names, nothing more and nothing less. */
const planFile = (n: number) =>
  z.strictObject({
    format: z.literal('nudgebook-plan'),
    version: z.literal(1),
    take: z.strictObject({
      name: z.string(),
      widthPx: z.int().positive(),
      heightPx: z.int().positive(),
      durationSec: z.number(),
      frameCount: z.int().positive(),
      medianFps: z.number(),
      variableFrameRate: z.boolean(),
      mirrored: z.boolean(),
      startSec: z.number(),
      endSec: z.number(),
    }),
    detector: z.strictObject({
      model: z.string(),
      backend: z.string(),
      millisecondsPerFrame: z.number(),
      readSeconds: z.number(),
    }),
    grid: z.strictObject({
      fps: z.number(),
      fpsExact: z.tuple([z.int(), z.int()]),
      frameCount: z.literal(n),
      startSec: z.number(),
    }),
    takeTimeSec: z.array(z.number()).length(n),
    tracks: z.strictObject(
      Object.fromEntries(
        joints.map((joint) => [
          joint,
          z.strictObject({
            xPx: perFrame(n),
            yPx: perFrame(n),
            sdPx: perFrame(n),
            confidence: z.array(z.number().min(0).max(1)).length(n),
            guessed: z.array(z.boolean()).length(n),
          }),
        ]),
      ),
    ),
    keys: z.array(
      z.strictObject({
        frameIndex: z
          .int()
          .min(0)
          .max(n - 1),
        takeSec: z.number(),
        kind: z.enum(['key', 'breakdown']),
        reasons: z.array(z.string().min(1)).min(1),
        locked: z.boolean(),
      }),
    ),
    holds: z.array(
      z.strictObject({ firstFrame: z.int().min(0), frames: z.int().positive(), kind: z.enum(['hold', 'movingHold']) }),
    ),
    exposures: z.array(z.strictObject({ firstFrame: z.int().min(0), frames: z.int().positive() })),
    moves: z.array(
      z.strictObject({
        exposure: z.int().min(1),
        joint: z.enum(joints as unknown as [string, ...string[]]),
        distanceMm: maybe,
        roundedMm: maybe,
        directionDeg: maybe,
        sdMm: maybe,
        outOfPlane: z.boolean(),
      }),
    ),
    angles: z.array(
      z.strictObject({ exposure: z.int().min(0), hinge: z.string(), deg: maybe, changeDeg: maybe, roundedDeg: maybe }),
    ),
    replans: z.array(
      z.strictObject({
        fromFrame: z.int().min(0),
        frames: z.int().positive(),
        keyFrame: z.int().nullable(),
        lateFrames: z.number(),
        outdated: z.string(),
      }),
    ),
    phases: z.array(z.unknown()),
    lags: z.array(z.unknown()),
    rhythm: z.looseObject({}),
    arcFaults: z.array(z.unknown()),
    puppet: z.strictObject({
      name: z.string(),
      heightMm: z.number().positive(),
      scale: z.number().positive(),
      sizes: z.record(z.string().endsWith('Mm'), z.number().min(0)),
      limits: z.record(z.string(), z.strictObject({ deg: z.number(), persons: z.boolean() })),
      joints: z.record(z.string(), z.strictObject({ xMm: perFrame(n), yMm: perFrame(n) })),
      planted: z.array(
        z.strictObject({
          side: z.enum(['left', 'right']),
          on: z.enum(['foot', 'heel', 'toe']),
          firstFrame: z.int().min(0),
          frames: z.int().positive(),
          xMm: maybe,
          yMm: maybe,
        }),
      ),
      held: z.array(
        z.strictObject({
          side: z.enum(['left', 'right']),
          firstFrame: z.int().min(0),
          frames: z.int().positive(),
          xMm: z.number().nullable(),
          yMm: z.number().nullable(),
        }),
      ),
      unplanted: z.array(
        z.strictObject({
          how: z.enum(['air', 'sliding']),
          firstFrame: z.int().min(0),
          frames: z.int().positive(),
        }),
      ),
      feetSeen: z.boolean(),
    }),
    together: z.array(
      z.strictObject({
        kind: z.enum(['twins', 'stop']),
        move: z.string().includes('>'),
        parts: z.array(z.string()).min(1),
        frameIndex: z.int().min(0),
        firstFrame: z.int().min(0),
        frames: z.int().positive(),
        withinFrames: z.number(),
        sentence: z.string().endsWith('.'),
      }),
    ),
    weight: z.strictObject({ falls: z.array(z.unknown()), swings: z.array(z.unknown()), waves: z.array(z.unknown()) }),
    limits: z.array(z.unknown()),
    balance: z.array(z.unknown()),
    doubts: z.array(
      z.looseObject({ code: z.string(), joint: z.string().nullable(), startSec: z.number(), endSec: z.number() }),
    ),
  });

describe('npm run plan on a good take, a text file and a file that is not there', () => {
  // 36 pictures at 30 a second last 1.2 s: 30 frames at 25 fps.
  const frames = 30;
  let run: Awaited<ReturnType<typeof npmRunPlan>>;
  const take = (file: string) => join(projectRoot, file);
  const written = (file: string) => join(out, 'short', file);

  beforeAll(async () => {
    // Beside the results, which are listed below.
    const puppet = join(mkdtempSync(join(tmpdir(), 'puppet-')), 'big.puppet.json');
    writeFileSync(puppet, writePuppet(bigHeadedPuppet));
    const words = ['--fps', '25', '--on', '2', '--puppet', puppet, '--puppet-height', '300'];
    words.push('--model', 'quick', '--out', out, '--pages', 'popThrough,sheet,arcs');
    run = await npmRunPlan(take('LICENSE'), join(out, 'gone.mp4'), take('fixtures/takes/short.mp4'), ...words);
  }, 180_000);

  it('fails as a whole, in one sentence for each bad take, and still plans the good one', () => {
    expect(run.exitCode).toBe(1);
    expect(run.complained).toMatch(/^LICENSE: .+\.$/m);
    expect(run.complained).toMatch(/^gone: there is no file or folder at .+\.$/m);
    expect(run.said.trim().split('\n')).toHaveLength(1);
    expect(run.said).toMatch(/^short: 30 frames at 25 fps, \d+ keys, /);
  });

  it('leaves exactly three files for it, and nothing for the others', () => {
    expect(readdirSync(out)).toEqual(['short']);
    expect(readdirSync(join(out, 'short')).sort()).toEqual(['plan.json', 'sheet.csv', 'sheet.pdf']);
  });

  it('writes plan.json to the letter of its contract', () => {
    const plan = planFile(frames).parse(JSON.parse(readFileSync(written('plan.json'), 'utf8')));
    expect(plan.take).toMatchObject({ name: 'short.mp4', widthPx: 480, heightPx: 270, frameCount: 36 });
    expect(plan.grid.fpsExact).toEqual([25, 1]);
    // The puppet of the file, built to the height that was asked for.
    expect(plan.puppet).toMatchObject({ name: 'Big head, short legs', heightMm: 300 });
    expect(plan.puppet.limits.shoulderOut).toEqual({ deg: 130, persons: false });
    expect(plan.puppet.limits.elbowBend).toEqual({ deg: 150, persons: true });
    expect(plan.takeTimeSec[1]).toBeCloseTo(0.04, 6);
    // Exposures tile the shot.
    expect(plan.exposures.reduce((next, e) => (e.firstFrame === next ? next + e.frames : Number.NaN), 0)).toBe(frames);
    // The take spreads its arms: both wrists are seen, and rise.
    for (const joint of ['leftWrist', 'rightWrist'] as const) {
      const { yPx } = plan.tracks[joint]!;
      expect(yPx[frames - 1]!).toBeLessThan(yPx[0]! - 20);
    }
  });

  it('writes the sheet as a table with a row per frame, and as pages with their pictures', () => {
    const rows = readFileSync(written('sheet.csv'), 'utf8').trimEnd().split('\r\n');
    expect(rows).toHaveLength(1 + frames);
    expect(rows[0]).toMatch(/^frame,/);
    expect(rows[frames]).toMatch(/^30,/);
    const pdf = readFileSync(written('sheet.pdf'), 'latin1');
    expect(pdf.startsWith('%PDF-')).toBe(true);
    expect(pdf.match(/\/Type\s*\/Page\b/g)?.length).toBeGreaterThanOrEqual(2);
    // A4 in points.
    expect(pdf).toMatch(/\/MediaBox\s*\[\s*0 0 59[45][.\d]* 84[12][.\d]*\s*\]/);
    expect(pdf).toMatch(/\/Subtype\s*\/Image/);
  });

  it('prints the arcs at their own size: the bar is 100 mm in the file’s own coordinates', () => {
    expectTrueBars(readFileSync(written('sheet.pdf')));
  });

  it('was planned by a build that carries the licence of every part in it, all of them listed', () => {
    const carried = readFileSync(join(projectRoot, 'dist/third-party-licences.md'), 'utf8');
    const parts = [...carried.matchAll(/^## (\S+) [\d.]+ \(/gm)].map((m) => m[1]!);
    expect(parts).toEqual(expect.arrayContaining(['svelte', 'mediabunny', '@tensorflow/tfjs-core', 'zod']));
    const [listed = ''] = readFileSync(join(projectRoot, 'THIRD-PARTY.md'), 'utf8').split(
      '## Used in development only',
    );
    expect(parts.filter((part) => !listed.includes(`\`${part}\``))).toEqual([]);
  });
});

describe('npm run plan on Letter that lies', () => {
  it('prints the pages asked for, at their own size', async () => {
    const folder = join(out, 'letter');
    const words = ['--model', 'quick', '--out', folder, '--paper', 'Letter', '--landscape', '--pages', 'card,arcs'];
    const { exitCode, complained } = await npmRunPlan(join(projectRoot, 'fixtures/takes/short.mp4'), ...words);
    expect(exitCode, complained).toBe(0);
    const file = readFileSync(join(folder, 'short', 'sheet.pdf'));
    // 11 × 8½ inches in points.
    expect(file.toString('latin1')).toMatch(/\/MediaBox\s*\[\s*0 0 79[12][.\d]* 61[12][.\d]*\s*\]/);
    expectTrueBars(file);
  }, 180_000);
});

/** Each page of arcs has one bar, and it is 100.0 ± 0.1 mm long. */
function expectTrueBars(pdf: Uint8Array): void {
  const level = pdfLines(pdf).filter((l) => Math.abs(l.y1 - l.y2) < 0.01);
  const nearly = level.filter((l) => Math.abs(Math.abs(l.x2 - l.x1) - 100) < 2 && l.y1 < 20);
  expect(new Set(nearly.map((l) => l.page)).size).toBeGreaterThan(0);
  for (const bar of nearly) expect(Math.abs(Math.abs(bar.x2 - bar.x1) - 100)).toBeLessThan(0.1);
}

describe('npm run plan with wrong words', () => {
  it('says what is wrong with a puppet file and exits with 2 before any work', async () => {
    const puppet = join(mkdtempSync(join(tmpdir(), 'puppet-')), 'none.puppet.json');
    writeFileSync(puppet, '{}');
    const { exitCode, complained } = await npmRunPlan('a.mp4', '--puppet', puppet);
    expect(exitCode).toBe(2);
    expect(complained).toMatch(/This puppet file has a value that cannot be right/);
    expect((await npmRunPlan('a.mp4', '--puppet', `${puppet}.gone`)).complained).toMatch(/cannot be read/);
  }, 30_000);

  it('says what is offered and exits with 2 before any work', async () => {
    const { exitCode, said, complained } = await npmRunPlan('a.mp4', '--fps', '23');
    expect(exitCode).toBe(2);
    expect(said).toBe('');
    expect(complained).toContain('12, 15, 18, 23.976, 24, 25, 29.97, 30, 48, 50, 60');
  }, 30_000);
});
