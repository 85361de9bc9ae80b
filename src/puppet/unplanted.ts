import type { Joint } from '../base/joints.ts';
import type { Motion } from '../track/motion.ts';
import type { Stands } from './feet.ts';
import { runsWhere } from './frameRuns.ts';
import type { FrameRun, Side } from './puppetMotion.ts';

/** Frames in which no foot stands still. */
export interface Unplanted extends FrameRun {
  /** Off the floor; or on it without standing still: a foot slides or turns. */
  readonly how: 'air' | 'sliding';
}

/** A lower foot that is so much higher than where it stands before and after is off the floor, body heights. */
const liftedShare = 0.05;
/** Hips that fall with this much of gravity are carried by nothing: in a low hop feet hardly leave the floor. */
const fallsWithG = 0.6;
/** A parabola through fewer frames says nothing. */
const leastFallFrames = 5;
/** Gravity in body heights per second squared, of a person of 1.70 m. */
const gravity = 9.81 / 1.7;

const footParts = ['Ankle', 'Heel', 'Toe'] as const;
const sides = ['left', 'right'] as const;

/**
 * Tells where neither foot stands, and whether the body is then in the air. Without a camera's depth a foot counts as off the floor by
 * how high it is in the picture over the ground between its stands, or by how the hips fall.
 * @param heightPx standing height.
 */
export function findUnplanted(motion: Motion, stands: Stands, heightPx: number): Unplanted[] {
  const heights = sides.map((side) => heightsOf(motion, side, stands[side]));
  return runsWhere(motion.timesSec.length, (k) => sides.every((side) => stands[side][k] === null)).map((run) => {
    const frames = Array.from({ length: run.frames }, (_, i) => run.firstFrame + i);
    const lower = frames.map((k) => Math.min(...heights.map((h) => (Number.isNaN(h[k]!) ? Infinity : h[k]!))));
    const isLifted = median(lower.filter(Number.isFinite)) > liftedShare * heightPx;
    return { ...run, how: isLifted || falls(motion, frames, heightPx) ? 'air' : 'sliding' };
  });
}

/** How high the lowest part of a foot is over where that part was when the foot stood, pixels. Shape [frame]; NaN = not known. */
function heightsOf(motion: Motion, side: Side, stands: Stands[Side]): Float64Array {
  const standing = [...stands.keys()].filter((k) => stands[k] !== null);
  const parts = footParts.flatMap((part) => motion.paths.get(`${side}${part}` satisfies Joint) ?? []);
  return Float64Array.from(stands, (_, k) => {
    const before = standing.findLast((f) => f <= k) ?? standing[0];
    const after = standing.find((f) => f >= k) ?? standing.at(-1);
    if (before === undefined || after === undefined) return Number.NaN;
    const share = before < after ? Math.min(1, Math.max(0, (k - before) / (after - before))) : 0;
    const over = parts.map(({ yPx }) => yPx[before]! + share * (yPx[after]! - yPx[before]!) - yPx[k]!);
    return Math.min(...over.map((px) => (Number.isNaN(px) ? Infinity : px)));
  });
}

/** Do the hips fall nearly freely over these frames? A parabola in the take's own time through all of them. */
function falls({ timesSec, paths }: Motion, frames: readonly number[], heightPx: number): boolean {
  const y = paths.get('pelvis')?.yPx;
  const seen = frames.filter((k) => y && !Number.isNaN(y[k]!));
  if (!y || seen.length < leastFallFrames) return false;
  const middle = seen.reduce((sum, k) => sum + timesSec[k]!, 0) / seen.length;
  const mean = seen.reduce((sum, k) => sum + (timesSec[k]! - middle) ** 2, 0) / seen.length;
  // Least squares of y on t²: t and t² − its mean are orthogonal where times are even, and nearly so where they are not.
  let [cross, square] = [0, 0];
  for (const k of seen) {
    const u = (timesSec[k]! - middle) ** 2 - mean;
    cross += u * y[k]!;
    square += u * u;
  }
  return square > 1e-12 && (2 * cross) / square > fallsWithG * gravity * heightPx;
}

function median(values: readonly number[]): number {
  const rising = [...values].sort((a, b) => a - b);
  return rising[rising.length >> 1] ?? Number.NaN;
}
