import { pxPerMetreOf } from '../../src/timing/pointFlights.ts';
import type { Tracks } from '../../src/track/motion.ts';
import { fitProp, type SeenProp, tracksOfProps } from '../../src/track/propTracks.ts';
import { gaussian, seeded } from '../make.ts';

/** Where a made point is, upright pixels; null = not to be seen. */
export type MadePath = (sec: number) => readonly [number, number] | null;

/** How it was followed: pictures a second, how long, errors of following in pixels (sd). */
export interface MadeFilm {
  readonly fps?: number;
  readonly seconds?: number;
  readonly noisePx?: number;
  readonly seed?: number;
}

/** Marked points as flow follows them, by name. */
export function seenPoints(paths: Readonly<Record<string, MadePath>>, film: MadeFilm = {}): SeenProp[] {
  const { fps = 30, seconds = 4, noisePx = 0.2, seed = 5 } = film;
  const draw = gaussian(seeded(seed));
  const timesSec = Float64Array.from({ length: Math.round(fps * seconds) }, (_, i) => i / fps);
  return Object.entries(paths).map(([name, at]) => {
    const places = Array.from(timesSec, at);
    const column = (axis: 0 | 1) => Float64Array.from(places, (p) => (p ? p[axis] + noisePx * draw() : Number.NaN));
    const [xPx, yPx] = [column(0), column(1)];
    const first = places.findIndex((p) => p !== null);
    const mark = { takeSec: timesSec[first]!, xPx: xPx[first]!, yPx: yPx[first]! };
    const prop = { id: `prop:${name}` as const, name, marks: [mark], absent: [] };
    return { prop, timesSec, xPx, yPx, sdPx: timesSec.map(() => Math.max(0.1, noisePx)), gaps: [] };
  });
}

/** The tracks of a take in which nobody is, made as the app makes them. */
export function tracksOfPoints(seen: readonly SeenProp[]): Tracks {
  return tracksOfProps(
    seen[0]!.timesSec,
    seen.map((s) => fitProp(s)!),
    1.7 * pxPerMetreOf(seen),
  );
}
