import { assert } from '../base/assert.ts';
import type { Motion } from '../track/motion.ts';
import type { Exposure, OnFrames } from './timing.ts';

/** The pictures to shoot, and the offset at which most of them stand on the grid of twos (threes, fours). */
export interface ExposurePlan {
  readonly exposures: readonly Exposure[];
  readonly phase: number;
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
  const seen = seenErrors(motion, bodyHeightPx, longest);
  const isKey = new Uint8Array(frameCount + 1);
  for (const frame of keyFrames) isKey[frame] = 1;
  // A picture more must save at least what a run of the usual length costs on average.
  let total = 0;
  for (let k = 0; k + onFrames <= frameCount; k++) total += seen[onFrames - 1]?.[k] ?? 0;
  const price = total / Math.max(1, frameCount);
  // One odd run outweighs any gain in error: even runs are what the hand learns.
  const oddPrice = 1 + 100 * ((seen[longest - 1]?.reduce((a, b) => a + b, 0) ?? 0) + price * frameCount);

  const cost = new Float64Array(frameCount + 1).fill(Number.POSITIVE_INFINITY);
  const cameFrom = new Int32Array(frameCount + 1);
  cost[0] = 0;
  for (let first = 0; first < frameCount; first++) {
    const soFar = cost[first] ?? Number.POSITIVE_INFINITY;
    if (soFar === Number.POSITIVE_INFINITY) continue;
    for (let frames = 1; frames <= longest && first + frames <= frameCount; frames++) {
      const next = first + frames;
      const odd = frames === onFrames ? 0 : oddPrice;
      const sum = soFar + odd + price + (seen[frames - 1]?.[first] ?? 0);
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

/** [run length − 1][first frame]: squared pose error of holding that frame for the run, body heights². */
function seenErrors(motion: Motion, bodyHeightPx: number, longest: number): Float64Array[] {
  const frameCount = motion.timesSec.length;
  const errors = Array.from({ length: longest }, () => new Float64Array(frameCount));
  for (let later = 1; later < longest; later++) {
    const column = errors[later] ?? new Float64Array();
    for (const path of motion.paths.values()) {
      for (let k = 0; k + later < frameCount; k++) {
        const dx = (path.xPx[k + later] ?? Number.NaN) - (path.xPx[k] ?? Number.NaN);
        const dy = (path.yPx[k + later] ?? Number.NaN) - (path.yPx[k] ?? Number.NaN);
        const square = (dx * dx + dy * dy) / (bodyHeightPx * bodyHeightPx);
        if (!Number.isNaN(square)) column[k] = (column[k] ?? 0) + square;
      }
    }
    const shorter = errors[later - 1] ?? new Float64Array();
    for (let k = 0; k < frameCount; k++) column[k] = (column[k] ?? 0) + (shorter[k] ?? 0);
  }
  return errors;
}

function commonest(exposures: readonly Exposure[], onFrames: number): number {
  const counts = new Array<number>(onFrames).fill(0);
  for (const { firstFrame } of exposures) counts[firstFrame % onFrames] = (counts[firstFrame % onFrames] ?? 0) + 1;
  return counts.indexOf(Math.max(...counts));
}
