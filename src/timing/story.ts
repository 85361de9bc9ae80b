import type { Tracks } from '../track/motion.ts';
import { findCandidates } from './candidates.ts';
import { findRests, type Rest } from './holds.ts';
import { bestPaths, type Legs, legsOf } from './keyPath.ts';
import type { JointMove } from './moveFit.ts';
import { type PoseSamples, samplePoses } from './poseSamples.ts';
import { speedsOf } from './stillness.ts';
import type { TimingChoices } from './timing.ts';

/** A pose that tells the story. */
export interface ToldPose {
  readonly sample: number;
  /** When the body as a whole is there; parts that drag come later. Take seconds. */
  readonly reachedSec: number;
  /** The span in which it is kept, or null where the body turns at once. */
  readonly rest: Rest | null;
}

/**
 * What the performance itself says about its poses, before the animator's choices of keys. `at` holds samples of all
 * candidate poses, `poses` are those that tell the story, rising.
 */
export interface Story {
  readonly samples: PoseSamples;
  readonly at: readonly number[];
  readonly legs: Legs;
  readonly poses: readonly ToldPose[];
}

/**
 * A key must save this much of what in-betweening without it would get wrong (significant misses summed over joints and
 * frames, see `keyPath.ts`): 16 frames of a joint that is 0.5 % of the body height off, or 4 of one that is 1 % off.
 * Chosen on made performances with and without noise, see the tests.
 */
const keyPrice = 10;

/** A hold may waver by this many of the smallest steps (1.5 mm of 0.3 mm): the trade's moving hold. */
const straySteps = 5;

/** Reads poses and rests out of the tracks between the shot's ends. */
export function readStory(tracks: Tracks, choices: TimingChoices): Story {
  const last = tracks.timesSec.at(-1) ?? choices.endSec;
  const samples = samplePoses(tracks, choices.startSec, Math.min(choices.endSec, Math.max(last, choices.startSec)));
  const fps = choices.rate.frames / choices.rate.seconds;
  const smallest = choices.smallestStepMm / choices.puppetHeightMm;
  // A step per exposure, as a speed. Exposed on ones a slow drift would pass for a hold: twos at 24 fps are the measure.
  const stillLimit = smallest * Math.min(12, fps / choices.onFrames);
  const { at, stills } = findCandidates(samples, speedsOf(samples), stillLimit, straySteps * smallest);
  const legs = legsOf(samples);
  const paths = bestPaths(
    legs,
    at,
    at.map(() => false),
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
  const where = told.map((i) => at[i] ?? 0);
  const rests = findRests(samples, where, stills, 2 * smallest);
  const poses = where.map((sample, i): ToldPose => {
    const into = i > 0 ? legs.leg(where[i - 1] ?? 0, sample).moves : null;
    const outOf = i + 1 < told.length ? legs.leg(sample, where[i + 1] ?? 0).moves : null;
    const rest = rests[i] ?? null;
    const reached = i === 0 || !into ? sample : reachedAt(samples, sample, into, rest === null ? outOf : null);
    return { sample, reachedSec: samples.startSec + reached * samples.stepSec, rest };
  });
  return { samples, at, legs, poses };
}

/** A pose is not reached further than this from where the body is slowest: 2.5 frames at 24 fps. */
const furthestSec = 2.5 / 24;

/** The body is there when this part of the movement is: of parts that drag, the pose is read from those that go furthest. */
const thereShare = 0.7;

/**
 * When a pose is reached, in samples. Held: when `thereShare` of the joints have arrived; turned through: halfway between that
 * and when as many have left. Each joint counts by the square of how far it goes. The steep middles of the ways tell this
 * better than the slow moment itself, where noise is larger than movement.
 */
function reachedAt(
  samples: PoseSamples,
  at: number,
  into: readonly JointMove[],
  outOf: readonly JointMove[] | null,
): number {
  const last = samples.count - 1;
  const arrival = share(samples, into, (m) => m.stop) ?? at;
  // A held pose may have been taken anywhere in its hold, so only a turn keeps near its slowest moment.
  if (!outOf) return Math.max(0, Math.min(last, arrival));
  const leaving = share(samples, outOf, (m) => m.outset) ?? at;
  const most = furthestSec / samples.stepSec;
  return Math.max(at - most, Math.min(at + most, (arrival + leaving) / 2));
}

function share(samples: PoseSamples, moves: readonly JointMove[], time: (move: JointMove) => number): number | null {
  const rising = moves
    .map((move, j) => ({ at: time(move), weight: (samples.joints[j]?.weight ?? 0) * move.distance ** 2 }))
    .sort((a, b) => a.at - b.at);
  const total = rising.reduce((sum, r) => sum + r.weight, 0);
  let sum = 0;
  for (const { at, weight } of rising) {
    sum += weight;
    if (sum >= thereShare * total && total > 0) return at;
  }
  return null;
}
