import { type Joint, otherSide } from '../base/joints.ts';
import type { Exposure } from '../timing/timing.ts';
import { framesOfRun } from './astray.ts';
import type { Off } from './deviations.ts';
import type { ShotPictures } from './shot.ts';

/** Limbs of one kind that a detector took for each other: the left one for the right, or the other way round. */
export interface Mistaken {
  readonly limbs: 'arms' | 'legs';
  /** Exposures, both ends included. */
  readonly first: number;
  readonly last: number;
}

/** What hangs on a shoulder or a hip. */
const jointsOf: Readonly<Record<Mistaken['limbs'], RegExp>> = {
  arms: /(Elbow|Wrist|Hand)$/,
  legs: /(Knee|Ankle|Heel|Toe)$/,
};

/** What is further off than this share of the height, 20 mm of 250, and about where its other one should be, was taken for that one. */
const mistakenShare = 0.08;
/** About: by less than this part of how far it is off. */
const aboutThere = 0.25;
/** A limb is lost by and by: so many exposures before and after are no surer. */
const besideExposures = 2;

/**
 * Joints' ways off the plan without the exposures in which a detector took a left limb for the right one or the other way round, or was about
 * to: there neither is known. No hand puts a puppet's foot where its other one is to stand. Joints marked by hand are left as they are.
 */
export function withoutMistaken(
  offs: ReadonlyMap<Joint, Off>,
  { marked }: ShotPictures,
  sizeMm: number,
): { readonly offs: ReadonlyMap<Joint, Off>; readonly mistaken: readonly Mistaken[] } {
  const known = new Map(offs);
  const mistaken: Mistaken[] = [];
  for (const limbs of ['arms', 'legs'] as const) {
    const seen = [...offs].filter(([joint]) => jointsOf[limbs].test(joint) && !(marked?.has(joint) ?? true));
    const within = new Set<number>();
    for (const [joint, off] of seen)
      for (const i of mistakenAt(off, offs.get(otherSide(joint)), sizeMm))
        for (let k = i - besideExposures; k <= i + besideExposures; k++) if (k in off.x) within.add(k);
    if (within.size === 0) continue;
    const kept = (column: Float64Array) => column.map((v, i) => (within.has(i) ? Number.NaN : v));
    for (const [joint, off] of seen) known.set(joint, { ...off, x: kept(off.x), y: kept(off.y) });
    mistaken.push(...runsOf(within).map((run) => ({ limbs, ...run })));
  }
  return { offs: known, mistaken };
}

/** The exposures in which a joint lies where its other one should. */
function mistakenAt(off: Off, other: Off | undefined, sizeMm: number): number[] {
  if (!other) return [];
  return [...off.x.keys()].filter((i) => {
    const size = Math.hypot(off.x[i]!, off.y[i]!);
    const [x, y] = [off.planX[i]! + off.x[i]! - other.planX[i]!, off.planY[i]! + off.y[i]! - other.planY[i]!];
    return size > mistakenShare * sizeMm && Math.hypot(x, y) < aboutThere * size;
  });
}

function runsOf(within: ReadonlySet<number>): { first: number; last: number }[] {
  const runs: { first: number; last: number }[] = [];
  for (const i of [...within].sort((a, b) => a - b)) {
    const before = runs.at(-1);
    if (before && i === before.last + 1) before.last = i;
    else runs.push({ first: i, last: i });
  }
  return runs;
}

/** Says where limbs were taken for each other; "" for none. @param exposures those of the shot. */
export function mistakenSentence(mistaken: readonly Mistaken[], exposures: readonly Exposure[]): string {
  if (mistaken.length === 0) return '';
  const where = mistaken.map(({ limbs, first, last }) => `${limbs} at ${framesOfRun(exposures, first, last)}`);
  return `Not judged, as left and right were taken for each other there: ${where.join('; ')}.`;
}
