import { type FrameGrid, gridTimesSec, layGrid } from '../base/frameGrid.ts';
import type { Motion, Tracks } from '../track/motion.ts';
import type { TimingChoices } from './timing.ts';

/** The shot's frames, the take time that each shows, and the performer then. Columns have shape [frame]. */
export interface Resampled {
  readonly grid: FrameGrid;
  readonly takeTimeSec: Float64Array;
  readonly motion: Motion;
}

/**
 * Asks the tracks for the performer at each frame of the shot. The frame count is round((end − start) × rate), so the last
 * frames may begin after the last picture, though before it leaves the screen: there the tracks hold the last picture's pose.
 */
export function resample(tracks: Tracks, choices: TimingChoices): Resampled {
  const grid = layGrid(choices.rate, choices.startSec, choices.endSec);
  const takeTimeSec = gridTimesSec(grid);
  return { grid, takeTimeSec, motion: tracks.at(takeTimeSec) };
}
