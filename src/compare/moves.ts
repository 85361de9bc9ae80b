import type { Joint } from '../base/joints.ts';
import type { Off } from './deviations.ts';
import { judgedJoints } from './offRuns.ts';
import { columnAt, type JointPlaces } from './places.ts';
import type { PlannedKey } from './shot.ts';

/** One joint's way from one key to the next, shot against planned. Columns have shape [exposure of the move]. */
export interface MoveComparison {
  readonly joint: Joint;
  readonly fromKey: PlannedKey;
  readonly toKey: PlannedKey;
  /** Indices of the shot's exposures, from the one that shows the first key to the one that shows the second. */
  readonly exposures: readonly number[];
  /** Lengths of the ways, millimetres. */
  readonly planMm: number;
  readonly shotMm: number;
  /** How much of the way is behind each pose, 0..1. */
  readonly planFractions: readonly number[];
  readonly shotFractions: readonly number[];
  /** The most that the shot's path lies beside the planned one, millimetres, and its standard deviation. */
  readonly besideMm: number;
  readonly sdMm: number;
}

/** Way shorter than this share of the height is no move: 4 mm of 250. */
const leastWay = 0.016;

/**
 * Arc against arc and spacing against spacing, for every move of every joint that goes anywhere.
 * @param byKeys the plan's frame at each exposure by its keys alone: a pose that is matched would be spaced as it was shot.
 */
export function compareMoves(
  offs: ReadonlyMap<Joint, Off>,
  planned: JointPlaces,
  keys: readonly PlannedKey[],
  byKeys: Float64Array,
  sizeMm: number,
): MoveComparison[] {
  const story = keys.filter((k) => k.kind === 'key');
  const showing = (frame: number) => byKeys.findLastIndex((f) => f <= frame + 0.5);
  return story.slice(1).flatMap((toKey, k) => {
    const fromKey = story[k]!;
    const [first, last] = [Math.max(0, showing(fromKey.frameIndex)), showing(toKey.frameIndex)];
    if (last - first < 2 || toKey.frameIndex > byKeys.at(-1)! + 1) return [];
    const all = Array.from({ length: last - first + 1 }, (_, i) => first + i);
    return judgedJoints.flatMap((joint): MoveComparison[] => {
      const [off, path] = [offs.get(joint), planned.at.get(joint)];
      if (!off || !path) return [];
      // A picture may be missing on the way; where the way begins or ends without one, nothing is known of it.
      const exposures = all.filter((i, k) => k === 0 || i === last || Number.isFinite(off.x[i]! + off.y[i]!));
      const plan = exposures.map((i) => [columnAt(path.x, byKeys[i]!), columnAt(path.y, byKeys[i]!)] as const);
      const shot = exposures.map((i) => [off.planX[i]! + off.x[i]!, off.planY[i]! + off.y[i]!] as const);
      const [planWay, shotWay] = [wayAlong(plan), wayAlong(shot)];
      if (!(planWay.at(-1)! > leastWay * sizeMm) || !(shotWay.at(-1)! > 0)) return [];
      const besides = shot.map((p) => Math.min(...plan.slice(1).map((b, s) => distanceTo(plan[s]!, b, p))));
      return [
        {
          joint,
          fromKey,
          toKey,
          exposures,
          planMm: planWay.at(-1)!,
          shotMm: shotWay.at(-1)!,
          planFractions: planWay.map((w) => w / planWay.at(-1)!),
          shotFractions: shotWay.map((w) => w / shotWay.at(-1)!),
          besideMm: Math.max(...besides),
          sdMm: off.sd[exposures[besides.indexOf(Math.max(...besides))]!]!,
        },
      ];
    });
  });
}

function wayAlong(points: readonly (readonly [number, number])[]): number[] {
  const way = [0];
  for (let i = 1; i < points.length; i++) {
    const [a, b] = [points[i - 1]!, points[i]!];
    way.push(way[i - 1]! + Math.hypot(b[0] - a[0], b[1] - a[1]));
  }
  return way;
}

function distanceTo(
  a: readonly [number, number],
  b: readonly [number, number],
  [x, y]: readonly [number, number],
): number {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const square = dx * dx + dy * dy;
  const u = square > 0 ? Math.min(1, Math.max(0, ((x - a[0]) * dx + (y - a[1]) * dy) / square)) : 0;
  return Math.hypot(x - a[0] - u * dx, y - a[1] - u * dy);
}
