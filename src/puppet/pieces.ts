import type { Joint } from '../base/joints.ts';
import type { Motion } from '../track/motion.ts';

/** A way in the picture at each frame, millimetres, y up. */
export interface PlaneTrack {
  readonly x: Float64Array;
  readonly y: Float64Array;
}

/** A straight piece of the puppet over time: the way from its near to its far end, millimetres, y up, z without a sign. Shape [frame]. */
export interface PieceTrack {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
}

/**
 * A piece of the puppet that points where the performer's does: the same angle in the picture, the same share of its length in it;
 * the rest of the length is depth, so that in space the piece is exactly as long as it is. NaN where an end was not seen.
 * @param truePx the performer's true length.
 */
export function pieceOnPuppet(motion: Motion, from: Joint, to: Joint, lengthMm: number, truePx: number): PieceTrack {
  const n = motion.timesSec.length;
  const [a, b] = [motion.paths.get(from), motion.paths.get(to)];
  const [x, y, z] = [new Float64Array(n), new Float64Array(n), new Float64Array(n)];
  for (let k = 0; k < n; k++) {
    const dx = a && b ? b.xPx[k]! - a.xPx[k]! : Number.NaN;
    const dy = a && b ? a.yPx[k]! - b.yPx[k]! : Number.NaN;
    const px = Math.hypot(dx, dy);
    const share = Math.min(1, px / truePx);
    const scale = px > 0 ? (share * lengthMm) / px : 0;
    x[k] = dx * scale;
    y[k] = dy * scale;
    z[k] = lengthMm * Math.sqrt(1 - share * share);
  }
  return { x, y, z };
}

/** A direction in space, of length 1. */
export type Direction = readonly [x: number, y: number, z: number];

/** What is up for a foot that points along `forward`: as near to straight up as it can be. */
export function upOf([x, y, z]: Direction): Direction {
  const [ux, uy, uz] = [-y * x, 1 - y * y, -y * z];
  const long = Math.hypot(ux, uy, uz);
  // A foot that points straight up or down: the way its toes would be lifted.
  return long > 1e-6 ? [ux / long, uy / long, uz / long] : [0, 0, 1];
}

/** Between two directions, `share` of the way (0 = the first); straight, which is near enough for feet. */
export function between(a: Direction, b: Direction, share: number): Direction {
  const v = [0, 1, 2].map((i) => a[i]! + share * (b[i]! - a[i]!)) as [number, number, number];
  const long = Math.hypot(...v);
  return long > 1e-9 ? [v[0] / long, v[1] / long, v[2] / long] : a;
}

/** From 0 to 1 with soft ends. */
export function soft(u: number): number {
  const v = Math.min(1, Math.max(0, u));
  return v * v * (3 - 2 * v);
}
