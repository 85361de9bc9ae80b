import type { Part } from '../base/joints.ts';
import { findTogether, type Together } from '../timing/twinning.ts';
import type { Plan } from './plan.ts';

/** What happens at once in a move: see `Together`. Told, never called a fault. */
export interface TogetherJson {
  /** `twins`: both sides do the same, mirrored; `stop`: everything stops at once. */
  kind: Together['kind'];
  /** As `phases[].move`. */
  move: string;
  parts: Part[];
  /** Where both arrive or everything stops, from 0. */
  frameIndex: number;
  /** The move's frames. */
  firstFrame: number;
  frames: number;
  /** Twins: how much later the right side is, signed; stops: within how many frames all stop. */
  withinFrames: number;
  /** For people: counts frames from 1. */
  sentence: string;
}

/** Twinning and common stops of a plan, in order of time. */
export function togetherJson({ tracks, timing }: Pick<Plan, 'tracks' | 'timing'>): TogetherJson[] {
  return findTogether(tracks, timing).map((t) => ({
    kind: t.kind,
    move: t.moveId,
    parts: [...t.parts],
    frameIndex: t.frame,
    firstFrame: t.firstFrame,
    frames: t.frames,
    withinFrames: Math.round(t.withinFrames * 1e4) / 1e4 + 0,
    sentence: t.sentence,
  }));
}
