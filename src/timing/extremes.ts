import type { Part } from '../base/joints.ts';
import type { Tracks } from '../track/motion.ts';
import { sampleParts } from './partPaths.ts';
import { type PoseSamples, type SampledPath, sampleSec } from './poseSamples.ts';

/** A moment at which a part goes furthest or stands still on its way. */
export interface Extreme {
  /** Take seconds, found between pictures. */
  readonly takeSec: number;
  /**
   * What is extreme: furthest to the left or right of the picture, highest, lowest; turned back along a slanting way; or slowest
   * between two moves without turning.
   */
  readonly kind: 'left' | 'right' | 'top' | 'bottom' | 'turn' | 'stop';
  /**
   * Topographic prominence: how far the part goes back from here on the lesser side before it goes further than here. Body
   * heights. Of a stop: the lesser of the ways before and after.
   */
  readonly prominence: number;
}

/** Smaller extremes say nothing on a set: 1 % of the body height. */
export const leastProminence = 0.01;
/** ... nor those within this many standard deviations of the part's wander. */
const leastSds = 6;
/** Extremes of one part nearer than this are one: 2 frames at 24 fps. */
const nearestSec = 2 / 24;
/** A stop is a slowing to less than this part of the speed before and after. */
const slowing = 0.3;
/** The directions along which a part may turn: across, down, and both diagonals. */
const directions = [
  [1, 0],
  [0, 1],
  [Math.SQRT1_2, Math.SQRT1_2],
  [Math.SQRT1_2, -Math.SQRT1_2],
] as const;

/**
 * Where a part turns or stops, rising; empty where its place is not known throughout. Several extremes within two frames are one:
 * the most prominent, where one along x or y goes before one along a diagonal unless that is clearly larger.
 * @param least prominence from which an extreme counts, body heights.
 */
export function extremesOf(tracks: Tracks, part: Part, samples: PoseSamples, least = leastProminence): Extreme[] {
  const path = sampleParts(tracks, samples, [part]).get(part);
  return path ? extremesAlong(path, samples, least) : [];
}

/** The same for a path that is sampled already. */
export function extremesAlong(path: SampledPath, samples: PoseSamples, least = leastProminence): Extreme[] {
  const { x, y, sd } = path;
  const found: (Extreme & { readonly rank: number })[] = [];
  const floor = Math.max(least, leastSds * (sd[sd.length >> 1] ?? 0));
  directions.forEach(([dx, dy], d) => {
    const along = x.map((v, k) => v * dx + (y[k] ?? 0) * dy);
    for (const turn of turnsOf(along, floor)) {
      const kind = d === 0 ? (turn.isTop ? 'right' : 'left') : d === 1 ? (turn.isTop ? 'bottom' : 'top') : 'turn';
      const takeSec = sampleSec(samples, turn.at);
      found.push({ takeSec, kind, prominence: turn.prominence, rank: turn.prominence * (d < 2 ? 1 : diagonalRank) });
    }
  });
  for (const stop of stopsOf(path, floor)) {
    found.push({ takeSec: sampleSec(samples, stop.at), kind: 'stop', prominence: stop.way, rank: stopRank * stop.way });
  }
  const kept: Extreme[] = [];
  for (const { rank: _rank, ...extreme } of found.sort((a, b) => b.rank - a.rank)) {
    const isNear = (other: Extreme) =>
      Math.abs(other.takeSec - extreme.takeSec) < nearestSec ||
      staysBetween(path, samples, other.takeSec, extreme.takeSec, floor);
    if (!kept.some(isNear)) kept.push(extreme);
  }
  return kept.sort((a, b) => a.takeSec - b.takeSec);
}

/** A part that rests has one extreme there, not one for each direction. */
function staysBetween(path: SampledPath, samples: PoseSamples, aSec: number, bSec: number, floor: number): boolean {
  const at = (sec: number) => Math.round((sec - samples.startSec) / samples.stepSec);
  const [from, to] = [at(Math.min(aSec, bSec)), at(Math.max(aSec, bSec))];
  for (let k = from; k <= to; k++) {
    const dx = (path.x[k] ?? 0) - (path.x[from] ?? 0);
    const dy = (path.y[k] ?? 0) - (path.y[from] ?? 0);
    if (Math.hypot(dx, dy) > floor / 2) return false;
  }
  return true;
}

const diagonalRank = 0.7;
const stopRank = 0.3;

