import type { Part } from '../base/joints.ts';
import { stepSdOf } from '../track/motion.ts';
import { type ArcFault, faultSize, type PartWords } from './arcFault.ts';
import { surelySds } from './popFaults.ts';
import { sizeWords } from './sizeUnit.ts';
import { exposureIndex, framesShown, type MoveFrames, ownMove } from './spacingChart.ts';
import type { Timing } from './timing.ts';

/** A move shorter than this many steps has no room for an ease. */
const leastSteps = 5;
/** Steps that vary less than this about their mean (standard deviation / mean) are even; a smooth reach has 0.6. */
const evenVariation = 0.25;
/** A first or last step above this part of the mean is no slow one. */
const slowShare = 0.7;
/** Moves of less than this part of the puppet's height are not looked at: 8 mm of 250. */
const leastWay = 0.032;

/**
 * Moves that go in equal steps from one stop to another, where small steps are expected at an end at which the part stands still
 * or turns back. The size is how much too large the step at that end is against half the mean step.
 */
export function evenFaults(timing: Timing, part: Part, moves: readonly MoveFrames[], words: PartWords): ArcFault[] {
  const path = timing.motion.paths.get(part);
  if (!path) return [];
  const { exposures, motion } = timing;
  const faults: ArcFault[] = [];
  const place = (f: number) => [path.xPx[f]!, path.yPx[f]!] as const;
  for (const whole of moves) {
    const move = trimStill(timing, part, whole);
    const first = exposureIndex(exposures, move.firstFrame);
    const last = exposureIndex(exposures, move.lastFrame);
    if (last - first < leastSteps) continue;
    // Per frame, since poses may be held for unequal times.
    const vectors = Array.from({ length: last - first }, (_, k) => stepInto(first + k + 1));
    const steps = vectors.map((v) => Math.hypot(...v));
    const mean = steps.reduce((s, v) => s + v, 0) / steps.length;
    const way = steps.reduce((s, v, k) => s + v * exposures[first + k]!.frames, 0);
    if (!(way > leastWay * timing.bodyHeightPx)) continue;
    const variation = Math.sqrt(steps.reduce((s, v) => s + (v - mean) ** 2, 0) / steps.length) / mean;
    if (variation > evenVariation) continue;
    const ends = (['start', 'end'] as const).filter((end) => {
      const inner = end === 'start' ? vectors[0]! : vectors.at(-1)!;
      const outer = end === 'start' ? stepInto(first) : stepInto(last + 1);
      const speed = Math.hypot(...inner);
      if (speed < slowShare * mean || !Number.isFinite(outer[0])) return false;
      const onward = (inner[0] * outer[0] + inner[1] * outer[1]) / speed;
      return onward < 0.15 * speed;
    });
    if (ends.length === 0) continue;
    const frames = exposures[ends[0] === 'start' ? first : last - 1]!.frames;
    const step = (ends[0] === 'start' ? steps[0]! : steps.at(-1)!) * frames;
    const size = step - (mean * frames) / 2;
    const at = exposures[ends[0] === 'start' ? first + 1 : last]!.firstFrame;
    const sd = stepSdOf(motion, part, exposures[ends[0] === 'start' ? first : last - 1]!.firstFrame, at);
    if (!(size > surelySds * sd)) continue;
    const [from, to] = [move.firstFrame + 1, move.lastFrame + 1];
    const where = ends.length === 2 ? 'no small steps at either end' : `no small step at its ${ends[0]}`;
    faults.push({
      kind: 'evenSpacing',
      part,
      firstFrame: move.firstFrame,
      frames: move.lastFrame - move.firstFrame + 1,
      atFrame: at,
      ...faultSize(timing, size, sd),
      sentence: `The ${words(part)} moves in even steps from frame ${from} to ${to}, with ${where}.`,
      why: `${steps.length} steps vary by ${Math.round(variation * 100)} % about ${sizeWords(mean * frames, timing)}; the one at the ${ends[0]} is ${sizeWords(step, timing)}, though the part stands still or turns there.`,
    });
  }
  return faults;

  /** The step that leads into an exposure, pixels per frame; NaN at the start of the shot and beyond its end. */
  function stepInto(i: number): readonly [number, number] {
    const [a, b] = [exposures[i - 1], exposures[i]];
    if (!a || !b) return [Number.NaN, Number.NaN];
    const [p, q] = [place(a.firstFrame), place(b.firstFrame)];
    return [(q[0] - p[0]) / a.frames, (q[1] - p[1]) / a.frames];
  }
}

/** The part's own move without poses that stand still at its ends: they are the stop, not small steps toward it. */
function trimStill(timing: Timing, part: Part, whole: MoveFrames): MoveFrames {
  const own = ownMove(timing, part, whole);
  const path = timing.motion.paths.get(part)!;
  const shown = framesShown(timing.exposures, own);
  const steps = shown
    .slice(1)
    .map((f, i) => Math.hypot(path.xPx[f]! - path.xPx[shown[i]!]!, path.yPx[f]! - path.yPx[shown[i]!]!));
  const largest = Math.max(...steps);
  let a = 0;
  let b = steps.length;
  while (a < b && steps[a]! < 0.03 * largest) a++;
  while (b > a && steps[b - 1]! < 0.03 * largest) b--;
  return { firstFrame: shown[a]!, lastFrame: shown[b]! };
}
