import { frameStartSec } from '../base/frameRate.ts';
import { framesPerBeat } from '../base/tempo.ts';
import { periodOfMovement } from '../timing/period.ts';
import { beatsOfPlan, cuesOfPlan } from './heard.ts';
import type { Plan } from './plan.ts';

/** Beats, sounds and repetition, as `plan.json` holds them. `shotSec` counts from the shot's start; frames from 0. */
export interface RhythmJson {
  /** The sound is heard this much later than it was recorded. */
  nudgeSec: number;
  /** Null where no beat was laid; then `framesPerBeat` and `firstBeatSec` are null and `beats` is empty. */
  beatsPerMinute: number | null;
  framesPerBeat: number | null;
  firstBeatSec: number | null;
  /** Each frame is rounded from the beat's own time. Beat 0 is the one at `firstBeatSec`. */
  beats: { number: number; shotSec: number; frameIndex: number }[];
  /** Sounds that begin within the shot. `strength` 0..1: how clearly. Empty where the take has no sound. */
  sounds: { takeSec: number; shotSec: number; frameIndex: number; strength: number }[];
  /** The body's movement, where it repeats; null where it does not. Steps are null where the sides do not take turns. */
  period: {
    seconds: number;
    frames: number;
    stepSeconds: number | null;
    stepFrames: number | null;
    confidence: number;
    firstFrame: number;
    lastFrame: number;
  } | null;
}

/** The rhythm of a plan. */
export function rhythmJson(plan: Plan): RhythmJson {
  const { timing, book } = plan;
  const { rate } = timing.grid;
  const { nudgeSec, beatsPerMinute, firstBeatSec } = book.sound;
  const period = periodOfMovement(timing.motion, frameStartSec(rate, 1));
  return {
    nudgeSec: short(nudgeSec),
    beatsPerMinute,
    framesPerBeat: beatsPerMinute === null ? null : short(framesPerBeat(rate, beatsPerMinute)),
    firstBeatSec: beatsPerMinute === null ? null : short(firstBeatSec),
    beats: beatsOfPlan(plan).map(({ number, shotSec, frame }) => ({
      number,
      shotSec: short(shotSec),
      frameIndex: frame,
    })),
    sounds: cuesOfPlan(plan).map(({ onset, shotSec, frame }) => ({
      takeSec: short(onset.takeSec),
      shotSec: short(shotSec),
      frameIndex: frame,
      strength: short(onset.strength),
    })),
    period: period && {
      seconds: short(period.periodSec),
      frames: short(period.periodFrames),
      stepSeconds: period.stepSec === null ? null : short(period.stepSec),
      stepFrames: period.stepFrames === null ? null : short(period.stepFrames),
      confidence: short(period.confidence),
      firstFrame: period.firstFrame,
      lastFrame: period.lastFrame,
    },
  };
}

/** Six digits behind the point: more than anything here is known to. */
function short(value: number): number {
  return Math.round(value * 1e6) / 1e6 + 0;
}
