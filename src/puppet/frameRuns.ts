import type { FrameRun } from './puppetMotion.ts';

/** Runs of frames where something is so. */
export function runsWhere(n: number, is: (k: number) => boolean): FrameRun[] {
  const runs: FrameRun[] = [];
  let first = -1;
  for (let k = 0; k <= n; k++) {
    const now = k < n && is(k);
    if (now && first < 0) first = k;
    if (!now && first >= 0) {
      runs.push({ firstFrame: first, frames: k - first });
      first = -1;
    }
  }
  return runs;
}
