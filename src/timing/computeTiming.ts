import { fpsOf } from '../base/frameRate.ts';
import { joints } from '../base/joints.ts';
import type { Tracks } from '../track/motion.ts';
import { activityOf } from './activity.ts';
import { exaggerate, neutralPose } from './exaggerate.ts';
import { planExposures } from './exposures.ts';
import { allHolds, holdOf } from './holds.ts';
import { chooseKeys } from './keys.ts';
import { resample } from './resample.ts';
import { readStory, type Story } from './story.ts';
import type { Timing, TimingChoices } from './timing.ts';

/** Half a millisecond: times of pictures are rounded to less. */
const sameMomentSec = 0.0005;

/**
 * Computes the shot's timing from the performer's tracks and the animator's choices: resampling onto the shot's frames, holds,
 * keys, exposures. Pure: the same input gives the same timing, and nothing of the animator's is overwritten.
 */
export function computeTiming(tracks: Tracks, choices: TimingChoices): Timing {
  return timingOf(tracks, readStory(tracks, choices), choices);
}

/** The same from a story that was read before: it depends on the tracks and on `StoryChoices` alone, and is most of the work. */
export function timingOf(tracks: Tracks, story: Story, choices: TimingChoices): Timing {
  const { grid, map, takeTimeSec, motion: filmed } = resample(tracks, choices);
  const fps = fpsOf(choices.rate);
  const { amount, neutralSec } = choices.exaggeration;
  const neutral = () => neutralPose(tracks, choices.startSec, choices.endSec, neutralSec);
  const motion =
    amount === 1 ? filmed : exaggerate(filmed, neutral(), amount, tracks.bodyHeightPx, 1 / fps, choices.handContacts);
  const placed = story.poses.map((pose) => ({
    pose,
    hold: pose.rest && holdOf(pose.rest, map, fps, grid.frameCount),
  }));
  const { keys, keyCurve } = chooseKeys(story, choices, grid, map, placed);
  // A pose held over a cut would show the take before where another has begun.
  const cutFrames = (tracks.cutsSec ?? [])
    .map((sec) => takeTimeSec.findIndex((t) => t >= sec - sameMomentSec))
    .filter((f) => f > 0);
  const forcedFrames = [...new Set([...keys.map((k) => k.frameIndex), ...cutFrames])];
  forcedFrames.sort((a, b) => a - b);
  const { exposures, phase } = planExposures(motion, tracks.bodyHeightPx, choices, forcedFrames);
  const known = new Set(tracks.joints);
  return {
    choices,
    grid,
    map,
    takeTimeSec,
    motion,
    activity: activityOf(motion, tracks.bodyHeightPx),
    keys,
    keyCurve,
    holds: allHolds(
      placed.flatMap((p) => p.hold ?? []),
      map,
      fps,
      grid.frameCount,
    ),
    cutFrames,
    forcedFrames,
    exposures,
    phase,
    bodyHeightPx: tracks.bodyHeightPx,
    mmPerPx: tracks.hasNoScale ? Number.NaN : choices.puppetHeightMm / tracks.bodyHeightPx,
    joints: joints.filter((j) => known.has(j)),
  };
}
