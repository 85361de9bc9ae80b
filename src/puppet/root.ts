import { type PlaneTrack, soft } from './pieces.ts';
import type { PuppetSizes } from './profile.ts';
import type { Side } from './puppetMotion.ts';
import type { Standing, StandingPlaces } from './standing.ts';

/** What the place of the hips follows from. Everything has shape [frame]. */
export interface RootFrom {
  /** The performer's pelvis at the scale of the standing height. */
  readonly pelvis: PlaneTrack;
  /** From the pelvis to each ankle, as the puppet's legs would hang with the performer's angles. */
  readonly chain: Readonly<Record<Side, PlaneTrack>>;
  readonly standings: Readonly<Record<Side, readonly Standing[]>>;
  /** Height of the sole over the floor line while it stands, see `groundHeights`. */
  readonly heights: ReadonlyMap<Standing, number>;
  /** Frames over which the weight goes onto a foot that has landed, and off one that will lift. */
  readonly shiftFrames: number;
  readonly sizes: PuppetSizes;
}

/** Where the hips are, and where each foot stands. */
export interface Root extends PlaneTrack {
  /** The flat foot's ankle of each standing, millimetres; it does not move within it. */
  readonly places: StandingPlaces;
}

const sides = ['left', 'right'] as const;

/**
 * Carries the hips over standing feet. While a foot stands, the hips are where its leg leads with the performer's angles; where both
 * stand, in between, by how the weight shifts from one to the other. A landing foot stands where its own leg puts it along the floor, at
 * the height of its ground. In the air the hips go as the performer's at the scale of the standing height, so that what falls
 * falls rightly; what the legs' other lengths make of the landing is spread over the flight.
 */
export function carryRoot({ pelvis, chain, standings, heights, shiftFrames, sizes }: RootFrom): Root {
  const n = pelvis.x.length;
  const [x, y] = [new Float64Array(n).fill(Number.NaN), new Float64Array(n).fill(Number.NaN)];
  const places = new Map<Standing, readonly [number, number]>();
  /** How far the hips are from the performer's, as last known. */
  let [offX, offY] = [Number.NaN, Number.NaN];
  let flightFrom = 0;
  const at = (k: number) =>
    sides.flatMap((side) => {
      const standing = standings[side].find((s) => k >= s.first && k <= s.last);
      return standing && !Number.isNaN(chain[side].x[k]! + chain[side].y[k]!) ? [{ side, standing }] : [];
    });
  /** The hips that put a standing foot where it stands. */
  const over = (side: Side, standing: Standing, k: number): [number, number] => {
    const [px, py] = places.get(standing)!;
    const [ax, ay] = standing.ankle[k - standing.first]!;
    return [px + ax - chain[side].x[k]!, py + ay - chain[side].y[k]!];
  };
  const groundY = (standing: Standing) => (heights.get(standing) ?? 0) + standing.ankleHeight;
  /** Landings that the flight before has led to: their feet carry the body at once. */
  const outOfTheAir = new Set<Standing>();
  /** The hips over feet: as each foot carries, and for what they do not carry yet, on as before. */
  const hipsAt = (
    feet: readonly { readonly side: Side; readonly standing: Standing }[],
    k: number,
  ): [number, number] => {
    let [sumX, sumY, sum] = [0, 0, 0];
    for (const { side, standing } of feet) {
      const [hx, hy] = over(side, standing, k);
      const weight = weightOf(standing, k, n, shiftFrames, outOfTheAir.has(standing));
      sumX += weight * (hx - pelvis.x[k]!);
      sumY += weight * (hy - pelvis.y[k]!);
      sum += weight;
    }
    const rest = Number.isNaN(offX) ? 0 : Math.max(0, 1 - sum);
    if (rest > 0) [sumX, sumY] = [sumX + rest * offX, sumY + rest * offY];
    return [pelvis.x[k]! + sumX / (sum + rest), pelvis.y[k]! + sumY / (sum + rest)];
  };

  for (let k = 0; k < n; k++) {
    const feet = at(k);
    if (feet.length === 0) {
      if (!Number.isNaN(offX)) {
        x[k] = pelvis.x[k]! + offX;
        y[k] = pelvis.y[k]! + offY;
      }
      continue;
    }
    const known = feet.filter(({ standing }) => places.has(standing));
    const landing = feet.filter(({ standing }) => !places.has(standing));
    if (landing.length > 0) {
      // With nothing else to stand on, the hips come down until the lower foot is on its ground.
      const isAlone = known.length === 0;
      if (isAlone) for (const { standing } of landing) outOfTheAir.add(standing);
      const rx = isAlone ? pelvis.x[k]! + (Number.isNaN(offX) ? 0 : offX) : hipsAt(known, k)[0];
      for (const { side, standing } of landing)
        places.set(standing, [rx + chain[side].x[k]! - standing.ankle[k - standing.first]![0], groundY(standing)]);
    }
    const hips = hipsAt(feet, k);
    [x[k], y[k]] = hips;
    const [newX, newY] = [hips[0] - pelvis.x[k]!, hips[1] - pelvis.y[k]!];
    // What differs after a flight is spread over it; before the first landing it has been so all along.
    if (known.length === 0)
      for (let f = flightFrom; f < k; f++) {
        const share = Number.isNaN(offX) ? 1 : soft((f - flightFrom + 1) / (k - flightFrom + 1));
        x[f] = pelvis.x[f]! + mix(offX, newX, share);
        y[f] = pelvis.y[f]! + mix(offY, newY, share);
      }
    [offX, offY] = [newX, newY];
    flightFrom = k + 1;
  }
  if (Number.isNaN(offX)) {
    const up = overTheFloor(pelvis, chain, sizes);
    x.set(pelvis.x);
    y.set(pelvis.y.map((v) => v + up));
  }
  return { x, y, places };
}

/**
 * By how much a body that never stands is to be raised, millimetres: its lowest ankle comes as high over the floor line as that of a foot
 * which stands. Where no leg was seen it begins with straight legs.
 */
function overTheFloor(
  pelvis: PlaneTrack,
  chain: RootFrom['chain'],
  { ankleMm, thighMm, shankMm }: PuppetSizes,
): number {
  const ankles = sides
    .flatMap((side) => [...pelvis.y].map((y, k) => y + chain[side].y[k]!))
    .filter((y) => !Number.isNaN(y));
  if (ankles.length > 0) return ankleMm - ankles.reduce((least, y) => Math.min(least, y));
  const first = pelvis.y.find((y) => !Number.isNaN(y));
  return first === undefined ? 0 : ankleMm + shankMm + thighMm - first;
}

function mix(from: number, to: number, share: number): number {
  return share === 1 ? to : from + share * (to - from);
}

/** How much of the body a standing foot carries: little just after landing and just before lifting. */
function weightOf(
  { first, last }: Standing,
  k: number,
  frameCount: number,
  shiftFrames: number,
  carriesAtOnce: boolean,
): number {
  const landed = carriesAtOnce ? 1 : soft((k - first + 0.5) / shiftFrames);
  const lifts = last === frameCount - 1 ? 1 : soft((last - k + 0.5) / shiftFrames);
  return Math.max(1e-6, Math.min(landed, lifts));
}
