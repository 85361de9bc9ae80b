import type { Columns } from './columns.ts';
import { leastConfidence } from './noise.ts';
import { median } from './quantile.ts';
import { cell, jointsPerPicture } from './sighting.ts';

/** A longer run of equal pictures is a still, not a camera that stuttered. */
const longestRepeat = 3;
/** A repeat moves less than this share of what the pictures before and after it moved. */
const stuckShare = 0.15;

/**
 * Which pictures show the same moment as the one before them (a camera or converter repeated it): to be ignored, since
 * taking them at their time would put a stop into the movement. Either every joint was seen in exactly the same place, or
 * the whole body stood still for one picture between two in which it moved fast: bodies cannot do that.
 * Shape [picture], 1 = repeat.
 * @param torsoPx  The performer's torso; NaN when unknown, then only exact repeats are found.
 */
export function findRepeats(c: Columns, torsoPx: number): Uint8Array {
  const n = c.timesSec.length;
  const repeats = new Uint8Array(n);
  // Median distance that the joints went since the picture before; NaN where fewer than 5 are seen in both.
  const moved = new Float64Array(n).fill(Number.NaN);
  const exact = new Uint8Array(n);
  for (let i = 1; i < n; i++) {
    const steps: number[] = [];
    let differs = false;
    for (let j = 0; j < jointsPerPicture; j++) {
      const a = cell(i - 1, j);
      const b = cell(i, j);
      if (c.confidence[a] !== c.confidence[b]) differs = true;
      if (c.confidence[a]! < leastConfidence || c.confidence[b]! < leastConfidence) continue;
      const step = Math.hypot(c.xPx[b]! - c.xPx[a]!, c.yPx[b]! - c.yPx[a]!);
      if (step > 0) differs = true;
      steps.push(step);
    }
    if (steps.length >= 5) moved[i] = median(steps);
    exact[i] = !differs && steps.length > 0 ? 1 : 0;
  }
  for (let i = 1; i < n; i++) {
    let run = i;
    while (run < n && exact[run] === 1) run++;
    // A lone pair of equal pictures at rest is harmless either way; in motion it is a repeat.
    if (run > i && run - i <= longestRepeat) repeats.fill(1, i, run);
    i = Math.max(i, run - 1);
  }
  for (let i = 2; i + 1 < n; i++) {
    const around = Math.min(moved[i - 1]!, moved[i + 1]!);
    if (around > 0.04 * torsoPx && moved[i]! < stuckShare * around) repeats[i] = 1;
  }
  return repeats;
}
