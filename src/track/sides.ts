import { assert } from '../base/assert.ts';
import type { Steps } from '../base/steps.ts';
import { type Columns, exchangePair, pairNumbers } from './columns.ts';
import { leastConfidence } from './noise.ts';
import { cell } from './sighting.ts';

/** Pairs (indices of `sidePairs`) that a detector confuses together: ears and eyes, the arms' three, the legs' three. */
const groups: readonly (readonly number[])[] = [
  [0, 1],
  [2, 3, 4],
  [5, 6, 7],
];

/** A step that departs from the last one by this share of the torso costs 1. */
const strideOfTorso = 0.1;
/** No single departure costs more: behind one may be a wild sighting. */
const dearestStep = 6;
/** Price of believing that the detector exchanged a pair, per picture and unit of confidence: it is right most of the time. */
const distrust = 0.12;
/** Price of every change between exchanged and not. */
const change = 1.5;
/** A limb longer than its true length by this share of the torso costs 1 (a forearm from the left elbow to the right hand). */
const stretchOfTorso = 0.3;

/** So many pictures are settled in one step: a few milliseconds' work. */
const picturesInStep = 100;

/** What was settled about sides. */
export interface SettledSides {
  /** How many pairs of arms and legs were exchanged in each picture. Shape [picture]. */
  readonly exchangedPairs: Uint8Array;
}

/**
 * Settles left and right over the whole take, in place: for arms, legs and head each, the cheapest sequence of "pair
 * exchanged or not" under a price for leaps (departures from the last step, both partners), for stretched limbs, for
 * distrusting the detector, and for changing one's mind (Viterbi). Frame-by-frame nearest assignment would exchange feet
 * that pass each other, and never notice that it is wrong from then on.
 * @param use     Shape [picture]; 0 = picture ignored (a repeat); it follows its predecessor.
 * @param limbPx  True lengths of upper arm, forearm, thigh and shank, pixels.
 */
export function* settleSides(
  c: Columns,
  use: Uint8Array,
  torsoPx: number,
  limbPx: readonly [number, number, number, number],
): Steps<SettledSides> {
  const exchangedPairs = new Uint8Array(c.timesSec.length);
  if (!(torsoPx > 0)) return { exchangedPairs };
  const pictures = Array.from(c.timesSec.keys()).filter((i) => use[i] === 1);
  for (const [g, group] of groups.entries()) {
    const lengths: readonly number[] = g === 1 ? limbPx.slice(0, 2) : g === 2 ? limbPx.slice(2) : [];
    const masks = yield* cheapestMasks(c, pictures, group, lengths, torsoPx);
    let next = 0;
    for (let i = 0; i < c.timesSec.length; i++) {
      while (next + 1 < pictures.length && pictures[next + 1]! <= i) next++;
      const mask = masks[next] ?? 0;
      group.forEach((pair, bit) => {
        if (((mask >> bit) & 1) === 0) return;
        exchangePair(c, i, pair);
        if (g > 0) exchangedPairs[i]!++;
      });
    }
  }
  return { exchangedPairs };
}

/** Cell of one partner of a pair, were the pair exchanged (1) or not (0) in this picture; −1 when it is not seen there. */
function seenCell(c: Columns, picture: number, pair: number, partner: number, exchanged: number): number {
  const at = cell(picture, pairNumbers[pair]![partner ^ exchanged]!);
  return c.confidence[at]! >= leastConfidence ? at : -1;
}

/**
 * Price of a pair's way through three pictures (`before` −1: there are only two), given whether it is exchanged in each;
 * 0 where too little is seen. Exchanging it in all three changes nothing, since both partners are counted.
 */
function leapPrice(
  c: Columns,
  pair: number,
  before: number,
  last: number,
  now: number,
  exchanged: number,
  torsoPx: number,
): number {
  const { xPx, yPx, confidence, timesSec } = c;
  let price = 0;
  for (let partner = 0; partner < 2; partner++) {
    const a = seenCell(c, now, pair, partner, exchanged & 1);
    const b = seenCell(c, last, pair, partner, (exchanged >> 1) & 1);
    if (a < 0 || b < 0) continue;
    let dx = xPx[a]! - xPx[b]!;
    let dy = yPx[a]! - yPx[b]!;
    const d = before < 0 ? -1 : seenCell(c, before, pair, partner, (exchanged >> 2) & 1);
    if (d >= 0) {
      const ahead = Math.min(1.5, (timesSec[now]! - timesSec[last]!) / (timesSec[last]! - timesSec[before]!));
      dx -= (xPx[b]! - xPx[d]!) * ahead;
      dy -= (yPx[b]! - yPx[d]!) * ahead;
    }
    const leap = Math.sqrt(dx * dx + dy * dy) / (strideOfTorso * torsoPx);
    price += Math.min(dearestStep, leap) * Math.min(confidence[a]!, confidence[b]!);
  }
  return price;
}