/** Turning points between samples whose prominence on either side is `floor` or more: the zigzag through the values. */
function turnsOf(v: Float64Array, floor: number): { at: number; isTop: boolean; prominence: number }[] {
  const corners: { k: number; isTop: boolean }[] = [];
  let low = 0;
  let high = 0;
  let rising: boolean | null = null;
  for (let k = 1; k < v.length; k++) {
    const here = v[k] ?? 0;
    if (here > (v[high] ?? 0)) high = k;
    if (here < (v[low] ?? 0)) low = k;
    if (rising !== false && (v[high] ?? 0) - here >= floor && high < k) {
      // Without a way before it the first corner is where the take begins, no turn.
      if (rising === true || (v[high] ?? 0) - (v[0] ?? 0) >= floor) corners.push({ k: high, isTop: true });
      rising = false;
      low = k;
    } else if (rising !== true && here - (v[low] ?? 0) >= floor && low < k) {
      if (rising === false || (v[0] ?? 0) - (v[low] ?? 0) >= floor) corners.push({ k: low, isTop: false });
      rising = true;
      high = k;
    }
    if (rising === true && high === k) low = k;
    if (rising === false && low === k) high = k;
  }
  return corners.map(({ k, isTop }) => ({
    at: turnBetween(v, k, isTop),
    isTop,
    prominence: prominenceAt(v, k, isTop),
  }));
}

function prominenceAt(v: Float64Array, k: number, isTop: boolean): number {
  const sign = isTop ? 1 : -1;
  const here = sign * (v[k] ?? 0);
  const drop = (step: 1 | -1) => {
    let deepest = here;
    for (let i = k + step; i >= 0 && i < v.length && sign * (v[i] ?? 0) <= here; i += step) {
      deepest = Math.min(deepest, sign * (v[i] ?? 0));
    }
    return here - deepest;
  };
  return Math.min(drop(1), drop(-1));
}

/** A turn that is held is told where the hold begins, a flat one at its middle, else at the vertex of the parabola through three samples. */
function turnBetween(v: Float64Array, k: number, isTop: boolean): number {
  const sign = isTop ? 1 : -1;
  let last = k;
  while (last + 1 < v.length && sign * ((v[k] ?? 0) - (v[last + 1] ?? 0)) < flat) last++;
  let first = k;
  while (first > 0 && sign * ((v[k] ?? 0) - (v[first - 1] ?? 0)) < flat) first--;
  if (last - first > heldSamples) return first;
  if (last - first > 2) return (first + last) / 2;
  const [a = 0, b = 0, c = 0] = [v[k - 1] ?? v[k], v[k], v[k + 1] ?? v[k]];
  const bend = a - 2 * b + c;
  return Math.abs(bend) > 1e-12 ? k + Math.max(-0.5, Math.min(0.5, (a - c) / (2 * bend))) : k;
}

/** Flat for longer than this, the part rests: 4 frames at 24 fps. */
const heldSamples = 8;
/** Differences below this, body heights, are none: a tenth of a millimetre on a puppet. */
const flat = 0.0003;

/**
 * Moments at which a part slows to nearly nothing between two ways and does not turn back; of a rest its beginning. Where it has
 * hardly gone anywhere since the last stop there is none.
 */
function stopsOf({ x, y }: SampledPath, floor: number): { at: number; way: number }[] {
  const apart = (a: number, b: number) => Math.hypot((x[b] ?? 0) - (x[a] ?? 0), (y[b] ?? 0) - (y[a] ?? 0));
  const speed = x.map((_, k) => {
    const a = Math.max(0, k - 1);
    const b = Math.min(x.length - 1, k + 1);
    return b > a ? apart(a, b) / (b - a) : 0;
  });
  const found: { at: number; way: number }[] = [];
  for (let k = 1; k + 1 < speed.length; k++) {
    const here = speed[k] ?? 0;
    if (here >= (speed[k - 1] ?? 0) || here > (speed[k + 1] ?? 0)) continue;
    const before = climb(speed, k, -1);
    const after = climb(speed, k, 1);
    if (here > slowing * Math.min(before.most, after.most)) continue;
    const [came, goes] = [apart(before.end, k), apart(k, after.end)];
    const way = Math.min(came, goes);
    const last = found.at(-1);
    if (way < floor || (last && apart(last.at, k) < floor)) continue;
    const across = (x[k] ?? 0) - (x[before.end] ?? 0);
    const down = (y[k] ?? 0) - (y[before.end] ?? 0);
    const same = across * ((x[after.end] ?? 0) - (x[k] ?? 0)) + down * ((y[after.end] ?? 0) - (y[k] ?? 0));
    if (same > turningBack * came * goes) found.push({ at: k, way });
  }
  return found;
}

/** Ways within about 60° of opposite count as turning back. */
const turningBack = -0.5;

/** From a slow moment to where the speed falls below it again: the greatest speed on the way, and where that ends. */
function climb(speed: Float64Array, k: number, step: 1 | -1): { most: number; end: number } {
  const here = speed[k] ?? 0;
  let most = here;
  let end = k;
  for (let i = k + step; i >= 0 && i < speed.length && (speed[i] ?? 0) >= here; i += step) {
    most = Math.max(most, speed[i] ?? 0);
    end = i;
  }
  return { most, end };
}
