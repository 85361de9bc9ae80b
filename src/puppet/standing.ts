import type { Stand } from './feet.ts';
import { between, type Direction, type PlaneTrack, upOf } from './pieces.ts';
import type { PuppetSizes } from './profile.ts';
import type { Planted, Side } from './puppetMotion.ts';

/** One time that a foot is on the ground, from landing to lifting, frames inclusive. */
export interface Standing {
  readonly first: number;
  readonly last: number;
  /** On what it stands, entry 0 = `first`. */
  readonly on: readonly NonNullable<Stand>[];
  /** Where the foot points at each of its frames; constant while the whole foot stands. */
  readonly forward: readonly Direction[];
  /** The ankle at each frame as seen from where it is when the whole foot stands flat, millimetres; [x, y]. */
  readonly ankle: readonly (readonly [number, number])[];
  /** Heel and toe of the flat foot, seen from there. */
  readonly heel: readonly [number, number];
  readonly toe: readonly [number, number];
  /** Height of the flat foot's ankle over the lower of heel and toe. */
  readonly ankleHeight: number;
}

/** A foot rolls over from flat to the performer's own direction within so many frames. */
const rollFrames = 3;

/** All times that a foot is on the ground, from what it stands on frame by frame and where it points. */
export function standingsOf(
  stands: readonly Stand[],
  forward: (frame: number) => Direction,
  sizes: PuppetSizes,
): Standing[] {
  const found: Standing[] = [];
  for (let first = 0; first < stands.length; first++) {
    if (stands[first] === null) continue;
    let last = first;
    while (last + 1 < stands.length && stands[last + 1] !== null) last++;
    found.push(standing(stands, forward, first, last, sizes));
    first = last;
  }
  return found;
}

function standing(
  stands: readonly Stand[],
  forward: (frame: number) => Direction,
  first: number,
  last: number,
  { ankleMm, heelMm, footMm }: PuppetSizes,
): Standing {
  const frames = Array.from({ length: last - first + 1 }, (_, i) => first + i);
  const on = frames.map((k) => stands[k] as NonNullable<Stand>);
  const flat = frames.filter((k) => stands[k] === 'foot');
  const rest = flat.length > 0 ? mean(flat.map(forward)) : forward(first);
  const toFlat = (k: number) => Math.min(...flat.map((f) => Math.abs(f - k)));
  const directions = frames.map((k): Direction => {
    if (stands[k] === 'foot') return rest;
    const away = flat.length > 0 ? toFlat(k) : Number.POSITIVE_INFINITY;
    return between(rest, forward(k), Math.min(1, away / rollFrames));
  });
  const up = upOf(rest);
  const sole = (along: number): [number, number] => [
    along * rest[0] - ankleMm * up[0],
    along * rest[1] - ankleMm * up[1],
  ];
  const [heel, toe] = [sole(-heelMm), sole(footMm - heelMm)];
  const ankle = directions.map((direction, i): [number, number] => {
    if (on[i] === 'foot') return [0, 0];
    // The ankle over a heel or a toe that keeps its place.
    const [point, along] = on[i] === 'heel' ? [heel, heelMm] : [toe, heelMm - footMm];
    const above = upOf(direction);
    return [point[0] + along * direction[0] + ankleMm * above[0], point[1] + along * direction[1] + ankleMm * above[1]];
  });
  return { first, last, on, forward: directions, ankle, heel, toe, ankleHeight: -Math.min(heel[1], toe[1]) };
}

function mean(all: readonly Direction[]): Direction {
  const sum = [0, 1, 2].map((i) => all.reduce((s, d) => s + d[i]!, 0)) as [number, number, number];
  const long = Math.hypot(...sum);
  return long > 1e-9 ? [sum[0] / long, sum[1] / long, sum[2] / long] : (all[0] ?? [0, 0, 1]);
}

/** The time on the ground that a frame belongs to; null = the foot swings. */
export function standingAt(standings: readonly Standing[], frame: number): Standing | null {
  return standings.find((s) => frame >= s.first && frame <= s.last) ?? null;
}

/** Where the ankle of each foot's flat stand is on the set, millimetres; a standing without an entry has no place. */
export type StandingPlaces = ReadonlyMap<Standing, readonly [number, number]>;

/** Where an ankle is to be while its foot stands, millimetres. Shape [frame]; NaN elsewhere. */
export function standingTargets(standings: readonly Standing[], places: StandingPlaces, n: number): PlaneTrack {
  const [x, y] = [new Float64Array(n).fill(Number.NaN), new Float64Array(n).fill(Number.NaN)];
  for (const standing of standings) {
    const place = places.get(standing);
    if (!place) continue;
    for (let k = standing.first; k <= standing.last; k++) {
      const [ax, ay] = standing.ankle[k - standing.first]!;
      x[k] = place[0] + ax;
      y[k] = place[1] + ay;
    }
  }
  return { x, y };
}

/** What of a foot stands where while it is on the ground; empty where it has no place. */
export function plantedOf(side: Side, standing: Standing, places: StandingPlaces): Planted[] {
  const place = places.get(standing);
  if (!place) return [];
  const found: Planted[] = [];
  standing.on.forEach((on, i) => {
    const last = found.at(-1);
    if (last?.on === on) found[found.length - 1] = { ...last, frames: last.frames + 1 };
    else {
      const [px, py] = on === 'foot' ? [0, 0] : standing[on];
      found.push({ side, on, firstFrame: standing.first + i, frames: 1, xMm: place[0] + px, yMm: place[1] + py });
    }
  });
  return found;
}
