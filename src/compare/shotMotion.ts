import { type Joint, joints, jointWords, otherSide } from '../base/joints.ts';
import { constructedStepSd, constructJoints, partsOf } from '../track/constructed.ts';
import type { JointPath, Motion, Tracks } from '../track/motion.ts';
import type { SeenProp } from '../track/propTracks.ts';
import { median } from '../track/quantile.ts';

/** The joint that a marked point's name means ("left wrist", "Left Wrist", "leftWrist"); null = the point is something else. */
export function jointOfName(name: string): Joint | null {
  const plain = (words: string) => words.replace(/[\s_-]+/g, '').toLowerCase();
  return joints.find((joint) => plain(jointWords(joint)) === plain(name)) ?? null;
}

/**
 * Joints that lie in the middle of others, and go with them when those are marked. The chin does not: it lies somewhere else on every
 * puppet's head.
 */
const middles = ['neck', 'chest', 'pelvis'] as const satisfies readonly Joint[];

/**
 * Where the puppet is in each picture of the shot: joints that the animator marked as the marks were followed, as measured; all others
 * as the detector saw them. A marked joint wins: it is on the puppet itself; neck, chest and pelvis lie between marked shoulders and hips.
 * @param tracks of the shot's pictures; null = nobody was recognised in them.
 * @param points marked points of the same pictures; those that are no joint are left out.
 * @param isMirrored the camera saw the puppet mirrored: what a detector took for its left is its right. Marks are named after the puppet's
 *   own sides whatever the camera saw. Pixels stay as they are.
 * @returns one entry for each picture; null where there is neither.
 */
export function shotMotion(
  tracks: Tracks | null,
  points: readonly SeenProp[],
  timesSec: Float64Array,
  isMirrored = false,
): Motion | null {
  const seen = tracks?.at(timesSec) ?? null;
  const asSeen = (joint: Joint) => (isMirrored ? otherSide(joint) : joint);
  const marked = new Map<Joint, SeenProp>();
  for (const point of points) {
    const joint = jointOfName(point.prop.name);
    if (joint) marked.set(joint, point);
  }
  const paths = new Map<Joint, JointPath>();
  for (const joint of joints) {
    const path = seen?.paths.get(asSeen(joint));
    if (path && !marked.has(joint)) paths.set(joint, path);
  }
  const sizePx = spreadOf([...paths.values(), ...marked.values()]);
  for (const [joint, point] of marked) paths.set(joint, asPath(point, coverOf(joint), sizePx));
  if (paths.size === 0) return null;
  const between: readonly Joint[] = middles.filter(
    (joint) => !marked.has(joint) && partsOf(joint).some((part) => marked.has(part)),
  );
  for (const joint of between) {
    const made = new Map<string, JointPath>(paths);
    constructJoints(made, 0);
    const path = made.get(joint);
    if (path) paths.set(joint, path);
  }
  if (!seen?.stepSdPx && marked.size === 0) return { timesSec, paths };
  const stepSdPx = (joint: Joint, from: number, to: number): number => {
    const point = marked.get(joint);
    if (point) return followedStepSd(point, from, to, sizePx);
    const mixed = between.includes(joint) ? constructedStepSd(joint, (part) => stepSdPx(part, from, to)) : null;
    return mixed ?? seen?.stepSdPx?.(asSeen(joint), from, to) ?? Number.NaN;
  };
  return { timesSec, paths, stepSdPx: (part, from, to) => stepSdPx(part as Joint, from, to) };
}

/** The joints that are marked by hand among some points, and those that lie in the middle of such alone. */
export function markedJoints(points: readonly Pick<SeenProp, 'prop'>[]): ReadonlySet<Joint> {
  const marked = new Set(points.flatMap(({ prop }) => jointOfName(prop.name) ?? []));
  for (const joint of middles) if (partsOf(joint).every((part) => marked.has(part))) marked.add(joint);
  return marked;
}

/** How far joints spread in the picture, pixels, in the middle of all pictures: about the puppet's size. 0 where none is known. */
function spreadOf(places: readonly Pick<JointPath, 'xPx' | 'yPx'>[]): number {
  const spreads = Array.from({ length: places[0]?.xPx.length ?? 0 }, (_, i) => {
    const at = places.filter(({ xPx, yPx }) => !Number.isNaN(xPx[i]! + yPx[i]!));
    const [xs, ys] = [at.map(({ xPx }) => xPx[i]!), at.map(({ yPx }) => yPx[i]!)];
    return at.length > 0
      ? Math.hypot(Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys))
      : Number.NaN;
  }).filter(Number.isFinite);
  return spreads.length > 0 ? median(spreads) : 0;
}

