import { basename, extname, join, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { fpsOf, type NamedRate, rateLabelled, shotRates } from '../base/frameRate.ts';
import { type PageKind, type PaperName, pageKinds } from '../base/paper.ts';
import type { OnFrames } from '../timing/timing.ts';
import type { ModelChoice, PrintWish } from './batchJob.ts';

/** One take to plan. */
export interface PlanTarget {
  /** A video, or a folder of numbered stills. */
  readonly path: string;
  /** File name without extension: the name of its output folder. */
  readonly name: string;
  /** Where plan.json, sheet.csv and sheet.pdf go. */
  readonly outDir: string;
}

/** What `npm run plan` was asked to do. */
export interface PlanRequest {
  /** Never empty; no two with one `outDir`. */
  readonly takes: readonly PlanTarget[];
  readonly rate: NamedRate;
  readonly onFrames: OnFrames;
  /** A puppet file; null = like a person. */
  readonly puppetFile: string | null;
  /** The puppet is built to this height, sole to top of the head, millimetres; null = as its file says, or 250. */
  readonly puppetHeightMm: number | null;
  readonly stillsFps: number;
  readonly model: ModelChoice;
  readonly print: PrintWish;
}

/** The request, or what to say and the exit code (0 when help was asked for, 2 when the arguments are wrong). */
export type ParsedArguments =
  | { readonly ok: true; readonly request: PlanRequest }
  | { readonly ok: false; readonly say: string; readonly exitCode: 0 | 2 };

const rates = shotRates.map((r) => r.label).join(', ');

/** How to call it. */
export const planUsage = `Usage: npm run plan -- <take> [<take> …] [--fps 24] [--on 2] [--puppet profile.json]
                        [--puppet-height 250] [--out plans] [--model fine] [--paper A4]

  <take>           a video file, or a folder of numbered stills
  --fps            the shot's frame rate: ${rates}. Without it: 24
  --on             frames per exposure: 1, 2, 3 or 4 (ones, twos, threes, fours). Without it: 2
  --puppet         a puppet file, as the app saves it: limb lengths, limits, steps. Without it: like a person
  --puppet-height  the puppet built to this height, sole to top of the head in millimetres, 10 to 3000. Without it: as
                   its file says, or 250
  --stills-fps     pictures per second of a folder of stills, 1 to 240. Without it: the shot's rate
  --out            each take gets a folder in this one, with plan.json, sheet.csv and sheet.pdf. Without it: plans
  --model          quick (one look at each picture) or fine (then a careful one). Without it: fine
  --paper          A4 or Letter. Without it: A4
  --landscape      pages that lie. Without it they stand
  --pages          which pages are printed, with commas between: ${pageKinds.join(', ')}, or all.
                   Without it: popThrough,sheet`;

/** A sentence about one wrong argument. */
class WrongArgument extends Error {}

/** Reads the words after `npm run plan --`. Every value is checked before any work begins. */
export function parsePlanArguments(words: readonly string[]): ParsedArguments {
  try {
    const { values, positionals } = readWords(words);
    if (values.help) return { ok: false, say: planUsage, exitCode: 0 };
    const rate = readRate(values.fps ?? '24');
    const request: PlanRequest = {
      takes: readTakes(positionals, values.out ?? 'plans'),
      rate,
      onFrames: readOnFrames(values.on ?? '2'),
      puppetFile: values.puppet ?? null,
      puppetHeightMm:
        values['puppet-height'] === undefined
          ? null
          : readNumber('--puppet-height', values['puppet-height'], 10, 3000, 'millimetres'),
      stillsFps: readNumber('--stills-fps', values['stills-fps'] ?? `${fpsOf(rate)}`, 1, 240, 'pictures per second'),
      model: readModel(values.model ?? 'fine'),
      print: {
        paper: readPaper(values.paper ?? 'A4'),
        orientation: values.landscape ? 'landscape' : 'portrait',
        pages: values.pages === undefined ? null : readPages(values.pages),
      },
    };
    return { ok: true, request };
  } catch (error) {
    if (!(error instanceof WrongArgument)) throw error;
    return { ok: false, say: `${error.message}\n\n${planUsage}`, exitCode: 2 };
  }
}

const options = {
  fps: { type: 'string' },
  on: { type: 'string' },
  puppet: { type: 'string' },
  'puppet-height': { type: 'string' },
  'stills-fps': { type: 'string' },
  out: { type: 'string' },
  model: { type: 'string' },
  paper: { type: 'string' },
  landscape: { type: 'boolean' },
  pages: { type: 'string' },
  help: { type: 'boolean', short: 'h' },
} as const;

function readWords(words: readonly string[]) {
  try {
    return parseArgs({ args: [...words], options, allowPositionals: true });
  } catch (error) {
    // Node's first sentence names the option ("Unknown option '--fsp'"); what follows explains its own syntax.
    throw new WrongArgument(`${(error as Error).message.split(/[.\n]/)[0]}.`);
  }
}

function readTakes(paths: readonly string[], outDir: string): PlanTarget[] {
  if (paths.length === 0) throw new WrongArgument('Name at least one take: a video file, or a folder of stills.');
  const takes = paths.map((path) => {
    const file = basename(resolve(path));
    const name = basename(file, extname(file)) || file;
    return { path, name, outDir: join(outDir, name) };
  });
  for (const [i, take] of takes.entries()) {
    const earlier = takes.slice(0, i).find((other) => other.outDir === take.outDir);
    if (earlier)
      throw new WrongArgument(
        `${earlier.path} and ${take.path} would both be written to ${take.outDir}. Plan them in two calls with different --out folders, or rename one.`,
      );
  }
  return takes;
}

function readRate(word: string): NamedRate {
  const rate = rateLabelled(word);
  if (!rate) throw new WrongArgument(`--fps “${word}” is not offered. Choose one of ${rates}.`);
  return rate;
}

function readOnFrames(word: string): OnFrames {
  if (!/^[1-4]$/.test(word)) throw new WrongArgument(`--on takes 1, 2, 3 or 4, not “${word}”.`);
  return Number(word) as OnFrames;
}

function readNumber(option: string, word: string, least: number, most: number, unit: string): number {
  const value = word.trim() === '' ? Number.NaN : Number(word);
  if (!(value >= least && value <= most))
    throw new WrongArgument(`${option} takes ${unit} from ${least} to ${most}, not “${word}”.`);
  return value;
}

function readModel(word: string): ModelChoice {
  if (word !== 'quick' && word !== 'fine') throw new WrongArgument(`--model takes quick or fine, not “${word}”.`);
  return word;
}

function readPaper(word: string): PaperName {
  if (word !== 'A4' && word !== 'Letter') throw new WrongArgument(`--paper takes A4 or Letter, not “${word}”.`);
  return word;
}

function readPages(words: string): readonly PageKind[] {
  if (words.trim() === 'all') return pageKinds;
  return words.split(',').map((word) => {
    const kind = pageKinds.find((k) => k === word.trim());
    if (!kind)
      throw new WrongArgument(
        `--pages takes ${pageKinds.join(', ')} or all, with commas between, not “${word.trim()}”.`,
      );
    return kind;
  });
}
