import { type Direction, type PieceTrack, upOf } from './pieces.ts';
import type { Places } from './places.ts';
import type { PuppetSizes } from './profile.ts';
import type { Side } from './puppetMotion.ts';
import type { Standing, StandingPlaces } from './standing.ts';

/** Where a foot points; straight at the lens where that is not known. */
export function directionOf(foot: PieceTrack, k: number): Direction {
  const [x, y] = [foot.x[k]!, foot.y[k]!];
  return Number.isNaN(x + y) ? [0, 0, 1] : [x, y, foot.z[k]!];
}

/** Heel and toe at a frame, from where the ankle is: as the foot stands, else as it swings. */
export function putFoot(
  made: Places,
  side: Side,
  k: number,
  ankle: readonly [number, number],
  swinging: Direction,
  standing: Standing | null,
  places: StandingPlaces,
  sizes: PuppetSizes,
): void {
  const place = standing ? places.get(standing) : undefined;
  const forward = standing && place ? standing.forward[k - standing.first]! : swinging;
  const up = upOf(forward);
  const [back, front] = [-sizes.heelMm, sizes.footMm - sizes.heelMm];
  const sole = (along: number): [number, number, number] => [
    ankle[0] + along * forward[0] - sizes.ankleMm * up[0],
    ankle[1] + along * forward[1] - sizes.ankleMm * up[1],
    Math.abs(along * forward[2] - sizes.ankleMm * up[2]),
  ];
  const [heel, toe] = [sole(back), sole(front)];
  if (standing && place) {
    const on = standing.on[k - standing.first]!;
    // What stands is where it stood, not but for rounding.
    if (on !== 'toe') [heel[0], heel[1]] = [place[0] + standing.heel[0], place[1] + standing.heel[1]];
    if (on !== 'heel') [toe[0], toe[1]] = [place[0] + standing.toe[0], place[1] + standing.toe[1]];
  }
  made.put(`${side}Heel`, k, ...heel);
  made.put(`${side}Toe`, k, ...toe);
}
