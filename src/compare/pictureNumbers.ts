import type { PlannedPictures } from './shotFrames.ts';

/** What it means where numbers of stills are not there: pictures are missing, or the numbering jumps and none is. */
export const numberGaps = ['missing', 'jumps'] as const;
/** One of them. */
export type NumberGaps = (typeof numberGaps)[number];

/** Numbers in a row that no still has. */
export interface NumberRun {
  readonly first: number;
  readonly last: number;
  /** How many pictures would stand there. */
  readonly pictures: number;
}

/** Stills whose numbers leave some out. */
export interface NumberedRow {
  /** The place of each picture in the row, from 0, if what is left out is missing. Rising. Shape [picture]. */
  readonly places: readonly number[];
  /** What is left out, rising; never empty. */
  readonly runs: readonly NumberRun[];
  /** What it rather means. */
  readonly likely: NumberGaps;
}

/**
 * What the numbers of a shot's stills tell. They may count pictures, by one or by the same step, or be the plan's own frames. Numbers
 * that are left out now and then are pictures that are missing; a numbering that leaves out many, or more than could have been shot,
 * jumps; and so it does where all exposures or frames of the plan are there without them: then pictures were taken anew.
 * @param numbers strictly rising. Shape [picture].
 * @param firstFrame the frame of the first picture, from 0.
 * @returns null where no number is left out.
 */
export function readNumbers(numbers: readonly number[], plan: PlannedPictures, firstFrame = 0): NumberedRow | null {
  const places = placesByFrame(numbers, plan, firstFrame) ?? placesByStep(numbers);
  const runs = places.flatMap((place, i): NumberRun[] => {
    const pictures = i === 0 ? 0 : place - places[i - 1]! - 1;
    return pictures > 0 ? [{ first: numbers[i - 1]! + 1, last: numbers[i]! - 1, pictures }] : [];
  });
  if (runs.length === 0) return null;
  const [count, inAll] = [numbers.length, places.at(-1)! + 1];
  const goesOn = count - 1 - runs.length;
  const isSeldom = runs.length === 1 ? goesOn > 0 : runs.length <= seldomShare * goesOn;
  const room = plan.frameCount - firstFrame;
  const isWhole = (n: number) => n === plan.exposures.filter((e) => e.firstFrame >= firstFrame).length || n === room;
  const isMissing = isSeldom && inAll - count <= count && inAll <= room && !(isWhole(count) && !isWhole(inAll));
  return { places, runs, likely: isMissing ? 'missing' : 'jumps' };
}

/** Of numbers that follow each other, no more than this share may be left out for it to be seldom: practice. */
const seldomShare = 0.25;

/** By the step that numbers usually make; where some do not fit to it, by the largest that fits all. */
function placesByStep(numbers: readonly number[]): number[] {
  const steps = numbers.slice(1).map((n, i) => n - numbers[i]!);
  const counts = new Map<number, number>();
  for (const step of steps) counts.set(step, (counts.get(step) ?? 0) + 1);
  const usual = [...counts].sort(([a, m], [b, n]) => n - m || a - b)[0]?.[0] ?? 1;
  const step = steps.every((s) => s % usual === 0) ? usual : steps.reduce(commonDivisor);
  return numbers.map((n) => (n - numbers[0]!) / step);
}

/** Where each number is the frame at which an exposure of the plan begins, if exposures are not all of one length; else null. */
function placesByFrame(
  numbers: readonly number[],
  { exposures }: PlannedPictures,
  firstFrame: number,
): number[] | null {
  if (exposures.every((e) => e.frames === exposures[0]!.frames)) return null;
  const at = numbers.map((n) => exposures.findIndex((e) => e.firstFrame === firstFrame + n - numbers[0]!));
  return at.includes(-1) ? null : at.map((place) => place - at[0]!);
}

function commonDivisor(a: number, b: number): number {
  return b === 0 ? a : commonDivisor(b, a % b);
}

/** Says which numbers are left out, and what that is taken for. */
export function numbersWords({ runs }: NumberedRow, gaps: NumberGaps): string {
  const named = runs
    .slice(0, mostNamed)
    .map(({ first, last }) => (first === last ? `${first}` : `${first} to ${last}`));
  const rest = runs.length > mostNamed ? ', and others' : '';
  const list = `${named.join(', ')}${rest}`;
  const one = runs.length === 1 && runs[0]!.pictures === 1;
  const lead = `No ${one ? 'still has' : 'stills have'} the ${runs.length === 1 && runs[0]!.first === runs[0]!.last ? 'number' : 'numbers'} ${list}:`;
  if (gaps === 'jumps') return `${lead} the numbering jumps there, and pictures on both sides follow each other.`;
  return one
    ? `${lead} a picture is missing there, and those after it stay on their own frames.`
    : `${lead} pictures are missing there, and those after them stay on their own frames.`;
}

/** So many runs of numbers are named. */
const mostNamed = 6;
