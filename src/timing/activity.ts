import type { Motion } from '../track/motion.ts';

/**
 * Whole-body movement from the frame before: root mean square of the joints' steps over those known in both frames, body
 * heights per frame. Frame 0 has 0; a frame with no known joint has 0 too. Shape [frame].
 */
export function activityOf(motion: Motion, bodyHeightPx: number): Float64Array {
  const activity = new Float64Array(motion.timesSec.length);
  for (let k = 1; k < activity.length; k++) {
    let sum = 0;
    let seen = 0;
    for (const path of motion.paths.values()) {
      const dx = (path.xPx[k] ?? Number.NaN) - (path.xPx[k - 1] ?? Number.NaN);
      const dy = (path.yPx[k] ?? Number.NaN) - (path.yPx[k - 1] ?? Number.NaN);
      const square = dx * dx + dy * dy;
      if (Number.isNaN(square)) continue;
      sum += square;
      seen++;
    }
    activity[k] = seen === 0 ? 0 : Math.sqrt(sum / seen) / bodyHeightPx;
  }
  return activity;
}
