import { finish, type Steps } from '../base/steps.ts';
import type { Tracks } from '../track/motion.ts';
import { breakdownsFor } from './breakdowns.ts';
import { findCandidates } from './candidates.ts';
import { findRests, type Rest } from './holds.ts';
import { cheapestPath, type Legs, legsOf } from './keyPath.ts';
import { endsOfLegs, type LimbEnds, type ToldBy, whenTold } from './legEnds.ts';
import { limbTurns } from './limbTurns.ts';
import { type PoseSamples, sampleSteps } from './poseSamples.ts';
import { type SampleSpan, speedsOf } from './stillness.ts';
import type { TimingChoices } from './timing.ts';
import { isWalked, legsBesideWalks, walksIn } from './walks.ts';

/** A pose that tells the story. */
export interface ToldPose {
  readonly sample: number;
  /** When the body as a whole is there; parts that drag come later. Take seconds. */
  readonly reachedSec: number;
  /** Lies between two others, where the way leaves what an eased move would do. */
  readonly between: boolean;
  /** Only where the shot is cut off: the body is in full swing, so it is no pose that anyone would set for its own sake. */
  readonly passing: boolean;
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

/**
 * A leg that costs more is no single eased move: in authored takes no leg costs a third of it, in freely acted ones most cost
 * more (ten takes looked at, tracked from a detector's sightings). Then the turns and landings of single limbs are looked at
 * too, and a key must save `restlessPrice`: life is not to be copied in full.
 */
const restlessCost = 800;
const restlessPrice = 1500;
/** A pose where nothing turns or stops must save more to be one. */
const breakdownPrice = 4500;

/** A hold may waver by this many of the smallest steps (1.5 mm of 0.3 mm): the trade's moving hold. */
const straySteps = 5;

/** The decisions on which a story depends. */
export type StoryChoices = Pick<
  TimingChoices,
  'rate' | 'onFrames' | 'startSec' | 'endSec' | 'smallestStepMm' | 'puppetHeightMm'
>;

/** Reads poses and rests out of the tracks between the shot's ends. */
export function readStory(tracks: Tracks, choices: StoryChoices): Story {
  return finish(storySteps(tracks, choices));
}

/** The stories read last of each tracks: what was read ahead, in steps, is at hand when timing asks for it. */
const lastStory = new WeakMap<Tracks, { readonly key: string; readonly story: Story }>();

/** The same, in steps. A story that was read of the same tracks under the same choices before is handed out again. */
export function* storySteps(tracks: Tracks, choices: StoryChoices): Steps<Story> {
  const { rate, onFrames, startSec, endSec, smallestStepMm, puppetHeightMm } = choices;
  const key = JSON.stringify([rate, onFrames, startSec, endSec, smallestStepMm, puppetHeightMm]);
  const before = lastStory.get(tracks);
  if (before?.key === key) return before.story;
  const story = yield* tellSteps(tracks, choices);
  lastStory.set(tracks, { key, story });
  return story;
}

function* tellSteps(tracks: Tracks, choices: StoryChoices): Steps<Story> {
  const last = tracks.timesSec.at(-1) ?? choices.endSec;
  const endSec = Math.min(choices.endSec, Math.max(last, choices.startSec));
  const samples = yield* sampleSteps(tracks, choices.startSec, endSec);
  yield;
  const fps = choices.rate.frames / choices.rate.seconds;
  const smallest = choices.smallestStepMm / choices.puppetHeightMm;
  // A step per exposure, as a speed. Exposed on ones a slow drift would pass for a hold: twos at 24 fps are the measure.
  const stillLimit = smallest * Math.min(12, fps / choices.onFrames);
  const speeds = speedsOf(samples);
  yield;
  const { at: slow, stills } = findCandidates(samples, speeds, stillLimit, straySteps * smallest);
  const legs = legsOf(samples);
  // Who stands somewhere and walks to or from there tells the story where they stand; who only walks, by their steps.
  const walks = stills.length > 0 ? walksIn(samples) : [];
  const inWalk = (sample: number) => walks.some((w) => sample >= w.first && sample <= w.last);
  const standing = slow.filter((k) => k === 0 || k === samples.count - 1 || !inWalk(k));
  const coarse = cheapestPath(legsBesideWalks(legs, walks), standing, keyPrice);
  yield;
  const turns: number[] = [];
  /** Steps of a walk: no poses of the story, but there when more keys are asked for. */
  const steps: number[] = [];
  for (const [i, to] of coarse.entries()) {
    const from = coarse[i - 1];
    if (from === undefined || legs.leg(from, to).cost < restlessCost) turns.push(to);
    else {
      const restless = cheapestPath(legs, [from, ...limbTurns(samples, from, to), to], restlessPrice).slice(1);
      if (isWalked(walks, from, to)) {
        steps.push(...restless);
        turns.push(to);
      } else turns.push(...restless);
    }
    yield;
  }
  const between = new Set(restlessBreakdowns(samples, legs, turns, walks));
  const where = [...turns, ...between].sort((a, b) => a - b);
  const at = [...new Set([...slow, ...steps, ...where])].sort((a, b) => a - b);
  yield;
  // A walk is no eased way: what happens before and after it is fitted by itself.
  const walked = walks.flatMap((w) => [w.first, w.last]).filter((k) => !where.includes(k));
  const marks = [...where, ...walked].sort((a, b) => a - b);
  const ends = endsOfLegs(samples, marks);
  yield;
  const rests = findRests(samples, marks, ends, stills, 2 * smallest);
  const poses = marks.flatMap((sample, i): ToldPose[] => {
    if (walked.includes(sample)) return [];
    const rest = between.has(sample) ? null : lastingToTheEnd(rests[i] ?? null, samples, choices.endSec);
    const into = ends[i - 1];
    const own = between.has(sample) || !into ? sample : reachedAt(samples, sample, into, rest ? null : (ends[i] ?? []));
    // Limbs may settle into a hold one after another, but a key far from its hold would be no help on the set.
    const earliest = rest ? rest.startSec - longestSettlingSec : Number.NEGATIVE_INFINITY;
    const reachedSec = i === 0 ? samples.startSec : Math.max(earliest, samples.startSec + own * samples.stepSec);
    const cutOff = i > 0 && i === marks.length - 1 && inFullSwing(speeds.body, marks[i - 1] ?? 0);
    return [{ sample, reachedSec, between: between.has(sample), passing: !rest && (cutOff || inWalk(sample)), rest }];
  });
  return { samples, at, legs, poses };
}

/** The shot ends in the middle of a move when the body still goes at this part of the move's greatest speed. */
const fullSwing = 0.5;

function inFullSwing(speed: Float64Array, from: number): boolean {
  let most = 0;
  for (let k = from; k < speed.length; k++) most = Math.max(most, speed[k] ?? 0);
  return (speed.at(-1) ?? 0) > fullSwing * most;
}

/** A rest that nothing follows lasts as long as the shot: the last picture stays on screen until then. */
function lastingToTheEnd(rest: Rest | null, samples: PoseSamples, endSec: number): Rest | null {
  const lastSec = samples.startSec + (samples.count - 1) * samples.stepSec;
  return rest && rest.endSec >= lastSec - 1e-9 ? { ...rest, endSec: Math.max(rest.endSec, endSec) } : rest;
}

/** Breakdowns for legs that are still no single eased move, as samples; each saves `breakdownPrice` or more. */
function restlessBreakdowns(
  samples: PoseSamples,
  legs: Legs,
  poses: readonly number[],
  walks: readonly SampleSpan[],
): number[] {
  const breakdowns = breakdownsFor(samples, legs, (leg) => leg.cost);
  const found: number[] = [];
  const split = (from: number, to: number) => {
    if (isWalked(walks, from, to)) return;
    const best = breakdowns.between(from, to);
    if (!best || best.gain < breakdownPrice) return;
    found.push(best.sample);
    split(from, best.sample);
    split(best.sample, to);
  };
  poses.slice(1).forEach((to, i) => {
    split(poses[i] ?? 0, to);
  });
  return found;
}

/** A pose is not reached further than this from where the body is slowest: 2.5 frames at 24 fps. */
const furthestSec = 2.5 / 24;

/** A held pose counts as reached at most this long before its last limb has settled: 3 frames at 24 fps. */
const longestSettlingSec = 3 / 24;

/** A held pose is reached when this part of the limbs have arrived: on the set the settled pose is of more use than an earlier one. */
const thereShare = 0.6;

/**
 * When a pose is reached, in samples. Held: when `thereShare` of the limbs have arrived; turned through: when half of them
 * have arrived or left. The whole of the ways tells this better than the slow moment itself, where noise is larger than movement.
 */
function reachedAt(
  samples: PoseSamples,
  at: number,
  into: readonly LimbEnds[],
  outOf: readonly LimbEnds[] | null,
): number {
  const arriving = into.map((e): ToldBy => ({ at: e.stop, sd: e.stopSd, distance: e.distance }));
  // A held pose may have been taken anywhere in its hold, so only a turn keeps near its slowest moment.
  if (!outOf) return Math.max(0, Math.min(samples.count - 1, whenTold(arriving, thereShare) ?? at));
  const leaving = outOf.map((e): ToldBy => ({ at: e.outset, sd: e.outsetSd, distance: e.distance }));
  const most = furthestSec / samples.stepSec;
  return Math.max(at - most, Math.min(at + most, whenTold([...arriving, ...leaving], 0.5) ?? at));
}
