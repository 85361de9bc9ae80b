import type { FrameGrid } from '../base/frameGrid.ts';
import { type SoundPlace, soundFrame, soundShotSec } from '../base/sound.ts';
import type { Onset } from './onsets.ts';

/** A sound that begins within the shot. */
export interface Cue {
  readonly onset: Onset;
  /** On the shot's clock, seconds, unrounded. */
  readonly shotSec: number;
  /** The frame that it belongs to, from 0. */
  readonly frame: number;
}

/** The sounds that begin within the shot, in order; several may begin in one frame. */
export function cuesIn(
  onsets: readonly Onset[],
  place: SoundPlace,
  { rate, frameCount }: Pick<FrameGrid, 'rate' | 'frameCount'>,
): Cue[] {
  return onsets.flatMap((onset) => {
    const shotSec = soundShotSec(place, onset.takeSec);
    const frame = soundFrame(rate, shotSec);
    return frame >= 0 && frame < frameCount ? [{ onset, shotSec, frame }] : [];
  });
}
