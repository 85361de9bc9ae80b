import type { Part } from '../base/joints.ts';
import type { JointPath } from '../track/motion.ts';
import type { Timing } from './timing.ts';

/** A span in which a part goes further from exposure to exposure than it is wide: the eye sees it twice instead of moving. */
export interface Strobing {
  readonly part: Part;
  /** The exposures from the first to the last such step; frames from 0. */
  readonly firstFrame: number;
  readonly frames: number;
  /** The longest step and the part's width, puppet millimetres. */
  readonly longestMm: number;
  readonly widthMm: number;
}

/**
 * How wide parts are, as shares of the body height (common practice, no source; a hand is about 85 mm across and a head 155 mm
 * of 1.75 m, from memory). Parts without an entry hardly move by themselves, or stand beside one that does.
 */
const widths: Partial<Record<Part, number>> = {
  nose: 0.09,
  leftElbow: 0.055,
  rightElbow: 0.055,
  leftWrist: 0.05,
  rightWrist: 0.05,
  leftKnee: 0.07,
  rightKnee: 0.07,
  leftAnkle: 0.06,
  rightAnkle: 0.06,
  pelvis: 0.17,
};

/** Exposures shorter than this come too fast to be seen one by one, seconds: ones at 24 fps, within rounding. */
const fusesSec = 1.1 / 24;

/**
 * Where a shot would strobe: steps larger than the part is wide, on exposures of more than one frame at 24 fps (silhouettes that
 * no longer overlap are seen one by one; common practice, no source). Longest steps first.
 */
export function findStrobing(timing: Timing): Strobing[] {
  const found: Strobing[] = [];
  const frameSec = timing.choices.rate.seconds / timing.choices.rate.frames;
  for (const [part, path] of timing.motion.paths) {
    const width = widths[part];
    if (width === undefined) continue;
    const widthMm = width * timing.choices.puppetHeightMm;
    let run: Omit<Strobing, 'part' | 'widthMm'> | null = null;
    for (let i = 1; i < timing.exposures.length; i++) {
      const from = timing.exposures[i - 1];
      const to = timing.exposures[i];
      if (!from || !to) continue;
      const distanceMm = apartPx(path, from.firstFrame, to.firstFrame) * timing.mmPerPx;
      // A part that is not known at one of them (NaN) strobes nowhere.
      const strobes = distanceMm > widthMm && from.frames * frameSec > fusesSec;
      if (!strobes) {
        if (run) found.push({ part, ...run, widthMm });
        run = null;
        continue;
      }
      const before: Omit<Strobing, 'part' | 'widthMm'> = run ?? {
        firstFrame: from.firstFrame,
        frames: 0,
        longestMm: 0,
      };
      run = {
        firstFrame: before.firstFrame,
        frames: to.firstFrame + to.frames - before.firstFrame,
        longestMm: Math.max(before.longestMm, distanceMm),
      };
    }
    if (run) found.push({ part, ...run, widthMm });
  }
  return found.sort((a, b) => b.longestMm / b.widthMm - a.longestMm / a.widthMm);
}

function apartPx({ xPx, yPx }: JointPath, from: number, to: number): number {
  return Math.hypot(
    (xPx[to] ?? Number.NaN) - (xPx[from] ?? Number.NaN),
    (yPx[to] ?? Number.NaN) - (yPx[from] ?? Number.NaN),
  );
}
