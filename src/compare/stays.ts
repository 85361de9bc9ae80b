import type { Joint } from '../base/joints.ts';
import type { Off } from './deviations.ts';
import { type OffRun, quickAt, sdsOff, surelyOwn } from './offRuns.ts';

/** What stays off by less is no more than hips shift in a skirt: a share of the height, 3 mm of 250. */
const leastShare = 0.012;
/** What stays off for longer, 60 frames on twos, is rather how the puppet is built, or placed by a detector. */
const mostExposures = 30;
/** Poses that stay as they are, and leaps that undo each other, differ by less than this part of the leap. */
const alike = 0.5;

/**
 * Poses that were put off and stayed so, together, until they were put right: a key that was placed wrong and held. Where a joint lies on a
 * puppet a detector knows badly, but how far it goes from one picture to the next was followed to a fraction of a millimetre; so the leaps
 * at both ends tell what lasts between them.
 * @returns none where steps were not followed by themselves.
 */
export function stays(joint: Joint, off: Off, sizeMm: number): OffRun[] {
  const { x, y, stepSd } = off;
  if (!stepSd) return [];
  const n = x.length;
  const leapX = x.map((v, i) => v - (x[i - 1] ?? Number.NaN));
  const leapY = y.map((v, i) => v - (y[i - 1] ?? Number.NaN));
  const least = leastShare * sizeMm;
  const found: { run: OffRun; sds: number }[] = [];
  for (let a = 1; a < n - 2; a++) {
    if (!(Math.hypot(leapX[a]!, leapY[a]!) > least / 2)) continue;
    for (let b = a + 1; b < Math.min(n - 1, a + mostExposures); b++) {
      const [vx, vy] = [(leapX[a]! - leapX[b + 1]!) / 2, (leapY[a]! - leapY[b + 1]!) / 2];
      const size = Math.hypot(vx, vy);
      const within = alike * size;
      if (!(size > least && Math.hypot(leapX[a]! - vx, leapY[a]! - vy) < within)) continue;
      if (!staysAt(off, a, b, within)) continue;
      const sd = Math.hypot(quickAt(off, a), quickAt(off, b + 1));
      const ends = [a - 1, a, b, b + 1];
      const sds = Math.min(...ends.map((i) => sdsOff(off, i, vx, vy, sd)));
      if (!(sds > surelyOwn(off))) continue;
      found.push({
        run: { joint, first: a, last: b, worst: a, x: vx, y: vy, size, sd, isPop: false, isSteady: true },
        sds,
      });
    }
  }
  const chosen: OffRun[] = [];
  for (const { run } of found.sort((p, q) => q.sds - p.sds))
    if (chosen.every((c) => run.last < c.first || run.first > c.last)) chosen.push(run);
  return chosen;
}

/** Does it lie in one place from `a` to `b`? */
function staysAt({ x, y }: Off, a: number, b: number, within: number): boolean {
  let [mx, my] = [0, 0];
  for (let i = a; i <= b; i++) [mx, my] = [mx + x[i]! / (b - a + 1), my + y[i]! / (b - a + 1)];
  for (let i = a; i <= b; i++) if (!(Math.hypot(x[i]! - mx, y[i]! - my) < within)) return false;
  return true;
}
