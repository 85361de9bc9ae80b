import type { Tracks } from '../track/motion.ts';
import { findCandidates } from './candidates.ts';
import { findRests, type Rest } from './holds.ts';
import { bestPaths, type Legs, legsBetween } from './keyPath.ts';
import { type PoseSamples, samplePoses } from './poseSamples.ts';
import { speedsOf } from './stillness.ts';
import type { TimingChoices } from './timing.ts';

/**
 * What the performance itself says about its poses, before the animator's choices of keys. `at` holds samples of candidate
 * poses, `told` the indices of those that tell the story.
 */
export interface Story {
  readonly samples: PoseSamples;
  readonly at: readonly number[];
  readonly legs: Legs;
  readonly told: readonly number[];
  readonly rests: readonly Rest[];
}

/**
 * A key must save this much of what in-betweening without it would get wrong (significant misses summed over joints and
 * frames, see `keyPath.ts`): 16 frames of a joint that is 0.5 % of the body height off, or 4 of one that is 1 % off.
 * Chosen on made performances with and without noise, see the tests.
 */
const keyPrice = 16;

/** Reads poses and rests out of the tracks between the shot's ends. */
export function readStory(tracks: Tracks, choices: TimingChoices): Story {
  const last = tracks.timesSec.at(-1) ?? choices.endSec;
  const samples = samplePoses(tracks, choices.startSec, Math.min(choices.endSec, Math.max(last, choices.startSec)));
  const fps = choices.rate.frames / choices.rate.seconds;
  const smallest = choices.smallestStepMm / choices.puppetHeightMm;
  // A step per exposure, as a speed. Exposed on ones a slow drift would pass for a hold: twos at 24 fps are the measure.
  const stillLimit = smallest * Math.min(12, fps / choices.onFrames);
  const { at } = findCandidates(samples, speedsOf(samples), stillLimit);
  const legs = legsBetween(samples, at);
  const paths = bestPaths(
    legs,
    at.length,
    at.map(() => false),
    at.length,
  );
  let told = paths.path(paths.fewest);
  let least = Number.POSITIVE_INFINITY;
  for (let count = paths.fewest; count <= paths.most; count++) {
    const price = paths.cost(count) + keyPrice * count;
    if (price < least) {
      least = price;
      told = paths.path(count);
    }
  }
  const moves = told.slice(1).map((to, i) => legs.leg(told[i] ?? 0, to).moves);
  const rests = findRests(
    samples,
    told.map((i) => at[i] ?? 0),
    moves,
    2 * smallest,
  );
  return { samples, at, legs, told, rests };
}
