import type { Motion } from '../track/motion.ts';
import type { Side } from './puppetMotion.ts';
import type { Standing } from './standing.ts';

/**
 * How high in the picture each standing foot stands over the floor line, puppet millimetres: a foot further from the lens stands
 * higher in the picture. The floor line is the middle one of all standings.
 * @param mmPerPx at the scale of the legs, so that legs of the performer's proportions stand with the performer's angles.
 */
export function groundHeights(
  motion: Motion,
  standings: Readonly<Record<Side, readonly Standing[]>>,
  mmPerPx: number,
): ReadonlyMap<Standing, number> {
  const found = (['left', 'right'] as const).flatMap((side) =>
    standings[side].map((standing) => ({ standing, anklePx: anklePx(motion, side, standing) })),
  );
  const floorPx = median(
    found.flatMap(({ standing, anklePx: px }) => Array.from({ length: standing.last - standing.first + 1 }, () => px)),
  );
  return new Map(found.map(({ standing, anklePx: px }) => [standing, Number.isNaN(px) ? 0 : (floorPx - px) * mmPerPx]));
}

/** Where the ankle is in the picture while the whole foot stands, else while any of it does; pixels down. */
function anklePx(motion: Motion, side: Side, { first, last, on }: Standing): number {
  const path = motion.paths.get(`${side}Ankle`);
  const frames = Array.from({ length: last - first + 1 }, (_, i) => first + i);
  const flat = frames.filter((k) => on[k - first] === 'foot');
  return median((flat.length > 0 ? flat : frames).map((k) => path?.yPx[k] ?? Number.NaN));
}

function median(values: readonly number[]): number {
  const rising = values.filter((v) => !Number.isNaN(v)).sort((a, b) => a - b);
  return rising[rising.length >> 1] ?? Number.NaN;
}