/** A mark is where a hand clicked: not surer than this along one axis, pixels of the picture. */
const clickSdPx = 0.7;
/**
 * A mark lies on what covers the joint, which shifts about it as limbs turn: a standard deviation along one axis, as a share of the puppet's
 * size; hips lie deeper. In rendered shots of 250 mm puppets marked places were 0.6 to 0.9 mm off their joints in the median (hips 2.5), in
 * one of ten pictures 1.1 to 2.4 (hips 4).
 */
const [coverShare, hipCoverShare] = [0.004, 0.008];
const coverOf = (joint: Joint) => (joint.endsWith('Hip') ? hipCoverShare : coverShare);
/** A look that changes leads a point by so many times more beside a joint than it does beside itself: a joint has no look of its own. */
const doubtTimes = 2.5;
/** Where nothing moves a followed point goes astray by this share of the size from picture to picture, ... */
const restShare = 1e-4;
/** ... and where it moves, as a random walk along its way: variance for the way, a share of the size. Read from the same shots. */
const slipShare = 2.3e-4;
/** How sure a point is that was followed: less than the mark itself, whose confidence is 1. */
const followedConfidence = 0.9;

/** What a followed point errs by from one picture to another, along one axis, pixels. NaN where it was not seen in both. */
function followedStepSd({ xPx, yPx, sdPx }: SeenProp, from: number, to: number, sizePx: number): number {
  const way = Math.hypot(xPx[to]! - xPx[from]!, yPx[to]! - yPx[from]!);
  const doubt = doubtTimes ** 2 * Math.abs(sdPx[to]! ** 2 - sdPx[from]! ** 2);
  return Math.sqrt((restShare * sizePx) ** 2 + slipShare * sizePx * way + doubt);
}

/**
 * A point that was flung (a step of more than this share of the size) and looks otherwise since (beyond this standard deviation) may have been
 * picked up beside its joint. In rendered shots one in five of such places was more than 8 mm of 250 off, of the others one in twenty.
 */
const [flungShare, otherwiseShare] = [0.08, 1.4e-3];
/** It errs by so much more, as a standard deviation: a share of the size. */
const flungSdShare = 0.012;

/** Where a point was flung on its way from any mark. Shape [picture]; 1 = it was. */
function flungSinceMarks({ xPx, yPx, sdPx }: SeenProp, farPx: number): Uint8Array {
  const n = xPx.length;
  const flung = new Uint8Array(n).fill(1);
  for (const direction of [1, -1]) {
    let isKept = false;
    for (let i = direction > 0 ? 0 : n - 1; i >= 0 && i < n; i += direction) {
      const before = i - direction;
      if (sdPx[i] === 0) isKept = true;
      else if (!(Math.hypot(xPx[i]! - (xPx[before] ?? Number.NaN), yPx[i]! - yPx[before]!) <= farPx)) isKept = false;
      if (isKept) flung[i] = 0;
    }
  }
  return flung;
}

/**
 * A marked point as it was measured, nothing smoothed: what the hand did from exposure to exposure is what is looked for. Its confidence is
 * 1 in pictures in which a hand put it, and in no others.
 */
function asPath(point: SeenProp, coverShare: number, sizePx: number): JointPath {
  const { timesSec, xPx, yPx, sdPx } = point;
  const n = timesSec.length;
  const known = Array.from(xPx, (x, i) => !Number.isNaN(x + yPx[i]!));
  const flung = flungSinceMarks(point, flungShare * sizePx);
  const astraySd = (i: number) => (flung[i] && sdPx[i]! > otherwiseShare * sizePx ? flungSdShare * sizePx : 0);
  const sdAt = (i: number) => Math.hypot(doubtTimes * sdPx[i]!, clickSdPx, coverShare * sizePx, astraySd(i));
  return {
    xPx,
    yPx,
    vxPx: new Float64Array(n).fill(Number.NaN),
    vyPx: new Float64Array(n).fill(Number.NaN),
    sdPx: Float64Array.from(known, (is, i) => (is ? sdAt(i) : Number.NaN)),
    confidence: Float32Array.from(known, (is, i) => (is ? (sdPx[i] === 0 ? 1 : followedConfidence) : 0)),
    guessed: new Uint8Array(n),
  };
}
