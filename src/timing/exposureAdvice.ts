import { layExposures } from './exposures.ts';
import type { Budget, BudgetPoint } from './spendExposures.ts';
import type { Exposure, OnFrames, Timing } from './timing.ts';
import { visibleError } from './visibleError.ts';

/** Uniform exposures of one length on the same shot, for comparison with what is spent. */
export interface UniformPoint extends BudgetPoint {
  readonly onFrames: OnFrames;
}

/** A span in which the audience gains by ones. */
export interface WorthOnes {
  readonly firstFrame: number;
  readonly frames: number;
  /** Visible error of twos there, root mean square over parts, puppet millimetres. On ones there is none. */
  readonly onTwosMm: number;
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
    .map((s) => ({ ...s, onTwosMm: errorOnTwos(timing, s.firstFrame, s.frames) * timing.choices.puppetHeightMm }))
    .sort((a, b) => b.onTwosMm - a.onTwosMm);
}

function errorOnTwos(timing: Timing, firstFrame: number, frames: number): number {
  const runs: Exposure[] = [];
  for (let k = firstFrame; k < firstFrame + frames; k += 2)
    runs.push({ firstFrame: k, frames: Math.min(2, firstFrame + frames - k) });
  return visibleError(timing.motion, timing.bodyHeightPx, runs).rms;
}
