import type { Clicks } from '../project/shooting.ts';
import { beatsOfPlan } from './heard.ts';
import type { Plan } from './plan.ts';
import { listPopThrough, type PopThroughPose } from './popThrough.ts';

/** A click of the metronome, at the beginning of a frame (from 0). */
export interface Click {
  readonly frame: number;
  /** The puppet takes the next key pose: heard above the others. */
  readonly isPose: boolean;
}

/** When the metronome clicks while the key poses of the pop-through follow one another at speed. Rising; a frame clicks once. */
export function rehearsalClicks(plan: Plan, clicks: Clicks): Click[] {
  const poses = new Set(listPopThrough(plan).map((pose) => pose.firstFrame));
  const others: Iterable<number> =
    clicks === 'frames'
      ? Array(plan.timing.grid.frameCount).keys()
      : clicks === 'beats'
        ? beatsOfPlan(plan).map((beat) => beat.frame)
        : [];
  return [...new Set([...poses, ...others])]
    .sort((a, b) => a - b)
    .map((frame) => ({ frame, isPose: poses.has(frame) }));
}

/** What the rehearsal shows in a frame. */
export interface RehearsedFrame {
  readonly pose: PopThroughPose;
  /** Its place in the list, from 1. */
  readonly number: number;
  readonly of: number;
  /** Frames for which it stays from here on, this one counted: at least 1. */
  readonly framesLeft: number;
  /** Null for the last. */
  readonly next: PopThroughPose | null;
}

/** The key pose that is held at a frame, and for how long. */
export function rehearsedFrame(poses: readonly PopThroughPose[], frame: number): RehearsedFrame | null {
  const at = poses.findIndex((p) => p.firstFrame <= frame && frame <= p.lastFrame);
  const pose = poses[at];
  if (!pose) return null;
  return {
    pose,
    number: at + 1,
    of: poses.length,
    framesLeft: pose.lastFrame - frame + 1,
    next: poses[at + 1] ?? null,
  };
}
