import { hinges, type Joint } from '../base/joints.ts';
import { median } from '../track/quantile.ts';
import { columnAt, type JointPlaces } from './places.ts';

/** How one joint in one exposure differs from the plan. Millimetres and degrees; NaN = one of both is not known. */
export interface Deviation {
  readonly joint: Joint;
  /** Index into the shot's exposures, and the first frame of it. */
  readonly exposure: number;
  readonly frame: number;
  /** The frame of the plan whose pose it shows, with fractions. */
  readonly planFrame: number;
  /** Shot minus plan, matched by pose: to the right in the picture, and up. */
  readonly xMm: number;
  readonly yMm: number;
  /** Standard deviation along one axis. */
  readonly sdMm: number;
  /** The same against the plan's own frame, whether early or late. */
  readonly frameXMm: number;
  readonly frameYMm: number;
  /** How much further the joint's hinge is opened than planned, as seen; NaN where the joint has none. */
  readonly deg: number;
  readonly sdDeg: number;
}

/** A joint's way off the plan. Millimetres, y down. Shape [exposure]. */
export interface Off {
  /** The planned places that were matched. */
  readonly planX: Float64Array;
  readonly planY: Float64Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Along one axis. */
  readonly sd: Float64Array;
  /** Of what is new in each exposure, along one axis, as the shot itself shows it: what lasts hangs on the pose and is the same in the next. */
  readonly quick: Float64Array;
  /**
   * What its step from the exposure before errs by, along one axis, where steps were followed by themselves; then `quick` is no less. Null
   * = nobody says. Shape [exposure], the first NaN.
   */
  readonly stepSd: Float64Array | null;
}

/**
 * All joints' ways off the plan at the frames of the plan that exposures show.
 * @param stepSds what steps from the exposure before err by, millimetres; NaN and absent = nobody says.
 */
export function offsFrom(
  shot: JointPlaces,
  planned: JointPlaces,
  planFrame: ArrayLike<number>,
  stepSds: ReadonlyMap<Joint, Float64Array> = new Map(),
): ReadonlyMap<Joint, Off> {
  const offs = new Map<Joint, Off>();
  const unsure = new Map<Joint, number>();
  for (const [joint, seen] of shot.at) {
    const plan = planned.at.get(joint);
    if (!plan) continue;
    const planX = Float64Array.from(seen.x, (_, i) => columnAt(plan.x, planFrame[i]!));
    const planY = Float64Array.from(seen.y, (_, i) => columnAt(plan.y, planFrame[i]!));
    const [x, y] = [seen.x.map((v, i) => v - planX[i]!), seen.y.map((v, i) => v - planY[i]!)];
    offs.set(joint, { planX, planY, x, y, sd: seen.sd, ...quickOf(x, y, stepSds.get(joint)) });
    unsure.set(joint, timesAsUnsure(x, y, seen.sd));
  }
  // A joint that is at fault spreads, too: no joint is taken for much worse than joints are in this shot.
  const usual = median([...unsure.values()].filter(Number.isFinite));
  for (const [joint, off] of offs) {
    const times = Math.max(1, Math.min(unsure.get(joint) || 1, worseThanUsual * usual || 1, mostUnsure));
    offs.set(joint, { ...off, sd: off.sd.map((sd) => times * sd) });
  }
  return offs;
}

/** Tracks of a puppet may claim too much: by so many times at most, and by so many times what joints of this shot usually do. */
const mostUnsure = 3;
const worseThanUsual = 1.3;

/** How many times as unsure as it claims a joint is, by how it spreads over the shot. NaN where it is not known. */
function timesAsUnsure(x: Float64Array, y: Float64Array, sd: Float64Array): number {
  const known = [...x.keys()].filter((i) => Number.isFinite(x[i]! + y[i]!) && sd[i]! > 0);
  const [mx, my] = [median(known.map((i) => x[i]!)), median(known.map((i) => y[i]!))];
  return median(known.map((i) => Math.hypot(x[i]! - mx, y[i]! - my) / sd[i]!)) / Math.sqrt(2 * Math.LN2);
}

/** What is new is judged by so many exposures to either side; those beside the one that is judged say nothing, a fault of it is in them. */
const quickReach = 6;
/** Of two axes, this share lies within so many standard deviations: more than the half, since a detector errs seldom, but then by much. */
const [quickShare, quickSdsOf] = [0.8, Math.sqrt(-2 * Math.log(0.2))];
/** In a stretch that is quieter than the rest of the shot no less than this share of what is usual in it is new. */
const leastOfUsual = 0.7;

