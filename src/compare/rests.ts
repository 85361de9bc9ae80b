import type { Joint } from '../base/joints.ts';
import type { Hold } from '../timing/timing.ts';
import { median } from '../track/quantile.ts';
import { columnAt, type JointPlaces, type PlaceColumns } from './places.ts';

/** Fewer exposures than this do not tell where a joint rests. */
const leastExposures = 2;
/** So many exposures at the end of a hold tell where a joint rests there. */
const endExposures = 3;
/** A place as against where its joint rests errs by no less than this share of the height: a quarter of a millimetre of 250. */
const leastShare = 0.001;

/**
 * Places as against where joints rest in the holds before and after: a detector places a joint beside itself by what hangs on the pose, but
 * where steps were followed the way from there and to there is known far better. For timing only: what is off in a hold is off no more.
 * @param places registered, millimetres. Shape [exposure].
 * @param planFrame which the exposures show as far as is known.
 * @param stepSds what steps from the exposure before err by, millimetres; joints without are left as they are.
 */
export function againstRests(
  places: JointPlaces,
  planned: JointPlaces,
  planFrame: Float64Array,
  holds: readonly Hold[],
  stepSds: ReadonlyMap<Joint, Float64Array>,
  sizeMm: number,
): JointPlaces {
  const rests = holds
    .map((hold) =>
      [...planFrame.keys()].filter(
        (i) => planFrame[i]! > hold.firstFrame + 0.5 && planFrame[i]! < hold.firstFrame + hold.frames - 0.5,
      ),
    )
    .filter((within) => within.length >= leastExposures);
  const at = new Map<Joint, PlaceColumns>();
  for (const [joint, columns] of places.at) {
    const [plan, stepSd] = [planned.at.get(joint), stepSds.get(joint)];
    at.set(
      joint,
      plan && stepSd ? restedPlaces(columns, plan, planFrame, rests, stepSd, leastShare * sizeMm) : columns,
    );
  }
  return { count: places.count, at };
}

function restedPlaces(
  { x, y, sd }: PlaceColumns,
  plan: PlaceColumns,
  planFrame: Float64Array,
  rests: readonly (readonly number[])[],
  stepSd: Float64Array,
  leastMm: number,
): PlaceColumns {
  const off = (i: number) =>
    [x[i]! - columnAt(plan.x, planFrame[i]!), y[i]! - columnAt(plan.y, planFrame[i]!)] as const;
  const known = rests.flatMap((within) => {
    const seen = within.filter((i) => Number.isFinite(x[i]! + y[i]!));
    if (seen.length < leastExposures) return [];
    return [{ first: within[0]!, last: within.at(-1)!, seen }];
  });
  /** Where the joint rests at that end of a hold which is nearer to an exposure: it may drift in between. */
  const restAt = (i: number, { seen }: (typeof known)[number]) => {
    const nearest = seen.toSorted((a, b) => Math.abs(a - i) - Math.abs(b - i)).slice(0, endExposures);
    return [median(nearest.map((k) => off(k)[0])), median(nearest.map((k) => off(k)[1]))] as const;
  };
  /** Variance of the way from a rest to an exposure, as its steps add up. */
  const away = (i: number, { first, last }: (typeof known)[number]) => {
    let sum = leastMm ** 2;
    for (let k = last + 1; k <= i; k++) sum += stepSd[k]! ** 2;
    for (let k = i + 1; k <= first; k++) sum += stepSd[k]! ** 2;
    return sum;
  };
  const out: PlaceColumns = { x: x.slice(), y: y.slice(), sd: sd.slice() };
  for (let i = 0; i < x.length; i++) {
    let [weights, bx, by] = [0, 0, 0];
    for (const rest of known) {
      const w = 1 / away(i, rest);
      if (!(w > 0)) continue;
      weights += w;
      const [restX, restY] = restAt(i, rest);
      bx += w * restX;
      by += w * restY;
    }
    const rested = 1 / Math.sqrt(weights);
    if (!(rested < sd[i]!)) continue;
    out.x[i]! -= bx / weights;
    out.y[i]! -= by / weights;
    out.sd[i] = rested;
  }
  return out;
}
