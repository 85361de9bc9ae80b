import { assert, present } from '../base/assert.ts';
import type { Part } from '../base/joints.ts';
import type { Arc, ArcFrame } from './arc.ts';
import type { Timing } from './timing.ts';

/**
 * The path of `joint` over the shot: in the picture, or as seen from another joint that moves too. A relative arc is shifted
 * so that the other joint stands at its place in frame `anchorFrame` (0 unless told), and lies then over that frame's picture.
 * Its standard deviation is √(sd² + sd of the other²): the two joints' errors are taken as independent, which is on the
 * safe side (errors that the two share would cancel). NaN where either joint is not known; guessed where either is.
 */
export function arcOf(timing: Timing, joint: Part, relativeTo: ArcFrame = 'picture', anchorFrame = 0): Arc {
  const path = present(timing.motion.paths.get(joint), `path of ${joint}`);
  assert(anchorFrame >= 0 && anchorFrame < timing.grid.frameCount, `anchor frame ${anchorFrame}`);
  const tickFrames = timing.exposures.map((e) => e.firstFrame);
  const shared = { joint, relativeTo, tickFrames, anchorFrame };
  if (relativeTo === 'picture') {
    return { ...shared, xPx: path.xPx, yPx: path.yPx, sdPx: path.sdPx, guessed: path.guessed };
  }
  const other = present(timing.motion.paths.get(relativeTo), `path of ${relativeTo}`);
  const anchorX = other.xPx[anchorFrame] ?? Number.NaN;
  const anchorY = other.yPx[anchorFrame] ?? Number.NaN;
  return {
    ...shared,
    xPx: path.xPx.map((x, k) => x - (other.xPx[k] ?? Number.NaN) + anchorX),
    yPx: path.yPx.map((y, k) => y - (other.yPx[k] ?? Number.NaN) + anchorY),
    sdPx: path.sdPx.map((sd, k) => Math.hypot(sd, other.sdPx[k] ?? Number.NaN)),
    guessed: path.guessed.map((g, k) => (g || other.guessed[k] ? 1 : 0)),
  };
}
