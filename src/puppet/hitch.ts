import type { PoseFix } from './poseFix.ts';
import type { FrameRun, PuppetMotion } from './puppetMotion.ts';

/** What a puppet may not be able to do. */
export type HitchKind =
  /** A joint would have to go further than it does. */
  | 'jointLimit'
  /** A knee or an elbow would have to bend the wrong way. */
  | 'bendsBackward'
  /** A limb would go through another, the body or the head. */
  | 'touch'
  /** A limb is too short to come where it should be. */
  | 'outOfReach'
  /** The weight is not over the feet that stand. */
  | 'offBalance'
  /** Both feet are off the floor. */
  | 'airborne'
  /** No foot stands still, yet the floor carries: one slides or turns. */
  | 'sliding'
  /** It stands on the heel or the toes of one foot alone. */
  | 'heelOrToe';

/** What holds a puppet that does not stand by itself: a foot held from below, or an arm that carries the whole of it. */
export type Support = 'tie-down' | 'rig';

/** Something this puppet may not be able to do as the motion stands; plain data. */
export interface Hitch extends FrameRun {
  /** Stays the same while kind, part and first frame do. */
  readonly id: string;
  readonly kind: HitchKind;
  /** Words for the part: "left knee"; "body" for the whole. */
  readonly part: string;
  /** Frame at which it is worst, from 0. */
  readonly worstFrame: number;
  /** By how much at worst; 0 where nothing is measured (in the air). */
  readonly worst: number;
  readonly unit: 'deg' | 'mm';
  /** For sorting only: 1 = ten degrees, or a twentieth of the puppet's height. */
  readonly weight: number;
  /** What it is, with frames from 1. */
  readonly sentence: string;
  /** What was held against what, and what is not known. */
  readonly why: string;
  /** The nearest pose the puppet can do; null = none is offered. */
  readonly fix: PoseFix | null;
  /** What has to be prepared on the set; null = nothing. */
  readonly support: Support | null;
}

/** Gaps of so many frames within a run are bridged: a measure wavers. */
export const bridged = 2;

/** Runs of frames where `over` is above 0, short gaps bridged. NaN counts as not. */
export function runsAbove(over: Float64Array): (FrameRun & { readonly worstFrame: number })[] {
  const runs: { firstFrame: number; frames: number; worstFrame: number }[] = [];
  for (let k = 0; k < over.length; k++) {
    if (!(over[k]! > 0)) continue;
    const last = runs.at(-1);
    if (last && k - (last.firstFrame + last.frames) <= bridged) {
      last.frames = k + 1 - last.firstFrame;
      if (over[k]! > over[last.worstFrame]!) last.worstFrame = k;
    } else runs.push({ firstFrame: k, frames: 1, worstFrame: k });
  }
  return runs;
}

/** "frame 5", "frames 5 to 9": as on screen, from 1. */
export function frameRunWords({ firstFrame, frames }: FrameRun): string {
  return frames === 1 ? `frame ${firstFrame + 1}` : `frames ${firstFrame + 1} to ${firstFrame + frames}`;
}

/** "; worst at 7", as on screen; nothing where there is only one frame. */
export function worstWords({ frames, worstFrame }: FrameRun & { readonly worstFrame: number }): string {
  return frames === 1 ? '' : `; worst at ${worstFrame + 1}`;
}

/** Frames of a motion. */
export function frameCountOf({ paths }: PuppetMotion): number {
  for (const { xMm } of paths.values()) return xMm.length;
  return 0;
}

/** "leftUpperArm" → "left upper arm". */
export function partWords(name: string): string {
  return name.replace(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`);
}

/** "3.4 mm". */
export function mm(length: number): string {
  return `${length.toFixed(1)} mm`;
}
