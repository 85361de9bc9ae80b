import type { FrameRun } from '../puppet/puppetMotion.ts';
import type { Comparison } from './compareShot.ts';
import type { Finding } from './finding.ts';
import { isOffTime, type KeyTiming } from './keyTiming.ts';
import { judgedJoints } from './offRuns.ts';
import { type PlannedShot, usualFrames } from './shot.ts';
import type { PictureOrder } from './shotFrames.ts';

/** A shot held against its plan, as it goes on paper and into files. */
export interface Review {
  /** What the pictures of the shot are called. */
  readonly shotName: string;
  /** First and last day of the pictures' files, "2026-03-12"; null = not known. */
  readonly days: readonly [first: string, last: string] | null;
  /** What its pictures are. */
  readonly pictures: PictureOrder;
  readonly planned: Pick<PlannedShot, 'rate' | 'exposures'>;
  /** The shot's picture that shows each of the comparison's exposures, from 0. Shape [exposure]. */
  readonly pictureOf: readonly number[];
  /** Was it measured what camera and light did? */
  readonly isCameraMeasured: boolean;
  readonly comparison: Comparison;
}

/** What camera and light did is no fault of the puppet, and is told apart. */
export function isOfCamera({ kind }: Pick<Finding, 'kind'>): boolean {
  return kind === 'cameraBump' || kind === 'flicker';
}

/** What is to be looked at again, worst first: every finding but those of camera and light. A note's number is its place in it, from 1. */
export function notesOf({ comparison }: Pick<Review, 'comparison'>): Finding[] {
  return comparison.findings.filter((f) => !isOfCamera(f));
}

/** The plan's exposures that some frames lie in, from 0, both ends included; frames before or after the plan belong to its ends. */
export function plannedExposures({ planned }: Pick<Review, 'planned'>, run: FrameRun): [first: number, last: number] {
  const at = (frame: number) =>
    Math.max(
      0,
      planned.exposures.findLastIndex((e) => e.firstFrame <= frame),
    );
  return [at(run.firstFrame), at(run.firstFrame + Math.max(1, run.frames) - 1)];
}

/** How many exposures show at least one of the joints that are judged. */
export function seenExposures({ comparison }: Pick<Review, 'comparison'>): number {
  const { at } = comparison.registration.places;
  const judged = judgedJoints.flatMap((joint) => at.get(joint) ?? []);
  return comparison.exposures.filter((_, i) => judged.some(({ x, y }) => Number.isFinite(x[i]! + y[i]!))).length;
}

/** Keys with whether each is surely off its frame. */
export function keysMet({ comparison }: Pick<Review, 'comparison'>): (KeyTiming & { readonly isOff: boolean })[] {
  const onFrames = usualFrames(comparison.exposures);
  return comparison.keys.map((key) => ({ ...key, isOff: isOffTime(key, onFrames) }));
}
