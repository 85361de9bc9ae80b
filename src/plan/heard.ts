import { frameStartSec } from '../base/frameRate.ts';
import { type SoundPlace, type Soundtrack, soundBetween, soundTakeSec } from '../base/sound.ts';
import { type Beat, beatsIn } from '../base/tempo.ts';
import { type Cue, cuesIn } from '../timing/cues.ts';
import type { Onset } from '../timing/onsets.ts';
import type { Plan } from './plan.ts';

/** The take's sound, and where sounds begin in it. */
export interface Heard {
  readonly track: Soundtrack;
  readonly onsets: readonly Onset[];
}

type Sounding = Pick<Plan, 'book' | 'timing' | 'heard'>;

/** How the sound lies against the shot of a plan. */
export function soundPlaceOf({ book, timing }: Pick<Plan, 'book' | 'timing'>): SoundPlace {
  return { startSec: timing.choices.startSec, nudgeSec: book.sound.nudgeSec };
}

/** The beats of a plan's shot; none without a tempo. */
export function beatsOfPlan({ book, timing }: Pick<Plan, 'book' | 'timing'>): Beat[] {
  const { beatsPerMinute, firstBeatSec } = book.sound;
  if (beatsPerMinute === null) return [];
  return beatsIn(timing.grid.rate, beatsPerMinute, firstBeatSec, timing.grid.frameCount);
}

/** The sounds that begin within a plan's shot. */
export function cuesOfPlan(plan: Sounding): Cue[] {
  return plan.heard ? cuesIn(plan.heard.onsets, soundPlaceOf(plan), plan.timing.grid) : [];
}

/** How loud a plan's shot is within one of `parts` equal shares of a frame: the larger of both peaks, 0..1; 0 without sound. */
export function loudnessAt(plan: Sounding, frame: number, part: number, parts: number): number {
  if (!plan.heard) return 0;
  const place = soundPlaceOf(plan);
  const { rate } = plan.timing.grid;
  const at = (share: number) => soundTakeSec(place, frameStartSec(rate, frame + share));
  const { low, high } = soundBetween(plan.heard.track, at(part / parts), at((part + 1) / parts));
  return Math.max(high, -low);
}
