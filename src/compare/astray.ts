import { type Joint, jointWords } from '../base/joints.ts';
import type { Exposure } from '../timing/timing.ts';
import { partsOf } from '../track/constructed.ts';
import { median } from '../track/quantile.ts';
import { carriedBy, carriedJoints } from './build.ts';
import { runWords } from './finding.ts';
import { columnAt, type JointPlaces, type PlaceColumns } from './places.ts';
import { type ShotPictures, samplesOf } from './shot.ts';

/** A marked point that seems to have left its joint while it was followed. */
export interface Astray {
  readonly joint: Joint;
  /** Exposures, both ends included. */
  readonly first: number;
  readonly last: number;
  /** Where it is furthest from wherever its joint could be. */
  readonly worst: number;
  /** How far it is from there, millimetres; null = followed from two marks it comes to two places. */
  readonly offMm: number | null;
}

/**
 * Further than this from wherever the plan has its joint about then, as seen from what carries it, a point has left its joint sooner than a
 * hand went so wrong: a share of the height, 15 mm of 250.
 */
const farShare = 0.06;
/** Poses around such a one that are further off than this belong to it. */
const besideShare = 0.025;
/**
 * A limb does not grow or shrink: where it is so much longer or shorter between its two points than the plan has it about then, the outer one
 * has left its joint. A share of the height, 9 mm of 250. In rendered shots limbs between points that were within 3 mm of their joints differed
 * by 1.5 % at most; of points more than 12 mm off, three in four are told by this.
 */
const limbShare = 0.035;
/** Poses around such a one whose limb differs by more than this belong to it. */
const besideLimbShare = 0.02;
/** Where two followings differ by more than this, nobody knows which is right: as a standard deviation. */
const undecidedShare = 0.02;
/** A limb may be this early or late: frames. */
const reachFrames = 4;
const lates = Array.from({ length: 4 * reachFrames + 1 }, (_, k) => k / 2 - reachFrames);

/** How far a point is from wherever its joint could be, and its limb from being as long as it could look, millimetres. NaN = not known. */
interface Away {
  readonly farMm: number;
  readonly limbMm: number;
}

/**
 * Marked points that have left their joints: what a window of pixels shows may be the wall behind a thin arm, or a sleeve that hides it.
 * A point is held against its joint's place on what carries it, as planned a little earlier or later, and its limb against the planned length.
 * What a hand marked is believed, however far off.
 * @param seen millimetres, y down. Shape [exposure].
 * @param planned Shape [frame].
 * @param planFrame of each exposure.
 * @param marked joints that were marked by hand.
 * @returns in order from the hips outward, then of time.
 */
export function findAstray(
  seen: JointPlaces,
  planned: JointPlaces,
  planFrame: Float64Array,
  marked: ReadonlySet<Joint>,
  isByHand: (joint: Joint, exposure: number) => boolean,
  sizeMm: number,
): Astray[] {
  const found: Astray[] = [];
  const isKnown = (joint: Joint, i: number) => {
    const at = seen.at.get(joint);
    const isThere = at !== undefined && planned.at.has(joint) && Number.isFinite(at.x[i]! + at.y[i]!);
    return isThere && !found.some((a) => a.joint === joint && i >= a.first && i <= a.last);
  };
  for (const joint of carriedJoints) {
    const [at, plan] = [seen.at.get(joint), planned.at.get(joint)];
    // What lies between marked joints has no point of its own.
    if (!at || !plan || !marked.has(joint) || partsOf(joint).length > 0) continue;
    const handPlaced = Array.from(at.x, (_, i) => isByHand(joint, i));
    const off = (i: number, planAt: number): [number, number] => {
      let carrier = carriedBy(joint);
      while (carrier && !isKnown(carrier, i)) carrier = carriedBy(carrier);
      const [x, y] = placed(at, plan, i, planAt);
      if (!carrier) return [x, y];
      const [bx, by] = placed(seen.at.get(carrier)!, planned.at.get(carrier)!, i, planAt);
      return [x - bx, y - by];
    };
    // A mark may lie beside its joint, or the puppet be built otherwise: always by as much.
    const beside = [...at.x.keys()].filter((i) => handPlaced[i]).map((i) => off(i, planFrame[i]!));
    const [mx, my] = [median(beside.map(([x]) => x)), median(beside.map(([, y]) => y))];
    if (Number.isNaN(mx + my)) continue;
    const inner = limbCarrier(joint);
    const lengthOff = (i: number, planAt: number) =>
      inner && isKnown(inner, i)
        ? lengthAt(at, seen.at.get(inner)!, i) - lengthAt(plan, planned.at.get(inner)!, planAt)
        : Number.NaN;
    const besideLengths = [...at.x.keys()].filter((i) => handPlaced[i]).map((i) => lengthOff(i, planFrame[i]!));
    const besideLength = median(besideLengths.filter(Number.isFinite));
    const away = Array.from(at.x, (_, i): Away => {
      if (!isKnown(joint, i)) return { farMm: Number.NaN, limbMm: Number.NaN };
      if (at.sd[i]! > undecidedShare * sizeMm) return { farMm: Number.POSITIVE_INFINITY, limbMm: Number.NaN };
      const least = (of: (planAt: number) => number) => Math.min(...lates.map((late) => of(planFrame[i]! + late)));
      const farMm = least((planAt) => {
        const [x, y] = off(i, planAt);
        return Math.hypot(x - mx, y - my);
      });
      return { farMm, limbMm: least((planAt) => Math.abs(lengthOff(i, planAt) - besideLength)) };
    });
    found.push(...runsOf(joint, away, handPlaced, sizeMm));
  }
  return found;
}

