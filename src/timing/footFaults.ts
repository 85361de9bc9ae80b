import { fpsOf } from '../base/frameRate.ts';
import type { Joint } from '../base/joints.ts';
import { type JointPath, stepSdOf } from '../track/motion.ts';
import { type ArcFault, faultSize, type PartWords } from './arcFault.ts';
import { surelySds } from './popFaults.ts';
import { sizeWords } from './sizeUnit.ts';
import type { Timing } from './timing.ts';

/** A foot stands while its slowest part is slower than this: 1 mm a frame at 24 fps for a puppet of 250 mm. Body heights per second. */
const standingSpeed = 0.1;
/** Shorter stands are passing through, seconds. */
const leastSec = 4 / 24;
/** Two stands are one with a slide between them when no more than this lies between them: seconds, and body heights. */
const gapSec = 6 / 24;
const gapShare = 0.06;
/** A foot that rises by more than this between is lifted, which is no slide. Body heights. */
const liftShare = 0.012;
/** A standing foot may shift this far, body heights: 2 mm of 250. */
const leastShare = 0.008;

/**
 * Feet that move though they stand. What is followed is that part of the foot (toe, heel, ankle, as seen) which moves least over
 * the stand: a heel may rise while the toe stands.
 */
export function footFaults(timing: Timing, words: PartWords): ArcFault[] {
  const faults: ArcFault[] = [];
  for (const side of ['left', 'right'] as const) {
    const parts = ([`${side}Toe`, `${side}Heel`, `${side}Ankle`] as const).flatMap((joint) => {
      const path = timing.motion.paths.get(joint);
      return path?.xPx.some((v) => !Number.isNaN(v)) ? [{ joint, path }] : [];
    });
    if (parts.length === 0) continue;
    for (const [first, last] of standsOf(timing, parts)) {
      const fault = slideIn(timing, parts, first, last, words);
      if (fault) faults.push(fault);
    }
  }
  return faults;
}

interface FootPart {
  readonly joint: Joint;
  readonly path: JointPath;
}

/** Spans of frames, both ends included, in which a foot stands or slides along the ground. */
function standsOf(timing: Timing, parts: readonly FootPart[]): [number, number][] {
  const fps = fpsOf(timing.grid.rate);
  const n = timing.grid.frameCount;
  const limit = (standingSpeed * timing.bodyHeightPx) / fps;
  const stands: [number, number][] = [];
  let first = -1;
  for (let k = 0; k <= n; k++) {
    const still = k < n && parts.some(({ path }) => speedAt(path, k, n) < limit);
    if (still && first < 0) first = k;
    if (!still && first >= 0) {
      if (k - first >= leastSec * fps) stands.push([first, k - 1]);
      first = -1;
    }
  }
  const joined: [number, number][] = [];
  for (const stand of stands) {
    const before = joined.at(-1);
    if (before && stand[0] - before[1] <= gapSec * fps + 1 && staysDown(timing, parts, before[1], stand[0]))
      before[1] = stand[1];
    else joined.push([...stand]);
  }
  return joined;
}

function speedAt(path: JointPath, k: number, n: number): number {
  const [a, b] = [Math.max(0, k - 1), Math.min(n - 1, k + 1)];
  return Math.hypot(path.xPx[b]! - path.xPx[a]!, path.yPx[b]! - path.yPx[a]!) / Math.max(1, b - a);
}

/** Does the foot go along the ground from one frame to the other, not through the air, and no further than a slide? */
function staysDown(timing: Timing, parts: readonly FootPart[], from: number, to: number): boolean {
  const height = timing.bodyHeightPx;
  return parts.some(({ path }) => {
    const [ya, yb] = [path.yPx[from]!, path.yPx[to]!];
    if (!(Math.hypot(path.xPx[to]! - path.xPx[from]!, yb - ya) < gapShare * height)) return false;
    for (let k = from + 1; k < to; k++) {
      const ground = ya + ((yb - ya) * (k - from)) / (to - from);
      if (ground - path.yPx[k]! > liftShare * height) return false;
    }
    return true;
  });
}

function slideIn(
  timing: Timing,
  parts: readonly FootPart[],
  first: number,
  last: number,
  words: PartWords,
): ArcFault | null {
  const { motion, bodyHeightPx } = timing;
  const least = parts
    .map((part) => ({ ...part, size: range(part.path, first, last) }))
    .filter((p) => Number.isFinite(p.size))
    .reduce<(FootPart & { size: number }) | null>((a, b) => (a && a.size <= b.size ? a : b), null);
  if (!least) return null;
  const { joint, path } = least;
  // From where it stands at first to where it stands in the end: a tremble to and fro is no slide.
  const soft = Math.min(2, Math.floor((last - first) / 4));
  const mean = (column: Float64Array, from: number) => {
    let sum = 0;
    for (let k = from; k <= from + soft; k++) sum += column[k]!;
    return sum / (soft + 1);
  };
  const size = Math.hypot(
    mean(path.xPx, last - soft) - mean(path.xPx, first),
    mean(path.yPx, last - soft) - mean(path.yPx, first),
  );
  const sd = stepSdOf(motion, joint, first, last);
  if (!(size - leastShare * bodyHeightPx > 0 && size > surelySds * sd)) return null;
  let at = first;
  for (let k = first + 1; k <= last; k++)
    if (speedAt(path, k, timing.grid.frameCount) > speedAt(path, at, timing.grid.frameCount)) at = k;
  return {
    kind: 'footSlide',
    part: joint,
    firstFrame: first,
    frames: last - first + 1,
    atFrame: at,
    ...faultSize(timing, size, sd),
    sentence: `The ${words(joint)} slides ${sizeWords(size, timing)} while the foot stands, frames ${first + 1} to ${last + 1}.`,
    why: `Distance from where it stands at first to where it stands in the end; of the foot’s parts seen, the ${words(joint)} moves least.`,
  };
}

/** Diagonal of the box that a path fills, pixels. */
function range(path: JointPath, first: number, last: number): number {
  let [x0, x1, y0, y1] = [Infinity, -Infinity, Infinity, -Infinity];
  for (let k = first; k <= last; k++) {
    x0 = Math.min(x0, path.xPx[k]!);
    x1 = Math.max(x1, path.xPx[k]!);
    y0 = Math.min(y0, path.yPx[k]!);
    y1 = Math.max(y1, path.yPx[k]!);
  }
  return Math.hypot(x1 - x0, y1 - y0);
}
