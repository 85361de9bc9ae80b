import { type Balance, findBalance } from './balance.ts';
import type { Hitch } from './hitch.ts';
import { findLimits } from './limits.ts';
import type { PuppetMotion } from './puppetMotion.ts';
import { reachHitches } from './reachHitches.ts';
import { findTouches } from './touches.ts';

/** What this puppet may not be able to do, and what carries it. */
export interface Hitches {
  /** Worst first. */
  readonly hitches: readonly Hitch[];
  readonly balance: Balance;
}

/** Everything that may keep this puppet from doing the motion. */
export function findHitches(motion: PuppetMotion): Hitches {
  const balance = findBalance(motion);
  const hitches = [...findLimits(motion), ...findTouches(motion), ...reachHitches(motion), ...balance.hitches].sort(
    (a, b) => b.weight - a.weight || a.firstFrame - b.firstFrame || (a.id < b.id ? -1 : 1),
  );
  return { hitches, balance };
}
