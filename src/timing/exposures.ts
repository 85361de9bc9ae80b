import { assert } from '../base/assert.ts';
import { fpsOf } from '../base/frameRate.ts';
import type { Motion } from '../track/motion.ts';
import { findContacts } from './contacts.ts';
import { type Budget, budgetOf, longestRun } from './spendExposures.ts';
import type { Exposure, OnFrames, TimingChoices } from './timing.ts';
import { runErrors } from './visibleError.ts';

/** The pictures to shoot, and the offset at which most of them stand on the grid of twos (threes, fours). */
export interface ExposurePlan {
  readonly exposures: readonly Exposure[];
  readonly phase: number;
}

/** The animator's decisions about exposures. */
export type ExposureChoices = Pick<
  TimingChoices,
  'rate' | 'onFrames' | 'exposureBudget' | 'exposureSpans' | 'exposedFrames'
>;

/**
 * The exposures of a shot as chosen: runs of `onFrames`, or so many exposures spent where they count; by hand where spans say so.
 * Keys and locked frames are always exposed on their own frame; when exposures are spent, so are contacts.
 */
export function planExposures(
  motion: Motion,
  bodyHeightPx: number,
  choices: ExposureChoices,
  keyFrames: readonly number[],
): ExposurePlan {
  const { onFrames, exposureBudget } = choices;
  if (exposureBudget !== null) {
    const exposures = budgetFor(motion, bodyHeightPx, choices, keyFrames).spend(exposureBudget);
    return { exposures, phase: commonest(exposures, onFrames) };
  }
  const frameCount = motion.timesSec.length;
  const byHand = handRuns(choices, keyFrames, frameCount);
  const locked = choices.exposedFrames.filter((f) => f < frameCount);
  const ends = byHand.flatMap((run) => [run.firstFrame, run.firstFrame + run.frames]).filter((f) => f < frameCount);
  const even = layExposures(motion, bodyHeightPx, onFrames, [...keyFrames, ...locked, ...ends]);
  if (byHand.length === 0) return even;
  const taken = new Set(byHand.flatMap((r) => Array.from({ length: r.frames }, (_, i) => r.firstFrame + i)));
  const exposures = [...even.exposures.filter((e) => !taken.has(e.firstFrame)), ...byHand];
  return { exposures: exposures.sort((a, b) => a.firstFrame - b.firstFrame), phase: even.phase };
}

/** The budget that was worked out last for a motion: the exposures of a shot and the curve beside them ask for the same one. */
const lastBudgets = new WeakMap<Motion, { readonly asked: readonly unknown[]; readonly budget: Budget }>();

/** What exposures can be spent in a shot, with everything that must be exposed. It does not hang on how many are spent. */
export function budgetFor(
  motion: Motion,
  bodyHeightPx: number,
  choices: ExposureChoices,
  keyFrames: readonly number[],
): Budget {
  const { rate, exposureSpans, exposedFrames } = choices;
  const asked = [bodyHeightPx, rate, exposureSpans, exposedFrames, ...keyFrames];
  const last = lastBudgets.get(motion);
  if (last && last.asked.length === asked.length && asked.every((a, i) => a === last.asked[i])) return last.budget;
  const budget = workOutBudget(motion, bodyHeightPx, choices, keyFrames);
  lastBudgets.set(motion, { asked, budget });
  return budget;
}

function workOutBudget(
  motion: Motion,
  bodyHeightPx: number,
  choices: ExposureChoices,
  keyFrames: readonly number[],
): Budget {
  const frameCount = motion.timesSec.length;
  const contacts = findContacts(motion, bodyHeightPx, fpsOf(choices.rate)).map((c) => c.frameIndex);
  const byHand = handRuns(choices, keyFrames, frameCount);
  const fixed = new Map(byHand.map((run) => [run.firstFrame, run]));
  const inHand = new Set(byHand.flatMap((r) => Array.from({ length: r.frames - 1 }, (_, i) => r.firstFrame + 1 + i)));
  // Contacts give way to what was laid by hand; keys and locked frames were laid with it.
  const forced = [...keyFrames, ...choices.exposedFrames, ...contacts.filter((f) => !inHand.has(f))];
  return budgetOf(runErrors(motion, bodyHeightPx, longestRun), forced, fixed);
}

