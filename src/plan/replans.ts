import { frameStartSec } from '../base/frameRate.ts';
import { keysAhead, type Replan, type Replannable, replanFrom, standThere } from '../compare/replan.ts';
import type { Stance } from '../compare/stance.ts';
import type { ReplanChoice } from '../project/book.ts';
import { standingHeightMm } from '../puppet/profile.ts';
import type { PuppetMotion } from '../puppet/puppetMotion.ts';
import type { Key, Timing } from '../timing/timing.ts';
import type { Plan } from './plan.ts';
import { changedSince } from './shotMoment.ts';

/** A re-plan of the book, as it is in the shot by now. */
export interface PlacedReplan {
  readonly choice: ReplanChoice;
  /** Null = it is out of date, and nothing hangs on it. */
  readonly replan: Replan | null;
  /** Why it is out of date, a phrase; "" = it is in force. */
  readonly outdated: string;
}

/** The shot on the puppet with its moves laid anew from where it was found to stand. */
export interface ReplannedMotion {
  /** What is asked of the puppet, frame by frame: what a shot is held against. */
  readonly asked: PuppetMotion;
  /** The same, but at exposures that moves were laid anew from as the puppet really stands there: moves lead away from it. */
  readonly puppet: PuppetMotion;
  /** All of the book's, rising. */
  readonly replans: readonly PlacedReplan[];
}

/** Lays the moves of a motion anew, each re-plan upon those before it. One whose pose does not stand in the shot any more changes nothing. */
export function replanMotion(motion: PuppetMotion, timing: Timing, choices: readonly ReplanChoice[]): ReplannedMotion {
  let asked = motion;
  const replans: PlacedReplan[] = [];
  for (const choice of choices) {
    const outdated = whyOutdated(timing, motion, choice);
    const key = outdated ? null : keyOf(timing, choice);
    const replan = key && replanFrom(replannable(asked, timing), stanceIn(timing, choice.stance), key);
    if (replan) asked = replan.motion;
    replans.push({ choice, replan, outdated: outdated || (key ? '' : 'no key follows it now') });
  }
  const there = replans.flatMap((r) => r.replan ?? []);
  return { asked, puppet: standThere(asked, there), replans };
}

/** What moves of a shot are laid anew from. */
export function replannable(motion: PuppetMotion, { keys, holds, grid }: Timing): Replannable {
  return { motion, rate: grid.rate, keys, holds };
}

/**
 * A stance as it counts in the shot: how fast the puppet goes is not told by a pose of another stretch of a cut shot, nor by one that was
 * shot before the shot begins.
 */
export function stanceIn({ cutFrames }: Pick<Timing, 'cutFrames'>, stance: Stance): Stance {
  const { firstFrame, before } = stance;
  const beforeFrame = firstFrame - (before?.frames ?? 0);
  const isApart = beforeFrame < 0 || cutFrames.some((f) => f > beforeFrame && f <= firstFrame);
  return {
    ...stance,
    planFrame: Math.max(0, stance.planFrame),
    before: before && !isApart ? { ...before, planFrame: Math.max(0, before.planFrame) } : null,
  };
}

/** Heights that differ by no more are the same, millimetres. */
const sameHeightMm = 0.01;

function whyOutdated(timing: Timing, motion: PuppetMotion, { stance, takeSec, heightMm }: ReplanChoice): string {
  const { firstFrame, frames } = stance;
  const changed = changedSince(timing, { firstFrame, frames, takeSec });
  if (changed) return changed;
  return Math.abs(standingHeightMm(motion.profile) - heightMm) > sameHeightMm
    ? 'the puppet has another height now'
    : '';
}

/** The key that was chosen, wherever it is by now; where it is gone, the one that would be met unless something else is said. */
function keyOf({ keys, grid }: Timing, { stance, keySec }: ReplanChoice): Key | null {
  const { all, usual } = keysAhead(keys, stance);
  const halfFrame = frameStartSec(grid.rate, 1) / 2;
  return all.find((key) => Math.abs(key.takeSec - keySec) < halfFrame) ?? usual;
}

/** The re-plan that an exposure's move was laid by: of those in force the latest that goes so far; null = none. */
export function replanAt({ replans }: Pick<Plan, 'replans'>, frame: number): Replan | null {
  return replans.flatMap((r) => r.replan ?? []).findLast((r) => frame >= r.firstFrame && frame <= r.lastFrame) ?? null;
}

/** The index of an exposure that shows a frame, from 0; −1 where none does. */
export function exposureIndex({ exposures }: Timing, frame: number): number {
  return exposures.findIndex((e) => frame >= e.firstFrame && frame < e.firstFrame + e.frames);
}

/** Exposures at which the puppet stands as it was found, not as it was asked for. */
export function standingExposures(timing: Timing, replans: readonly PlacedReplan[]): ReadonlySet<number> {
  return new Set(
    replans
      .flatMap(({ replan }) => (replan ? [exposureIndex(timing, replan.stance.firstFrame)] : []))
      .filter((i) => i >= 0),
  );
}
