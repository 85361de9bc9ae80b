import { fitEnds, type MoveEnds } from './moveEnds.ts';
import { fitMove, type JointMove } from './moveFit.ts';
import type { PoseSamples } from './poseSamples.ts';

/** The ends of one limb's way from a pose to the next. */
export interface LimbEnds extends MoveEnds {
  /** Index into `PoseSamples.limbs`. */
  readonly limb: number;
  /** How far it goes, body heights. */
  readonly distance: number;
}

/** A moment told by one limb: samples, may lie between two. */
export interface ToldBy {
  readonly at: number;
  /** How well it is known, sd in samples. */
  readonly sd: number;
  /** How far the limb goes that tells it, body heights. */
  readonly distance: number;
}

/** A limb that goes less far than this does not tell when the body starts or stops: 0.4 % of the body height. */
const leastDistance = 0.004;
/** ... nor one that goes less than this part of the furthest way: it may well do something of its own. */
const leastShare = 0.05;
/** ... nor one whose way is not this many standard deviations long. */
const leastSds = 8;
/** Which limb's rough end parts one move from the next: so far along, counted by the square of how far each goes. */
const roughShare = 0.7;

/**
 * For each leg of a path the ends of every limb's way that tells something. First all ways are fitted roughly, to know which
 * samples belong to which move; then each from all of its samples.
 * @param at sample of each pose of the path, rising. Entry i is the leg from pose i to pose i + 1.
 */
export function endsOfLegs(samples: PoseSamples, at: readonly number[]): LimbEnds[][] {
  const last = samples.count - 1;
  const legs = at.slice(1).map((to, i) => samples.limbs.map((limb) => fitMove(limb, at[i] ?? 0, to, samples.blur)));
  const quietFrom = at.map((sample, i) => roughly(legs[i - 1], (m) => m.stop) ?? sample);
  const quietTo = at.map((sample, i) => -(roughly(legs[i], (m) => -m.outset) ?? -sample));
  return legs.map((moves, i) => {
    const from = i === 0 ? 0 : Math.max(0, Math.min(at[i] ?? 0, Math.floor(quietFrom[i] ?? 0)));
    const isLast = i === legs.length - 1;
    const to = isLast ? last : Math.min(last, Math.max(at[i + 1] ?? 0, Math.ceil(quietTo[i + 1] ?? last)));
    const furthest = Math.max(0, ...moves.map((m) => m.distance));
    return moves.flatMap((move, j) => {
      const limb = samples.limbs[j];
      if (!limb) return [];
      const least = Math.max(leastDistance, leastShare * furthest, leastSds * (limb.sd[at[i] ?? 0] ?? 0));
      if (move.distance < least) return [];
      return [{ ...fitEnds(limb, move, from, to, samples.blur), limb: j, distance: move.distance }];
    });
  });
}

function roughly(moves: readonly JointMove[] | undefined, time: (m: JointMove) => number): number | null {
  const counted = (moves ?? []).filter((m) => m.distance >= leastDistance).sort((a, b) => time(a) - time(b));
  const total = counted.reduce((sum, m) => sum + m.distance ** 2, 0);
  let sum = 0;
  for (const m of counted) {
    sum += m.distance ** 2;
    if (sum >= roughShare * total) return time(m);
  }
  return null;
}

/** The shape of a person's move is never exactly the fitted one: no limb tells a moment better than this, sd in samples. */
const shapeSd = 1;

/** When `share` of the limbs have told it, each counted by how far it goes and how well it knows; null without limbs. */
export function whenTold(told: readonly ToldBy[], share: number): number | null {
  const weight = (t: ToldBy) => t.distance / (shapeSd ** 2 + t.sd ** 2);
  const rising = [...told].sort((a, b) => a.at - b.at);
  const total = rising.reduce((sum, t) => sum + weight(t), 0);
  let sum = 0;
  for (const t of rising) {
    sum += weight(t);
    if (sum >= share * total) return t.at;
  }
  return null;
}

/** A limb comes surely later than the others by what goes beyond this many standard deviations. */
const surelySds = 4;

/**
 * All have told a moment when this part of them has: the last to tell is as often late by mistake. On takes with truth anything
 * from 0.6 to 0.8 finds the same holds; with 0.5 those begin too early whose hands drag.
 */
const allShare = 0.7;

/** When all limbs have told it: most of them, or a limb that drags and is surely later; null without limbs. */
export function whenAllTold(told: readonly ToldBy[]): number | null {
  const most = whenTold(told, allShare);
  return most === null ? null : Math.max(most, ...told.map((t) => t.at - surelySds * t.sd));
}
