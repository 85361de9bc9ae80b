import { layExposures } from './exposures.ts';
import type { Budget, BudgetPoint } from './spendExposures.ts';
import type { Exposure, OnFrames, Timing } from './timing.ts';
import { framesThatMove, visibleError } from './visibleError.ts';

/** Uniform exposures of one length on the same shot, for comparison with what is spent. */
export interface UniformPoint extends BudgetPoint {
  readonly onFrames: OnFrames;
}

/** A span in which the audience gains by ones. */
export interface WorthOnes {
  readonly firstFrame: number;
  readonly frames: number;
  /** Visible error of twos there, root mean square over parts, picture pixels. On ones there is none. */
  readonly onTwosPx: number;
}

/** What it brings to spend exposures where they count, beside laying as many on twos. */
export interface SpendingGain {
  /** As many as twos take in the whole shot. */
  readonly exposures: number;
  /** How much smaller the visible error is with so many spent, 0..1 of that of twos; 0 where twos show no error. */
  readonly share: number;
  /** Frames outside holds, the exposures that begin there on twos, and the gain with no more of them there. */
  readonly movingFrames: number;
  readonly movingExposures: number;
  readonly movingShare: number;
}

/** Ones, twos, threes and fours of a shot, each with the keys exposed, at the phase that serves it best. */
export function uniformPoints(timing: Timing): UniformPoint[] {
  return ([1, 2, 3, 4] as const).map((onFrames) => {
    const { exposures } = layExposures(timing.motion, timing.bodyHeightPx, onFrames, timing.forcedFrames);
    const { rms } = visibleError(timing.motion, timing.bodyHeightPx, exposures);
    return { onFrames, exposures: exposures.length, error: rms };
  });
}

/** The fewest exposures that look no further from the take than twos do; null where even ones do not reach that. */
export function asGoodAsTwos(budget: Budget, uniform: readonly UniformPoint[]): BudgetPoint | null {
  const twos = uniform.find((u) => u.onFrames === 2);
  return (twos && budget.curve.find((p) => p.error <= twos.error)) ?? null;
}

/**
 * By how much what is seen comes closer to the take when as many exposures are spent as twos would take. Where the shot rests for
 * long, most of that is pictures no longer taken of a pose that stays, which nobody would shoot twice; so it is told for the
 * movement alone as well: with no more exposures in the frames outside holds than twos have there, over those frames.
 */
export function gainOverTwos(timing: Timing, budget: Budget): SpendingGain {
  const { motion, bodyHeightPx, holds, grid } = timing;
  const twos = layExposures(motion, bodyHeightPx, 2, timing.forcedFrames).exposures;
  const moves = framesThatMove(grid.frameCount, holds);
  const movingOf = (runs: readonly Exposure[]) => runs.filter((run) => moves[run.firstFrame]).length;
  const errorOf = (runs: readonly Exposure[]) => visibleError(motion, bodyHeightPx, runs, holds);
  const onTwos = errorOf(twos);
  const movingExposures = movingOf(twos);
  // More exposures in all are never fewer where it moves, but for a frame or two at the ends of holds.
  let [spent, tooMany] = [budget.curve[0]?.exposures ?? 1, twos.length + 1];
  while (tooMany - spent > 1) {
    const middle = (spent + tooMany) >> 1;
    if (movingOf(budget.spend(middle)) <= movingExposures) spent = middle;
    else tooMany = middle;
  }
  const gain = (of: number, from: number) => (from > 0 ? Math.max(0, 1 - of / from) : 0);
  return {
    exposures: twos.length,
    share: gain(errorOf(budget.spend(twos.length)).rms, onTwos.rms),
    movingFrames: moves.reduce((sum, m) => sum + m, 0),
    movingExposures,
    movingShare: gain(errorOf(budget.spend(spent)).movingRms, onTwos.movingRms),
  };
}

/**
 * Where ones are worth it: the spans of two or more single frames when as many exposures are spent as twos would take. The span with
 * the largest error on twos comes first.
 */
export function worthOnes(timing: Timing, budget: Budget, uniform: readonly UniformPoint[]): WorthOnes[] {
  const twos = uniform.find((u) => u.onFrames === 2);
  if (!twos) return [];
  const spans: { firstFrame: number; frames: number }[] = [];
  for (const run of budget.spend(twos.exposures)) {
    if (run.frames !== 1) continue;
    const last = spans.at(-1);
    if (last && last.firstFrame + last.frames === run.firstFrame) last.frames++;
    else spans.push({ ...run });
  }
  return spans
    .filter((s) => s.frames > 1)
    .map((s) => ({ ...s, onTwosPx: errorOnTwos(timing, s.firstFrame, s.frames) * timing.bodyHeightPx }))
    .sort((a, b) => b.onTwosPx - a.onTwosPx);
}

function errorOnTwos(timing: Timing, firstFrame: number, frames: number): number {
  const runs: Exposure[] = [];
  for (let k = firstFrame; k < firstFrame + frames; k += 2)
    runs.push({ firstFrame: k, frames: Math.min(2, firstFrame + frames - k) });
  return visibleError(timing.motion, timing.bodyHeightPx, runs).rms;
}
