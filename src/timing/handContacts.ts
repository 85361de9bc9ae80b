import type { HandContact } from '../track/handContact.ts';
import type { Motion } from '../track/motion.ts';

/** A hand comes to its place, and leaves it, over so long, seconds: a step of the wrist into place would be seen. */
const settleSec = 0.2;
/** Half a millisecond: times of pictures are rounded to less. */
const sameMomentSec = 0.0005;

/**
 * 1 where a hand keeps its place, 0 where it is free, in between where it comes to it or leaves. Shape [frame]; null when it never
 * keeps one.
 */
export function keepingShares(
  motion: Motion,
  hand: HandContact['hand'],
  contacts: readonly HandContact[],
): Float64Array | null {
  const its = contacts.filter((c) => c.hand === hand);
  if (its.length === 0) return null;
  return motion.timesSec.map((sec) => {
    let most = 0;
    for (const { startSec, endSec } of its) {
      const away = Math.max(0, startSec - sec - sameMomentSec, sec - endSec - sameMomentSec);
      const u = Math.min(1, away / settleSec);
      most = Math.max(most, 1 - u * u * (3 - 2 * u));
    }
    return most;
  });
}
