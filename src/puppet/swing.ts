import { type Direction, type PlaneTrack, soft, upOf } from './pieces.ts';
import type { PuppetSizes } from './profile.ts';
import type { Standing, StandingPlaces } from './standing.ts';

/** How high the ground is under a foot: as where it stood and will stand, straight in between. Shape [frame]; NaN where it never stands. */
export function groundUnder(standings: readonly Standing[], places: StandingPlaces, n: number): Float64Array {
  const known = standings.flatMap((s) => {
    const place = places.get(s);
    return place ? [{ ...s, y: place[1] - s.ankleHeight }] : [];
  });
  return Float64Array.from({ length: n }, (_, k) => {
    const before = known.findLast((s) => s.first <= k);
    const after = known.find((s) => s.last >= k);
    if (!before || !after) return before?.y ?? after?.y ?? Number.NaN;
    if (before === after) return before.y;
    return before.y + ((after.y - before.y) * (k - before.last)) / (after.first - before.last);
  });
}

/** By how much a swinging foot must be lifted so that neither heel nor toe goes through the ground, millimetres. */
export function floorLift(
  forward: Direction,
  ankle: readonly [number, number],
  groundMm: number,
  { ankleMm, heelMm, footMm }: PuppetSizes,
): number {
  const lowest = Math.min(-heelMm * forward[1], (footMm - heelMm) * forward[1]) - ankleMm * upOf(forward)[1];
  return Math.max(0, groundMm - (ankle[1] + lowest)) || 0;
}

/**
 * How far a foot that swings is led beside where its leg would swing by itself, so that it leaves where it stood and comes down where
 * it will stand. Millimetres; 0 before the first stand's leg agrees with it, and after the last.
 */
export function swingCorrections(target: PlaneTrack, own: (k: number) => readonly [number, number]): PlaneTrack {
  const n = target.x.length;
  const [x, y] = [new Float64Array(n), new Float64Array(n)];
  const standing = [...target.x.keys()].filter((k) => !Number.isNaN(target.x[k]!));
  const off = (k: number | undefined): readonly [number, number] => {
    if (k === undefined) return [0, 0];
    const [ox, oy] = own(k);
    return [target.x[k]! - ox, target.y[k]! - oy];
  };
  let next = 0;
  for (let k = 0; k < n; k++) {
    while (next < standing.length && standing[next]! < k) next++;
    const [before, after] = [standing[next - 1], standing[next]];
    if (after === k || standing.length === 0) continue;
    const [bx, by] = off(before ?? after);
    const [ax, ay] = off(after ?? before);
    const share = before === undefined || after === undefined ? 0 : soft((k - before) / (after - before));
    x[k] = bx + share * (ax - bx);
    y[k] = by + share * (ay - by);
  }
  return { x, y };
}
