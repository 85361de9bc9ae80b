import { finish, type Steps } from '../base/steps.ts';
import type { Tracks } from '../track/motion.ts';
import { breakdownsFor } from './breakdowns.ts';
import { findCandidates } from './candidates.ts';
import { findRests } from './holds.ts';
import { cheapestPath, type Legs, legsOf } from './keyPath.ts';
import { endsOfLegs } from './legEnds.ts';
import { limbTurns } from './limbTurns.ts';
import { tellPoints } from './pointStory.ts';
import { type PoseSamples, sampleSteps } from './poseSamples.ts';
import { type SampleSpan, speedsOf } from './stillness.ts';
import type { TimingChoices } from './timing.ts';
import { type ToldPose, tellPose } from './toldPoses.ts';
import { isWalked, legsBesideWalks, walksIn } from './walks.ts';

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
  const candidates = findCandidates(samples, speeds, stillLimit, straySteps * smallest);
  const legs = legsOf(samples);
  if (samples.ofPoints) {
    yield;
    const { at, poses } = tellPoints({ samples, speeds, legs, candidates }, tracks, choices.endSec, 2 * smallest);
    return { samples, at, legs, poses };
  }
  const { at: slow, stills } = candidates;
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
  const ground = { samples, speeds, marks, ends, endSec: choices.endSec };
  const poses = marks.flatMap((sample, i): ToldPose[] => {
    if (walked.includes(sample)) return [];
    const isBetween = between.has(sample);
    const rest = isBetween ? null : (rests[i] ?? null);
    return [tellPose(ground, i, { between: isBetween, onTheWay: inWalk(sample), rest })];
  });
  return { samples, at, legs, poses };
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
