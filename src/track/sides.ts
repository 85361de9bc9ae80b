import { assert } from '../base/assert.ts';
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

/** What was settled about sides. */
export interface SettledSides {
  /** How many pairs were exchanged in each picture. Shape [picture]. */
  readonly exchangedPairs: Uint8Array;
}

/**
 * Settles left and right over the whole take, in place: for arms, legs and head each, the cheapest sequence of "pair
 * exchanged or not" under a price for leaps (departures from the last step, both partners), for stretched limbs, for
 * distrusting the detector, and for changing one's mind (Viterbi). Frame-by-frame nearest assignment would exchange feet
 * that pass each other, and never notice that it is wrong from then on.
 * @param use     Shape [picture]; 0 = picture ignored (a repeat); it follows its predecessor.
 * @param locked  Shape [picture]; 1 = the animator has spoken, sides are as given.
 * @param limbPx  True lengths of upper arm, forearm, thigh and shank, pixels.
 */
export function settleSides(
  c: Columns,
  use: Uint8Array,
  locked: Uint8Array,
  torsoPx: number,
  limbPx: readonly [number, number, number, number],
): SettledSides {
  const exchangedPairs = new Uint8Array(c.timesSec.length);
  if (!(torsoPx > 0)) return { exchangedPairs };
  const pictures = Array.from(c.timesSec.keys()).filter((i) => use[i] === 1);
  groups.forEach((group, g) => {
    const lengths: readonly number[] = g === 1 ? limbPx.slice(0, 2) : g === 2 ? limbPx.slice(2) : [];
    const masks = cheapestMasks(c, pictures, locked, group, lengths, torsoPx);
    let next = 0;
    for (let i = 0; i < c.timesSec.length; i++) {
      while (next + 1 < pictures.length && pictures[next + 1]! <= i) next++;
      const mask = masks[next] ?? 0;
      group.forEach((pair, bit) => {
        if (((mask >> bit) & 1) === 0 || locked[i] === 1) return;
        exchangePair(c, i, pair);
        exchangedPairs[i]!++;
      });
    }
  });
  return { exchangedPairs };
}

/** Place of one partner of a pair under "exchanged or not"; NaN when not seen. */
function placeOf(
  c: Columns,
  picture: number,
  pair: number,
  partner: 0 | 1,
  exchanged: number,
): [number, number, number] {
  const [left, right] = pairNumbers[pair]!;
  const i = cell(picture, (partner === 0) === (exchanged === 0) ? left : right);
  const seen = c.confidence[i]! >= leastConfidence;
  return seen ? [c.xPx[i]!, c.yPx[i]!, c.confidence[i]!] : [Number.NaN, Number.NaN, 0];
}

/** Price of a pair's way through three pictures, given whether it is exchanged in each; 0 where too little is seen. */
function leapPrice(
  c: Columns,
  pair: number,
  at: readonly [number, number, number],
  exchanged: readonly [number, number, number],
  torsoPx: number,
): number {
  let price = 0;
  for (const partner of [0, 1] as const) {
    const [x2, y2, c2] = placeOf(c, at[2], pair, partner, exchanged[2]);
    const [x1, y1, c1] = placeOf(c, at[1], pair, partner, exchanged[1]);
    if (Number.isNaN(x2) || Number.isNaN(x1)) continue;
    let expectedX = x1;
    let expectedY = y1;
    const [x0, y0] = at[0] < 0 ? [Number.NaN, Number.NaN] : placeOf(c, at[0], pair, partner, exchanged[0]);
    if (!Number.isNaN(x0)) {
      const ahead = Math.min(
        1.5,
        (c.timesSec[at[2]]! - c.timesSec[at[1]]!) / (c.timesSec[at[1]]! - c.timesSec[at[0]]!),
      );
      expectedX += (x1 - x0) * ahead;
      expectedY += (y1 - y0) * ahead;
    }
    const leap = Math.hypot(x2 - expectedX, y2 - expectedY) / (strideOfTorso * torsoPx);
    price += Math.min(dearestStep, leap) * Math.min(c1, c2);
  }
  return price;
}

/** The cheapest exchange mask of each picture (bit b: pair `group[b]` is exchanged). */
function cheapestMasks(
  c: Columns,
  pictures: readonly number[],
  locked: Uint8Array,
  group: readonly number[],
  lengths: readonly number[],
  torsoPx: number,
): number[] {
  const n = pictures.length;
  const bits = group.length;
  const masks = 1 << bits;
  // A state is (mask before, mask now), since a leap needs three pictures.
  const states = masks * masks;
  let cost = new Float64Array(states).fill(Number.POSITIVE_INFINITY);
  const came: Uint8Array[] = [];
  const flips = Array.from({ length: masks }, (_, m) => {
    let count = 0;
    for (let b = 0; b < bits; b++) count += (m >> b) & 1;
    return count;
  });
  for (let k = 0; k < n; k++) {
    const picture = pictures[k]!;
    const own = Float64Array.from({ length: masks }, (_, mask) =>
      locked[picture] === 1 && mask !== 0
        ? Number.POSITIVE_INFINITY
        : standPrice(c, picture, group, lengths, mask, torsoPx),
    );
    if (k === 0) {
      for (let m = 0; m < masks; m++) cost[m * masks + m] = own[m]!;
      continue;
    }
    const at = [k >= 2 ? pictures[k - 2]! : -1, pictures[k - 1]!, picture] as const;
    const leaps = group.map((pair) =>
      Float64Array.from({ length: 8 }, (_, e) => leapPrice(c, pair, at, [(e >> 2) & 1, (e >> 1) & 1, e & 1], torsoPx)),
    );
    const next = new Float64Array(states).fill(Number.POSITIVE_INFINITY);
    const from = new Uint8Array(states);
    for (let before = 0; before < masks; before++)
      for (let now = 0; now < masks; now++) {
        const state = before * masks + now;
        const base = own[now]! + change * flips[before ^ now]!;
        for (let earlier = 0; earlier < masks; earlier++) {
          let total = cost[earlier * masks + before]! + base;
          for (let b = 0; b < bits; b++)
            total += leaps[b]![(((earlier >> b) & 1) << 2) | (((before >> b) & 1) << 1) | ((now >> b) & 1)]!;
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
    const length = lengths[b - 1];
    for (const partner of [0, 1] as const) {
      const [x, y, confidence] = placeOf(c, picture, pair, partner, swapped);
      price += swapped * 0.5 * distrust * confidence;
      if (b === 0 || length === undefined || Number.isNaN(x)) continue;
      const [px, py] = placeOf(c, picture, group[b - 1]!, partner, (mask >> (b - 1)) & 1);
      const over = (Math.hypot(x - px, y - py) - length) / (stretchOfTorso * torsoPx);
      if (over > 0) price += Math.min(2, over) * confidence;
    }
  });
  return price;
}