/**
 * How much is new in each exposure, as a standard deviation along one axis: from how far poses around it lie off the middle of their
 * neighbours, no less than usually in the shot. Shape [exposure].
 */
function quickSds(x: Float64Array, y: Float64Array): Float64Array {
  const off = Float64Array.from(x, (_, i) =>
    i < 1 || i > x.length - 2
      ? Number.NaN
      : Math.hypot(x[i]! - (x[i - 1]! + x[i + 1]!) / 2, y[i]! - (y[i - 1]! + y[i + 1]!) / 2),
  );
  const most = (among: Iterable<number>) => {
    const sizes = [...among].filter(Number.isFinite).sort((a, b) => a - b);
    return sizes[Math.floor(quickShare * (sizes.length - 1))] ?? 0;
  };
  const usual = most(off);
  // A pose against the middle of two others has half as much variance again.
  const toSd = 1 / (quickSdsOf * Math.sqrt(1.5));
  return off.map((_, i) => {
    const near = off.subarray(Math.max(0, i - quickReach), i + quickReach + 1);
    const from = Math.max(0, i - quickReach);
    const around = most(near.filter((_, k) => Math.abs(from + k - i) > 1));
    return toSd * Math.max(leastOfUsual * usual, around);
  });
}

/** What is new in each exposure, no less than its own step and the next are said to err by. */
function quickOf(x: Float64Array, y: Float64Array, stepSd: Float64Array | undefined): Pick<Off, 'quick' | 'stepSd'> {
  const quick = quickSds(x, y);
  if (!stepSd?.some(Number.isFinite)) return { quick, stepSd: null };
  // A pose against the middle of its neighbours is half of what two steps differ by, and has half as much variance again.
  const claimed = (i: number) => (stepTimes * Math.hypot(stepSd[i]! || 0, stepSd[i + 1]! || 0)) / Math.sqrt(6);
  return { quick: quick.map((sd, i) => Math.max(sd, claimed(i))), stepSd };
}

/** Steps err by so many times what they claim. */
const stepTimes = 1.5;

/** Hinge angle as seen, degrees, and its standard deviation; NaN where an end is not known. */
function hingeAt(at: (joint: Joint) => readonly [number, number, number] | null, a: Joint, b: Joint, c: Joint) {
  const [p, q, r] = [at(a), at(b), at(c)];
  if (!p || !q || !r) return { deg: Number.NaN, sd: Number.NaN };
  const [ux, uy, vx, vy] = [p[0] - q[0], p[1] - q[1], r[0] - q[0], r[1] - q[1]];
  const deg = (Math.atan2(Math.abs(ux * vy - uy * vx), ux * vx + uy * vy) * 180) / Math.PI;
  const sd = Math.hypot(Math.hypot(p[2], q[2]) / Math.hypot(ux, uy), Math.hypot(r[2], q[2]) / Math.hypot(vx, vy));
  return { deg, sd: (sd * 180) / Math.PI };
}

/** Every joint in every exposure against the plan. */
export function listDeviations(
  shot: JointPlaces,
  planned: JointPlaces,
  planFrame: ArrayLike<number>,
  frames: readonly number[],
): Deviation[] {
  const offs = offsFrom(shot, planned, planFrame);
  return [...offs].flatMap(([joint, off]) => {
    const hinge = hinges.find((h) => h.at === joint);
    const [places, plannedAt] = [shot.at.get(joint)!, planned.at.get(joint)!];
    return frames.map((frame, exposure): Deviation => {
      const seenAt = (j: Joint) => {
        const c = shot.at.get(j);
        return c ? ([c.x[exposure]!, c.y[exposure]!, c.sd[exposure]!] as const) : null;
      };
      const planAt = (j: Joint) => {
        const c = planned.at.get(j);
        return c ? ([columnAt(c.x, planFrame[exposure]!), columnAt(c.y, planFrame[exposure]!), 0] as const) : null;
      };
      const [seen, plan] = hinge
        ? [hingeAt(seenAt, hinge.a, hinge.at, hinge.b), hingeAt(planAt, hinge.a, hinge.at, hinge.b)]
        : [null, null];
      return {
        joint,
        exposure,
        frame,
        planFrame: planFrame[exposure]!,
        xMm: off.x[exposure]!,
        yMm: -off.y[exposure]!,
        sdMm: off.sd[exposure]!,
        frameXMm: places.x[exposure]! - columnAt(plannedAt.x, frame),
        frameYMm: -(places.y[exposure]! - columnAt(plannedAt.y, frame)),
        deg: seen && plan ? seen.deg - plan.deg : Number.NaN,
        sdDeg: seen?.sd ?? Number.NaN,
      };
    });
  });
}