/** What a limb's end hangs on; null = the joint ends none. */
function limbCarrier(joint: Joint): Joint | null {
  return /Elbow|Wrist|Knee|Ankle/.test(joint) ? carriedBy(joint) : null;
}

/** How far two joints are apart in the picture, at a place between entries. */
function lengthAt(a: PlaceColumns, b: PlaceColumns, at: number): number {
  return Math.hypot(columnAt(a.x, at) - columnAt(b.x, at), columnAt(a.y, at) - columnAt(b.y, at));
}

/** What a place is off the planned one. */
function placed(at: PlaceColumns, plan: PlaceColumns, i: number, planAt: number): [number, number] {
  return [at.x[i]! - columnAt(plan.x, planAt), at.y[i]! - columnAt(plan.y, planAt)];
}

/** Runs of exposures that are too far off, with those beside that are nearly so; a place that a hand marked in one makes it right. */
function runsOf(joint: Joint, away: readonly Away[], handPlaced: readonly boolean[], sizeMm: number): Astray[] {
  const runs: Astray[] = [];
  const isBeyond = (i: number, far: number, limb: number) =>
    away[i]!.farMm > far * sizeMm || away[i]!.limbMm > limb * sizeMm;
  const isAway = (i: number) => isBeyond(i, farShare, limbShare);
  const belongs = (i: number) => isAway(i) || (!handPlaced[i] && isBeyond(i, besideShare, besideLimbShare));
  const sizeAt = (i: number) => Math.max(away[i]!.farMm, away[i]!.limbMm || 0);
  for (let i = 0; i < away.length; i++) {
    if (!isAway(i)) continue;
    let [first, last, worst] = [i, i, i];
    while (first > 0 && belongs(first - 1)) first--;
    while (last < away.length - 1 && belongs(last + 1)) last++;
    for (let k = first; k <= last; k++) if (sizeAt(k) > sizeAt(worst)) worst = k;
    const offMm = Number.isFinite(sizeAt(worst)) ? sizeAt(worst) : null;
    if (!handPlaced.slice(first, last + 1).includes(true)) runs.push({ joint, first, last, worst, offMm });
    i = last;
  }
  return runs;
}

/** The shot as if points that went astray had not been seen there, nor what lies between them and others. */
export function withoutAstray(shot: ShotPictures, astray: readonly Astray[]): ShotPictures {
  const paths = new Map(shot.motion.paths);
  for (const { joint, first, last } of astray) {
    const [from, to] = [samplesOf(shot, first)[0], samplesOf(shot, last)[1]];
    const blank = (column: Float64Array) => column.slice().fill(Number.NaN, from, to);
    for (const [part, path] of paths) {
      if (part !== joint && !partsOf(part as Joint).some((of) => of === joint)) continue;
      paths.set(part, { ...path, xPx: blank(path.xPx), yPx: blank(path.yPx), sdPx: blank(path.sdPx) });
    }
  }
  return { ...shot, motion: { ...shot.motion, paths } };
}

/** Says where points may have left their joints; "" for none. @param exposures those of the shot. */
export function astraySentence(astray: readonly Astray[], exposures: readonly Exposure[]): string {
  if (astray.length === 0) return '';
  const where = astray.map(
    ({ joint, first, last }) => `${jointWords(joint)} at ${framesOfRun(exposures, first, last)}`,
  );
  return `Not judged, as the marked point may have left its joint: ${where.join('; ')}.`;
}

/** "frame 5", "frames 5 to 9" of some exposures. */
export function framesOfRun(exposures: readonly Exposure[], first: number, last: number): string {
  const [from, end] = [exposures[first]!, exposures[last]!];
  return runWords(from.firstFrame, end.firstFrame + end.frames - from.firstFrame);
}
