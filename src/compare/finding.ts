import type { Joint } from '../base/joints.ts';
import type { FindingTurn } from './turns.ts';

/** What may be wrong with a shot. */
export type FindingKind =
  /** A key pose is met earlier or later than planned. */
  | 'keyTiming'
  /** A hold is shorter than planned. */
  | 'shortHold'
  /** A pose, or a few, are not where the plan has them. */
  | 'offPose'
  /** One pose leaves the way of its neighbours, though not far from the plan. */
  | 'pop'
  /** One pose goes back where the movement goes on. */
  | 'reversal'
  /** Over several poses the path lies beside the planned one. */
  | 'arc'
  /** On the path, but further or less far along it than planned. */
  | 'spacing'
  /** Wanders while it should be held. */
  | 'holdDrift'
  /** A standing foot moves. */
  | 'footSlide'
  /** Equal steps where an ease is planned. */
  | 'evenSpacing'
  /** A knee leaps into or out of the straight leg. */
  | 'kneeSnap'
  /** The camera, or the whole set, was moved. */
  | 'cameraBump'
  /** The light differs from picture to picture. */
  | 'flicker'
  /** A joint lies elsewhere than planned in all of the shot. */
  | 'throughout';

/** Something to look at. Larger than what its measure errs by, and than a hand can place. */
export interface Finding {
  readonly kind: FindingKind;
  /** The joint that is seen to do it; null = the whole picture, or the whole body. */
  readonly joint: Joint | null;
  /** Other joints that do the same, as they hang together. */
  readonly also: readonly Joint[];
  /** Frames of the shot, from 0, that it lasts. */
  readonly firstFrame: number;
  readonly frames: number;
  /** The frame to look at: the first one of the exposure where it is worst. For a key, where it was to be met. */
  readonly atFrame: number;
  /** How large, in `unit`; a key that is late has a positive size, an early one a negative. */
  readonly size: number;
  readonly unit: 'mm' | 'frames' | 'px' | '%' | '°';
  /** Standard deviation of the size. */
  readonly sd: number;
  /** The turn by which its joint is off; absent = no angle is surely off. */
  readonly turn?: FindingTurn;
  /** For sorting: about 1 = what an audience begins to see. */
  readonly weight: number;
  /** What is wrong, with frames from 1 as on screen and paper. */
  readonly sentence: string;
}

/** Worst first; of equal ones, the earlier. */
export function sortFindings(findings: readonly Finding[]): Finding[] {
  return [...findings].sort((a, b) => b.weight - a.weight || a.atFrame - b.atFrame);
}

/** Do two have a frame in common, or lie within `slack` frames of each other? */
export function touches(
  a: Pick<Finding, 'firstFrame' | 'frames'>,
  b: Pick<Finding, 'firstFrame' | 'frames'>,
  slack = 0,
): boolean {
  return a.firstFrame < b.firstFrame + b.frames + slack && b.firstFrame < a.firstFrame + a.frames + slack;
}

/** Millimetres in words: one decimal, whole from 10 on. */
export function mmWords(mm: number): string {
  return `${mm < 9.95 ? mm.toFixed(1) : mm.toFixed(0)} mm`;
}

/** "frame 5", "frames 5 to 9": as on screen, from 1. */
export function runWords(firstFrame: number, frames: number): string {
  return frames <= 1 ? `frame ${firstFrame + 1}` : `frames ${firstFrame + 1} to ${firstFrame + frames}`;
}

/** "1 frame", "2 frames"; halves where it is not whole. */
export function framesWords(frames: number): string {
  const rounded = Math.round(frames * 2) / 2;
  return `${rounded} frame${rounded === 1 ? '' : 's'}`;
}

/** Which way something lies off, as one looks at the picture; y down. */
export function wayWords(dx: number, dy: number): string {
  const [across, along] = [Math.abs(dx), Math.abs(dy)];
  const side = dx < 0 ? 'too far left' : 'too far right';
  const height = dy < 0 ? 'too high' : 'too low';
  if (along > 2 * across) return height;
  if (across > 2 * along) return side;
  return `${height} and ${side}`;
}
