import { assert, present } from '../base/assert.ts';
import type { Part } from '../base/joints.ts';
import type { JointPath } from '../track/motion.ts';
import type { Arc, ArcFrame } from './arc.ts';
import { type BodyFrame, bodyFramePath } from './bodyFrame.ts';
import type { Timing } from './timing.ts';

/**
 * The path of `joint` over the shot: in the picture, as seen from another part that moves too, or from a line of the body that
 * moves and turns. A relative arc is laid so that what it is seen from stands at its place in frame `anchorFrame` (0 unless
 * told), and lies then over that frame's picture. Errors of the parts are taken as independent, which is on the safe side
 * (errors that they share would cancel): √(sd² + sd of the other²), and for a line of the body the error of its direction
 * times the distance from it. NaN where anything needed is not known; guessed where anything is.
 */
export function arcOf(timing: Timing, joint: Part, relativeTo: ArcFrame = 'picture', anchorFrame = 0): Arc {
  const path = present(timing.motion.paths.get(joint), `path of ${joint}`);
  assert(anchorFrame >= 0 && anchorFrame < timing.grid.frameCount, `anchor frame ${anchorFrame}`);
  const tickFrames = timing.exposures.map((e) => e.firstFrame);
  const shared = { joint, relativeTo, tickFrames, anchorFrame };
  if (relativeTo === 'picture') {
    return { ...shared, xPx: path.xPx, yPx: path.yPx, sdPx: path.sdPx, guessed: path.guessed };
  }
  if (typeof relativeTo === 'object') return { ...shared, ...seenFromLine(timing, path, relativeTo, anchorFrame) };
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

function seenFromLine(timing: Timing, path: JointPath, line: BodyFrame, anchorFrame: number) {
  const frame = present(bodyFramePath(timing.motion, line), `path of the ${line.name}`);
  const xPx = new Float64Array(path.xPx.length);
  const yPx = new Float64Array(path.xPx.length);
  const sdPx = new Float64Array(path.xPx.length);
  for (let k = 0; k < xPx.length; k++) {
    const turn = frame.angle[anchorFrame]! - frame.angle[k]!;
    const scale = line.scales ? frame.lengthPx[anchorFrame]! / frame.lengthPx[k]! : 1;
    const dx = path.xPx[k]! - frame.xPx[k]!;
    const dy = path.yPx[k]! - frame.yPx[k]!;
    const [cos, sin] = [scale * Math.cos(turn), scale * Math.sin(turn)];
    xPx[k] = frame.xPx[anchorFrame]! + cos * dx - sin * dy;
    yPx[k] = frame.yPx[anchorFrame]! + sin * dx + cos * dy;
    const carried = frame.angleSd[k]! * Math.hypot(dx, dy);
    sdPx[k] = scale * Math.hypot(path.sdPx[k]!, frame.sdPx[k]!, carried);
  }
  const guessed = path.guessed.map((g, k) => (g || frame.guessed[k] ? 1 : 0));
  return { xPx, yPx, sdPx, guessed };
}

/** Are two arcs with these seen from the same place? */
export function sameArcFrame(a: ArcFrame, b: ArcFrame): boolean {
  if (typeof a !== 'object' || typeof b !== 'object') return a === b;
  return a.from === b.from && a.to === b.to && a.scales === b.scales;
}
