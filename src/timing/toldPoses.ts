import type { Rest } from './holds.ts';
import { type LimbEnds, type ToldBy, whenTold } from './legEnds.ts';
import type { Touch } from './pointFlights.ts';
import type { PoseSamples } from './poseSamples.ts';
import type { Speeds } from './stillness.ts';

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
  /** The marked point that bounces or lands there; null where none does. */
  readonly touch: Touch | null;
}

/** What poses are told from: where the take was cut into legs, and when limbs leave and arrive in each. */
export interface PoseGround {
  readonly samples: PoseSamples;
  readonly speeds: Speeds;
  /** Samples at which legs meet, rising. */
  readonly marks: readonly number[];
  /** Entry i is the leg from mark i to mark i + 1, see `endsOfLegs`. */
  readonly ends: readonly (readonly LimbEnds[])[];
  /** Of the shot, take seconds. */
  readonly endSec: number;
}

/** What is known of a pose beforehand. */
export interface PoseFacts {
  readonly between: boolean;
  /** On the way somewhere, and a pose only where it rests. */
  readonly onTheWay: boolean;
  readonly rest: Rest | null;
  /** When it is reached, take seconds; left out = asked of the ways into it and out of it. */
  readonly knownSec?: number | undefined;
  readonly touch?: Touch | undefined;
}

/** The pose at a mark, given as its place in the row. */
export function tellPose(ground: PoseGround, place: number, facts: PoseFacts): ToldPose {
  const { samples, speeds, marks, ends, endSec } = ground;
  const { between, onTheWay, knownSec, touch = null } = facts;
  const sample = marks[place] ?? 0;
  const rest = lastingToTheEnd(facts.rest, samples, endSec);
  const into = ends[place - 1];
  const own = between || !into ? sample : reachedAt(samples, sample, into, rest ? null : (ends[place] ?? []));
  // Limbs may settle into a hold one after another, but a key far from its hold would be no help on the set.
  const earliest = rest ? rest.startSec - longestSettlingSec : Number.NEGATIVE_INFINITY;
  const reachedSec =
    knownSec ?? (place === 0 ? samples.startSec : Math.max(earliest, samples.startSec + own * samples.stepSec));
  const cutOff = place > 0 && place === marks.length - 1 && inFullSwing(speeds.body, marks[place - 1] ?? 0);
  return { sample, reachedSec, between, passing: !rest && (cutOff || onTheWay), rest, touch };
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