/** The runs of the spans laid by hand, cut short before keys and locked frames. Rising; a later span of the list goes over an earlier. */
function handRuns(choices: ExposureChoices, keyFrames: readonly number[], frameCount: number): Exposure[] {
  const onFrames = new Uint8Array(frameCount);
  const starts = new Set<number>([...keyFrames, ...choices.exposedFrames]);
  for (const span of choices.exposureSpans) {
    const end = Math.min(frameCount, span.firstFrame + span.frames);
    for (let k = span.firstFrame; k < end; k++) onFrames[k] = span.onFrames;
    starts.add(span.firstFrame);
  }
  const runs: Exposure[] = [];
  for (let k = 0; k < frameCount; ) {
    const on = onFrames[k] ?? 0;
    if (on === 0) {
      k++;
      continue;
    }
    let end = k + 1;
    while (end < k + on && onFrames[end] === on && !starts.has(end)) end++;
    runs.push({ firstFrame: k, frames: end - k });
    k = end;
  }
  return runs;
}

/**
 * Lays exposures of `onFrames` frames over the shot so that every key is exposed on its own frame. Frame 0 is always exposed.
 * Where two keys stand an uneven number apart, one run between them is shorter or longer; dynamic programming takes as few
 * of these odd runs as there can be, and puts them where the audience sees least error (the square of the distance between
 * the held pose and the real one, summed over frames and joints), at a price per picture. The offset ("phase") between keys
 * follows from the same sum. A hold is shot in the same runs: the animator may leave the puppet and shoot them in one go.
 */
export function layExposures(
  motion: Motion,
  bodyHeightPx: number,
  onFrames: OnFrames,
  keyFrames: readonly number[],
): ExposurePlan {
  const frameCount = motion.timesSec.length;
  assert(frameCount > 0, 'a shot without frames');
  const longest = onFrames === 1 ? 1 : onFrames + 1;
  const seen = runErrors(motion, bodyHeightPx, longest);
  const isKey = new Uint8Array(frameCount + 1);
  for (const frame of keyFrames) isKey[frame] = 1;
  // A picture more must save at least what a run of the usual length costs on average.
  const total = (frames: number) => {
    let sum = 0;
    for (let k = 0; k + frames <= frameCount; k++) sum += seen.of(k, frames);
    return sum;
  };
  const price = total(onFrames) / Math.max(1, frameCount);
  // One odd run outweighs any gain in error: even runs are what the hand learns.
  const oddPrice = 1 + 100 * (total(longest) + price * frameCount);

  const cost = new Float64Array(frameCount + 1).fill(Number.POSITIVE_INFINITY);
  const cameFrom = new Int32Array(frameCount + 1);
  cost[0] = 0;
  for (let first = 0; first < frameCount; first++) {
    const soFar = cost[first] ?? Number.POSITIVE_INFINITY;
    if (soFar === Number.POSITIVE_INFINITY) continue;
    for (let frames = 1; frames <= longest && first + frames <= frameCount; frames++) {
      const next = first + frames;
      const odd = frames === onFrames ? 0 : oddPrice;
      const sum = soFar + odd + price + seen.of(first, frames);
      if (sum < (cost[next] ?? 0)) {
        cost[next] = sum;
        cameFrom[next] = first;
      }
      if (isKey[next]) break;
    }
  }
  const exposures: Exposure[] = [];
  for (let end = frameCount; end > 0; ) {
    const firstFrame = cameFrom[end] ?? 0;
    exposures.push({ firstFrame, frames: end - firstFrame });
    end = firstFrame;
  }
  exposures.reverse();
  return { exposures, phase: commonest(exposures, onFrames) };
}

function commonest(exposures: readonly Exposure[], onFrames: number): number {
  const counts = new Array<number>(onFrames).fill(0);
  for (const { firstFrame } of exposures) counts[firstFrame % onFrames] = (counts[firstFrame % onFrames] ?? 0) + 1;
  return counts.indexOf(Math.max(...counts));
}