/** The cheapest exchange mask of each picture (bit b: pair `group[b]` is exchanged). */
function* cheapestMasks(
  c: Columns,
  pictures: readonly number[],
  group: readonly number[],
  lengths: readonly number[],
  torsoPx: number,
): Steps<number[]> {
  const n = pictures.length;
  const bits = group.length;
  const masks = 1 << bits;
  // A state is (mask before, mask now), since a leap needs three pictures.
  const states = masks * masks;
  let cost = new Float64Array(states).fill(Number.POSITIVE_INFINITY);
  const came: Uint8Array[] = [];
  // Entry 8·bit + (exchanged earlier, before, now as three bits).
  const leaps = new Float64Array(8 * bits);
  const flips = Array.from({ length: masks }, (_, m) => {
    let count = 0;
    for (let b = 0; b < bits; b++) count += (m >> b) & 1;
    return count;
  });
  for (let k = 0; k < n; k++) {
    if (k % picturesInStep === picturesInStep - 1) yield;
    const picture = pictures[k]!;
    const own = Float64Array.from({ length: masks }, (_, mask) =>
      standPrice(c, picture, group, lengths, mask, torsoPx),
    );
    if (k === 0) {
      for (let m = 0; m < masks; m++) cost[m * masks + m] = own[m]!;
      continue;
    }
    for (let b = 0; b < bits; b++)
      for (let e = 0; e < 4; e++) {
        const price = leapPrice(c, group[b]!, k >= 2 ? pictures[k - 2]! : -1, pictures[k - 1]!, picture, e, torsoPx);
        leaps[b * 8 + e] = price;
        leaps[b * 8 + 7 - e] = price;
      }
    const next = new Float64Array(states).fill(Number.POSITIVE_INFINITY);
    const from = new Uint8Array(states);
    for (let before = 0; before < masks; before++)
      for (let now = 0; now < masks; now++) {
        const state = before * masks + now;
        const base = own[now]! + change * flips[before ^ now]!;
        for (let earlier = 0; earlier < masks; earlier++) {
          let total = cost[earlier * masks + before]! + base;
          for (let b = 0; b < bits; b++)
            total += leaps[b * 8 + ((((earlier >> b) & 1) << 2) | (((before >> b) & 1) << 1) | ((now >> b) & 1))]!;
          if (total < next[state]!) {
            next[state] = total;
            from[state] = earlier;
          }
        }
      }
    cost = next;
    came.push(from);
  }
  const path = new Array<number>(n).fill(0);
  if (n === 0) return path;
  let state = cost.indexOf(cost.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY));
  assert(state >= 0, 'sides: no finite path');
  for (let k = n - 1; k >= 0; k--) {
    path[k] = state % masks;
    if (k > 0) state = came[k - 1]![state]! * masks + Math.floor(state / masks);
  }
  return path;
}

/** Price of a picture by itself under a mask: distrusting the detector, and limbs that would have to be too long. */
function standPrice(
  c: Columns,
  picture: number,
  group: readonly number[],
  lengths: readonly number[],
  mask: number,
  torsoPx: number,
): number {
  let price = 0;
  group.forEach((pair, b) => {
    const swapped = (mask >> b) & 1;
    for (let partner = 0; partner < 2; partner++) {
      const at = seenCell(c, picture, pair, partner, swapped);
      if (at < 0) continue;
      price += swapped * 0.5 * distrust * c.confidence[at]!;
      const length = lengths[b - 1];
      if (length === undefined) continue;
      const root = seenCell(c, picture, group[b - 1]!, partner, (mask >> (b - 1)) & 1);
      if (root < 0) continue;
      const long = Math.hypot(c.xPx[at]! - c.xPx[root]!, c.yPx[at]! - c.yPx[root]!);
      const over = (long - length) / (stretchOfTorso * torsoPx);
      if (over > 0) price += Math.min(2, over) * c.confidence[at]!;
    }
  });
  return price;
}
