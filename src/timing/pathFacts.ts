import { fpsOf } from '../base/frameRate.ts';
import type { Arc } from './arc.ts';
import { type LocalCircle, localCircle, type NoCircle } from './circleFit.ts';
import { type SpeedAndCurvature, speedAndCurvature } from './powerLaw.ts';
import { type Smoothness, smoothestOf, smoothnessOf } from './smoothness.ts';
import type { MoveFrames } from './spacingChart.ts';
import type { Timing } from './timing.ts';

/** What can be said of the shape of an arc over one move. */
export interface PathFacts {
  readonly move: MoveFrames;
  /** Pixels of the picture of the anchor frame; or why there is none. */
  readonly circle: LocalCircle | NoCircle;
  /** Null where it hardly moves, or is not known throughout. */
  readonly smoothness: Smoothness | null;
  /** The smoothest reach of as many frames at the same rate. */
  readonly smoothest: Smoothness | null;
  /** For information only; null where too little is curved. */
  readonly law: SpeedAndCurvature | null;
}

/** Errors of the tracks stay alike for about this long, seconds. */
const alikeSec = 0.12;

/**
 * The shape of an arc over a move: its circle, its smoothness from frame to frame (not from pose to pose: the rate is the shot's),
 * and how speed goes with curvature. Speeds are those along the arc, so a relative arc's are the relative ones.
 */
export function pathFacts(timing: Timing, arc: Arc, move: MoveFrames): PathFacts {
  const fps = fpsOf(timing.grid.rate);
  const last = Math.min(move.lastFrame, timing.grid.frameCount - 1);
  const cut = (column: Float64Array) => column.slice(move.firstFrame, last + 1);
  const [x, y] = [cut(arc.xPx), cut(arc.yPx)];
  const [vx, vy] = [slopes(x, fps), slopes(y, fps)];
  const speeds = vx.map((v, i) => Math.hypot(v, vy[i]!));
  const circle = localCircle(x, y, cut(arc.sdPx), alikeSec * fps);
  const smoothness = circle === 'still' ? null : smoothnessOf(speeds, fps);
  return {
    move,
    circle,
    smoothness,
    smoothest: smoothness && smoothestOf(speeds.length, fps),
    law: smoothness && speedAndCurvature(vx, vy, slopes(vx, fps), slopes(vy, fps)),
  };
}

/** Central differences, one-sided at the ends, per second. */
function slopes(values: Float64Array, fps: number): Float64Array {
  const last = values.length - 1;
  return values.map((_, i) => {
    const [a, b] = [Math.max(0, i - 1), Math.min(last, i + 1)];
    return b > a ? ((values[b]! - values[a]!) * fps) / (b - a) : 0;
  });
}

/** The move on screen at a frame: the one it lies in, else the next, else the last. Null for a shot without moves. */
export function moveAt(moves: readonly MoveFrames[], frame: number): MoveFrames | null {
  return moves.find((m) => frame <= m.lastFrame) ?? moves.at(-1) ?? null;
}

/** How smooth a move is, in words, beside the smoothest of its length; only for numbers at one rate. */
export function smoothnessWords(is: Smoothness, smoothest: Smoothness): string {
  // Each stop in a move costs about 2.8 in the jerk's logarithm, a tremble of a tenth of the speed about 1.
  const behind = smoothest.ldlj - is.ldlj;
  if (behind < 0.5) return 'as smooth as a reach can be';
  if (behind < 1.5) return 'smooth';
  if (behind < 3) return 'a little uneven';
  return 'uneven: it stops, turns or trembles on the way';
}
