import { twoBones } from '../base/twoBones.ts';
import type { PieceTrack } from './pieces.ts';

/** A leg or an arm in one frame, in the picture, millimetres; depths are sizes without a sign. */
export interface Bent {
  /** Knee or elbow. */
  readonly middle: readonly [number, number];
  readonly middleZ: number;
  /** Ankle or wrist. */
  readonly end: readonly [number, number];
  readonly endZ: number;
  /** How far the end stays short of where it should be, millimetres; 0 where it reaches. */
  readonly shortMm: number;
}

/** The pieces of a limb in one frame as the performer holds them, apparent lengths in x, y. */
export interface LimbPose {
  readonly upper: readonly [number, number, number];
  readonly lower: readonly [number, number, number];
}

/** A limb's pieces at a frame. */
export function limbAt(upper: PieceTrack, lower: PieceTrack, k: number): LimbPose {
  return {
    upper: [upper.x[k]!, upper.y[k]!, upper.z[k]!],
    lower: [lower.x[k]!, lower.y[k]!, lower.z[k]!],
  };
}

/**
 * Bends a limb so that its end is at the target: to the same side as the performer's, each bone as far out of the picture as the
 * performer's, less where it would not reach otherwise, more where the bones would have to fold further than they can. Where the
 * target is where the limb points anyway, nothing changes.
 * @param side which way it bends, by its sign (as the cross product of both bones); taken from the pose itself where that is clear.
 */
export function reach(
  start: readonly [number, number],
  target: readonly [number, number],
  pose: LimbPose,
  upperMm: number,
  lowerMm: number,
  side: number,
): Bent {
  const ownEnd: [number, number] = [start[0] + pose.upper[0] + pose.lower[0], start[1] + pose.upper[1] + pose.lower[1]];
  if (Math.hypot(target[0] - ownEnd[0], target[1] - ownEnd[1]) < 1e-7)
    return {
      middle: [start[0] + pose.upper[0], start[1] + pose.upper[1]],
      middleZ: pose.upper[2],
      end: [target[0], target[1]],
      endZ: pose.lower[2],
      shortMm: 0,
    };
  const away = Math.hypot(target[0] - start[0], target[1] - start[1]);
  const own = Math.hypot(ownEnd[0] - start[0], ownEnd[1] - start[1]);
  // A little longer or shorter, the limb is turned as a whole and points a little less or more out of the picture: its bend stays.
  const scale = own > 0 ? Math.min(1 + depthTakes, Math.max(1 - depthTakes, away / own)) : 1;
  const [ownFirst, ownSecond] = [Math.hypot(pose.upper[0], pose.upper[1]), Math.hypot(pose.lower[0], pose.lower[1])];
  let first = Math.min(upperMm, scale * ownFirst);
  let second = Math.min(lowerMm, scale * ownSecond);
  // One bone lies in the plane already: the other gives what is missing, at the same bend.
  const cosine = (pose.upper[0] * pose.lower[0] + pose.upper[1] * pose.lower[1]) / (ownFirst * ownSecond);
  if (first < scale * ownFirst) second = atSameBend(first, cosine, away, second, lowerMm);
  else if (second < scale * ownSecond) first = atSameBend(second, cosine, away, first, upperMm);
  if (away > first + second) {
    const share = Math.min(1, (away - first - second) / Math.max(1e-12, upperMm + lowerMm - first - second));
    first += share * (upperMm - first);
    second += share * (lowerMm - second);
  } else if (away < Math.abs(first - second)) {
    if (first > second) first = second + away;
    else second = first + away;
  }
  const cross = pose.upper[0] * pose.lower[1] - pose.upper[1] * pose.lower[0];
  const isStraight = Math.abs(cross) < 1e-3 * first * second;
  const bent = twoBones(start, target, first, second, isStraight ? side : cross);
  const shortMm = Math.max(0, away - upperMm - lowerMm);
  return {
    middle: bent.middle,
    middleZ: Math.sqrt(Math.max(0, upperMm ** 2 - first ** 2)),
    // Exactly where it should be, not but for rounding.
    end: shortMm > 1e-9 ? bent.end : [target[0], target[1]],
    endZ: Math.sqrt(Math.max(0, lowerMm ** 2 - second ** 2)),
    shortMm: shortMm > 1e-9 ? shortMm : 0,
  };
}

/**
 * Which way a limb bends at each frame: the sign of the cross product of its bones where that is clear, else as in the nearest frame
 * where it is: a limb that is nearly straight must not flip to and fro. Shape [frame].
 */
export function bendSides(upper: PieceTrack, lower: PieceTrack): Float64Array {
  const n = upper.x.length;
  const sides = new Float64Array(n);
  let last = 0;
  const clear = new Int32Array(n).fill(-1);
  for (let k = 0; k < n; k++) {
    const cross = upper.x[k]! * lower.y[k]! - upper.y[k]! * lower.x[k]!;
    const size = Math.hypot(upper.x[k]!, upper.y[k]!) * Math.hypot(lower.x[k]!, lower.y[k]!);
    sides[k] = cross;
    if (Math.abs(cross) > nearlyStraight * size) last = k + 1;
    clear[k] = last - 1;
  }
  let next = -1;
  for (let k = n - 1; k >= 0; k--) {
    const before = clear[k]!;
    if (before === k) {
      next = k;
      continue;
    }
    const nearest = before < 0 ? next : next < 0 || k - before <= next - k ? before : next;
    // In a straight limb the side is worth nothing; its own tiny bend is kept, on the side of its neighbours.
    if (nearest >= 0 && sides[k]! * sides[nearest]! < 0) sides[k] = sides[nearest]!;
  }
  return sides;
}

/** The length of a bone with which a limb whose other bone is `known` long is `away` long, at a bend of this cosine; as before where none is. */
function atSameBend(known: number, cosine: number, away: number, before: number, most: number): number {
  const root = away * away - known * known * (1 - cosine * cosine);
  const length = root >= 0 ? -known * cosine + Math.sqrt(root) : Number.NaN;
  return length > before / (1 + depthTakes) && length <= Math.min(most, before * (1 + depthTakes)) ? length : before;
}

/** So much longer or shorter in the picture a limb may become by its depth alone, which nobody saw; more, and it bends. */
const depthTakes = 0.08;
/** Sine of the bend below which a limb is nearly straight: 3 degrees. */
const nearlyStraight = 0.05;
