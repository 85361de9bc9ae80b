import { assert } from '../base/assert.ts';
import { type DetectedJoint, detectedJoints, type Joint } from '../base/joints.ts';
import { type BodySize, limbs, measureBody, torsoShareOfHeight } from './bodySize.ts';
import { type Columns, copyColumns, exchangeAsTold, exchangeSides, numberOfJoint } from './columns.ts';
import { constructible, constructJoints } from './constructed.ts';
import type { Correction } from './correction.ts';
import { findDoubts } from './doubts.ts';
import type { Doubt, JointPath, Motion, SeenJoint, Tracks } from './motion.ts';
import { accelerationDensity, leastConfidence, quickSdAt, slowErrorSec, slowSdAt, speedFactor } from './noise.ts';
import { type Influence, influencesOf, moveAlong } from './placements.ts';
import { isSomebodySeen } from './presence.ts';
import { median } from './quantile.ts';
import { findRepeats } from './repeats.ts';
import { type SettledSides, settleSides } from './sides.ts';
import { cell, checkSightings, type Sightings } from './sighting.ts';
import { type PathMeasures, type PathPoint, type SmoothPath, smoothPath } from './smoothPath.ts';

/** How the take was filmed, as far as tracks care. */
export interface FitOptions {
  /** The picture is a mirror image (a selfie camera): the detector's left is the performer's right. Pixels stay as they are. */
  readonly mirrored?: boolean;
}

/** One detected joint after fitting, with what is needed to say how far it can be trusted. */
export interface FittedJoint {
  readonly joint: DetectedJoint;
  readonly path: SmoothPath;
  /** Per knot of the path: the detector's confidence; 1 where placed, 0 where nothing was (to be) seen. */
  readonly confidence: Float64Array;
  /** Per knot: 1 where a measurement was there and believed. */
  readonly usable: Uint8Array;
  /** 1 where a sighting was there but leapt too far to be believed. Shape [picture]. */
  readonly disbelieved: Uint8Array;
  /** Per knot: factor on the path's standard deviation, from how fast the joint moves around it. */
  readonly sdFactor: Float64Array;
  /** The animator's placements, with how far each moves the path; no distance where nothing was seen to be moved. */
  readonly influences: readonly Influence[];
}

/** A joint seen in fewer pictures than this is not tracked. */
const leastPictures = 3;
/** A placed joint is to be where it was placed: nearer than a pointer can be held. */
const placedSdPx = 0.15;
/** Knots closer than this are one: they would only make the system stiff. */
const sameMomentSec = 0.002;
/** A sighting trusted less than this is a wild one. */
const believed = 0.15;
/** Speed is looked at this far around a moment, seconds: a limb that turns about is not at rest. */
const speedReachSec = 0.3;
/** A placement moves what was seen around it along; with no believed sighting this near there is nothing to move, seconds. */
const seenNearSec = 0.1;
/** A sighting further than this many of its own standard deviations from the path is one that the path does not follow. */
const followedWithin = 3.5;
/** A limb longer than its true length by this factor is a mistake of the detector's at one of its ends. */
const stretchAllowed = 1.25;

/**
 * Fits smooth tracks to sightings: sides settled, repeats left out, wild sightings down-weighted, gaps filled and marked.
 * Corrections are laid on top. Deterministic; linear in the number of pictures.
 *
 * With nobody in the take the tracks are empty (`joints` is empty, sizes are NaN) and the doubts say so.
 */
export function fitTracks(sightings: Sightings, corrections: readonly Correction[], options: FitOptions = {}): Tracks {
  return new TrackFitter().fit(sightings, corrections, options);
}

/** What does not hang on where joints are placed or hidden: fitted anew only when sides are exchanged or the take is read. */
interface Settled {
  readonly columns: Columns;
  readonly size: BodySize;
  readonly use: Uint8Array;
  readonly sides: SettledSides;
  readonly unitPx: number;
  readonly stretched: Float64Array;
  /** The latest fits of each joint, newest first, with the corrections they were made under. */
  readonly fits: Map<DetectedJoint, { readonly key: string; readonly fit: FittedJoint | null }[]>;
}

/** How many fits of a joint are kept: without its placements, as it stood, and as it is being dragged. */
const fitsKept = 4;

/**
 * Fits as `fitTracks` does and remembers the fits of joints that a correction does not touch, so that dragging one joint
 * fits that one alone. Sightings must not be written into between two fits of the same object.
 */
export class TrackFitter {
  #of: { readonly sightings: Sightings; readonly key: string; readonly settled: Settled } | null = null;

  /** See `fitTracks`. */
  fit(sightings: Sightings, corrections: readonly Correction[], options: FitOptions = {}): Tracks {
    const key = JSON.stringify([options.mirrored ?? false, corrections.filter((c) => c.kind === 'swapSides')]);
    if (this.#of?.sightings !== sightings || this.#of.key !== key)
      this.#of = { sightings, key, settled: settle(sightings, corrections, options) };
    return tracksOf(sightings, this.#of.settled, corrections);
  }
}

function settle(sightings: Sightings, corrections: readonly Correction[], options: FitOptions): Settled {
  checkSightings(sightings);
  const columns = copyColumns(sightings);
  const n = columns.timesSec.length;
  if (options.mirrored) for (let i = 0; i < n; i++) exchangeSides(columns, i);
  const size = measureBody(columns);
  const repeats = findRepeats(columns, size.torsoPx);
  const use = Uint8Array.from(repeats, (r) => 1 - r);
  const [upperArm, , forearm, , thigh, , shank] = size.limbsPx as [
    number,
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  const sides = settleSides(columns, use, size.torsoPx, [upperArm, forearm, thigh, shank]);
  // The animator speaks of the sides that the screen shows, so this comes on top of the settling.
  exchangeAsTold(columns, corrections);
  const unitPx = scaleOf(size, sightings);
  return { columns, size, use, sides, unitPx, stretched: stretchFactors(columns, size), fits: new Map() };
}

function tracksOf(sightings: Sightings, settled: Settled, corrections: readonly Correction[]): Tracks {
  const { columns, size, use, sides, unitPx } = settled;
  const fitted: FittedJoint[] = [];
  for (const joint of isAnybodyThere(columns, corrections) ? detectedJoints : []) {
    const one = fitOnce(joint, settled, corrections);
    if (one) fitted.push(one);
  }
  const tracked = new Set<string>(fitted.map((f) => f.joint));
  const joints: Joint[] = [...fitted.map((f) => f.joint), ...constructible(tracked)];
  const gapSec = gapThresholdSec(columns.timesSec);
  const at = (timesSec: Float64Array): Motion => readMotion(fitted, size.heightPx, gapSec, timesSec);
  let doubts: readonly Doubt[] | null = null;
  return {
    timesSec: columns.timesSec,
    bodyHeightPx: size.heightPx,
    torsoPx: size.torsoPx,
    joints,
    at,
    seen: (joint) => seenJoint(joint, columns, use, fitted, corrections, unitPx),
    // Not needed while a joint is being dragged.
    get doubts() {
      doubts ??= findDoubts({ sightings, columns, corrections, size, sides, fitted, atPictures: at(columns.timesSec) });
      return doubts;
    },
  };
}

/** The joint's fit under these corrections, remembered. */
function fitOnce(joint: DetectedJoint, settled: Settled, corrections: readonly Correction[]): FittedJoint | null {
  const own = corrections.filter((c) => (c.kind === 'place' || c.kind === 'hide') && c.joint === joint);
  const key = JSON.stringify(own);
  const known = settled.fits.get(joint) ?? [];
  const found = known.find((k) => k.key === key);
  const one = found ?? { key, fit: fitJoint(joint, settled, own) };
  // Read again: fitting may have remembered the joint without its placements.
  const others = (settled.fits.get(joint) ?? []).filter((k) => k !== one);
  settled.fits.set(joint, [one, ...others].slice(0, fitsKept));
  return one.fit;
}

function seenJoint(
  joint: Joint,
  c: Columns,
  use: Uint8Array | readonly number[],
  fitted: readonly FittedJoint[],
  corrections: readonly Correction[],
  unitPx: number,
): SeenJoint | null {
  const fit = fitted.find((f) => f.joint === joint);
  if (!fit) return null;
  const j = numberOfJoint(fit.joint);
  const isHidden = (sec: number): boolean =>
    corrections.some((k) => k.kind === 'hide' && k.joint === joint && sec >= k.startSec && sec <= k.endSec);
  const column = (of: Float64Array): Float64Array =>
    c.timesSec.map((sec, i) =>
      use[i] === 1 && c.confidence[cell(i, j)]! > 0 && !isHidden(sec) ? of[cell(i, j)]! : Number.NaN,
    );
  const point: PathPoint = { xPx: 0, yPx: 0, vxPx: 0, vyPx: 0, sdPx: 0 };
  const isFollowed = (sec: number, at: number): boolean => {
    const confidence = c.confidence[at]!;
    if (confidence < leastConfidence) return false;
    fit.path.read(sec, point);
    const errorPx = Math.hypot(quickSdAt(confidence), slowSdAt(fit.joint, confidence)) * unitPx;
    return Math.hypot(c.xPx[at]! - point.xPx, c.yPx[at]! - point.yPx) <= followedWithin * errorPx;
  };
  return {
    timesSec: c.timesSec,
    xPx: column(c.xPx),
    yPx: column(c.yPx),
    believed: Uint8Array.from(c.timesSec, (sec, i) => (isFollowed(sec, cell(i, j)) ? 1 : 0)),
    influences: fit.influences,
  };
}

/** Somebody must be made out for this long in all, seconds, or for half of a shorter take: a lamp is taken for a head at most at a glance. */
const leastPresenceSec = 0.25;

/**
 * Detectors see a faint body in any room. Unless several of its joints are made out for a while, nobody is there; where
 * the animator has placed a joint, somebody is.
 */
function isAnybodyThere(columns: Columns, corrections: readonly Correction[]): boolean {
  if (corrections.some((c) => c.kind === 'place')) return true;
  const t = columns.timesSec;
  const last = t.length - 1;
  if (last < 1) return false;
  let presentSec = 0;
  // Each picture stands for half the time to its neighbours.
  for (let i = 0; i <= last; i++)
    if (isSomebodySeen(columns, i)) presentSec += (t[Math.min(last, i + 1)]! - t[Math.max(0, i - 1)]!) / 2;
  return presentSec >= Math.min(leastPresenceSec, (t[last]! - t[0]!) / 2);
}

/** The torso length that noise and accelerations are measured in: from the body's height, so that a bow does not shrink it. */
function scaleOf(size: BodySize, s: Sightings): number {
  const px = size.heightPx * torsoShareOfHeight;
  return px > 0 ? px : 0.15 * Math.min(s.widthPx, s.heightPx);
}

/** A gap longer than this is filled by guessing, seconds: three pictures, never less than 0.12 s. */
function gapThresholdSec(timesSec: Float64Array): number {
  if (timesSec.length < 2) return 0.12;
  return Math.max(0.12, 3 * median(timesSec.subarray(1).map((t, i) => t - timesSec[i]!)));
}

/**
 * By how much each sighting's sd is widened because its limb is longer than it can be. Shape [picture × joint]. The outer
 * end takes the blame: detectors lose hands and feet sooner than elbows and knees.
 */
function stretchFactors(c: Columns, size: BodySize): Float64Array {
  const factors = new Float64Array(c.confidence.length).fill(1);
  limbs.forEach((limb, k) => {
    const long = size.limbsPx[k]! * stretchAllowed;
    if (!(long > 0)) return;
    const from = numberOfJoint(limb.from);
    const to = numberOfJoint(limb.to);
    for (let i = 0; i < c.timesSec.length; i++) {
      const p = cell(i, from);
      const q = cell(i, to);
      if (c.confidence[p]! < leastConfidence || c.confidence[q]! < leastConfidence) continue;
      const over = Math.hypot(c.xPx[p]! - c.xPx[q]!, c.yPx[p]! - c.yPx[q]!) / long;
      if (over > 1) factors[q] = Math.max(factors[q]!, over ** 4);
    }
  });
  return factors;
}

/** Fits one joint, or null when it is seen too seldom. */
function fitJoint(joint: DetectedJoint, settled: Settled, corrections: readonly Correction[]): FittedJoint | null {
  const { columns: c, use, stretched, unitPx } = settled;
  const j = numberOfJoint(joint);
  const placements = corrections
    .filter((k) => k.kind === 'place' && k.joint === joint)
    .map((k) => (k.kind === 'place' ? k : null)!)
    .sort((a, b) => a.takeSec - b.takeSec)
    // The later word of two at one moment wins.
    .filter((p, i, all) => !(i + 1 < all.length && all[i + 1]!.takeSec - p.takeSec < sameMomentSec));
  const unplaced = corrections.filter((k) => k.kind !== 'place' || k.joint !== joint);
  const before = placements.length > 0 ? fitOnce(joint, settled, unplaced) : null;
  const influences = influencesOf(placements).map((one) =>
    before && isSeenNear(before, one.placement.takeSec)
      ? one
      : { ...one, fromSec: one.placement.takeSec, toSec: one.placement.takeSec },
  );
  const hides = corrections.filter((k) => k.kind === 'hide' && k.joint === joint);
  const hidden = (t: number): boolean => hides.some((k) => k.kind === 'hide' && t >= k.startSec && t <= k.endSec);
  interface Knot {
    sec: number;
    x: number;
    y: number;
    variance: number;
    slowSd: number;
    placed: 0 | 1;
    confidence: number;
  }
  const knots: Knot[] = [];
  let seen = 0;
  for (let i = 0; i < c.timesSec.length; i++) {
    const at = cell(i, j);
    const sec = c.timesSec[i]!;
    const confidence = use[i] === 1 && !hidden(sec) ? c.confidence[at]! : 0;
    const sd = quickSdAt(confidence) * stretched[at]! * unitPx;
    if (Number.isFinite(sd)) seen++;
    knots.push({
      sec,
      x: c.xPx[at]!,
      y: c.yPx[at]!,
      variance: sd * sd,
      slowSd: slowSdAt(joint, confidence) * stretched[at]! * unitPx,
      placed: 0,
      confidence: Number.isFinite(sd) ? confidence : 0,
    });
  }
  for (const p of placements) {
    const knot: Knot = {
      sec: p.takeSec,
      x: p.xPx,
      y: p.yPx,
      variance: placedSdPx ** 2,
      slowSd: 0,
      placed: 1,
      confidence: 1,
    };
    const same = knots.findIndex((k) => Math.abs(k.sec - p.takeSec) < sameMomentSec);
    if (same >= 0) knots[same] = { ...knot, sec: knots[same]!.sec };
    else {
      const after = knots.findIndex((k) => k.sec > p.takeSec);
      knots.splice(after < 0 ? knots.length : after, 0, knot);
    }
  }
  if (knots.length < 2 || (seen < leastPictures && placements.length === 0)) return null;
  const measures: PathMeasures = {
    timesSec: Float64Array.from(knots, (k) => k.sec),
    xPx: Float64Array.from(knots, (k) => k.x),
    yPx: Float64Array.from(knots, (k) => k.y),
    variancePx2: Float64Array.from(knots, (k) => k.variance),
    slowSdPx: Float64Array.from(knots, (k) => k.slowSd),
    placed: Uint8Array.from(knots, (k) => k.placed),
  };
  const path = smoothPath(before ? moveAlong(measures, influences, before.path) : measures, {
    densityPx2S3: accelerationDensity * unitPx * unitPx,
    slowSec: slowErrorSec,
  });
  return {
    joint,
    path,
    confidence: Float64Array.from(knots, (k) => k.confidence),
    disbelieved: disbelievedPictures(path, c.timesSec),
    sdFactor: sdFactors(path, unitPx),
    usable: Uint8Array.from(knots, (k, i) => (k.confidence > 0 && path.trust[i]! >= believed ? 1 : 0)),
    influences,
  };
}

/** Is there a believed sighting near this time? */
function isSeenNear(f: FittedJoint, sec: number): boolean {
  return f.path.timesSec.some((t, k) => f.usable[k] === 1 && Math.abs(t - sec) <= seenNearSec);
}

/** Pictures whose sighting the path did not believe; knots that the animator added lie between them. */
function disbelievedPictures(path: SmoothPath, picturesSec: Float64Array): Uint8Array {
  let knot = 0;
  return Uint8Array.from(picturesSec, (sec) => {
    while (path.timesSec[knot]! < sec) knot++;
    return path.trust[knot]! < believed ? 1 : 0;
  });
}

/** `speedFactor` of the root mean square speed around each knot. */
function sdFactors(path: SmoothPath, unitPx: number): Float64Array {
  const t = path.timesSec;
  const point: PathPoint = { xPx: 0, yPx: 0, vxPx: 0, vyPx: 0, sdPx: 0 };
  const sums = new Float64Array(t.length + 1);
  for (let k = 0; k < t.length; k++) {
    path.read(t[k]!, point);
    sums[k + 1] = sums[k]! + point.vxPx ** 2 + point.vyPx ** 2;
  }
  let from = 0;
  let to = 0;
  return t.map((sec) => {
    while (t[from]! < sec - speedReachSec) from++;
    while (to < t.length && t[to]! <= sec + speedReachSec) to++;
    return speedFactor(Math.sqrt((sums[to]! - sums[from]!) / (to - from)) / unitPx);
  });
}

function readMotion(
  fitted: readonly FittedJoint[],
  bodyHeightPx: number,
  gapSec: number,
  timesSec: Float64Array,
): Motion {
  for (let i = 1; i < timesSec.length; i++)
    assert(timesSec[i]! > timesSec[i - 1]!, `tracks asked at times that do not rise (entry ${i})`);
  const paths = new Map<Joint, JointPath>();
  for (const f of fitted) paths.set(f.joint, readJoint(f, gapSec, timesSec));
  constructJoints(paths, bodyHeightPx);
  return { timesSec, paths };
}

function readJoint(f: FittedJoint, gapSec: number, timesSec: Float64Array): JointPath {
  const n = timesSec.length;
  const path: JointPath = {
    xPx: new Float64Array(n),
    yPx: new Float64Array(n),
    vxPx: new Float64Array(n),
    vyPx: new Float64Array(n),
    sdPx: new Float64Array(n),
    confidence: new Float32Array(n),
    guessed: new Uint8Array(n),
  };
  const knots = f.path.timesSec;
  const point: PathPoint = { xPx: 0, yPx: 0, vxPx: 0, vyPx: 0, sdPx: 0 };
  const good = Array.from(knots.keys()).filter((k) => f.usable[k] === 1);
  let next = 0;
  let high = 0;
  for (let i = 0; i < n; i++) {
    const t = timesSec[i]!;
    f.path.read(t, point);
    path.xPx[i] = point.xPx;
    path.yPx[i] = point.yPx;
    path.vxPx[i] = point.vxPx;
    path.vyPx[i] = point.vyPx;
    while (next < good.length && knots[good[next]!]! < t) next++;
    const before = next > 0 ? knots[good[next - 1]!]! : Number.NEGATIVE_INFINITY;
    const after = next < good.length ? knots[good[next]!]! : Number.POSITIVE_INFINITY;
    // In a long gap, but not in the single step beside a good sighting.
    path.guessed[i] = after - before > gapSec && Math.min(t - before, after - t) > gapSec / 3 ? 1 : 0;
    while (high < knots.length - 1 && knots[high]! < t) high++;
    const low = Math.max(0, high - 1);
    const span = knots[high]! - knots[low]!;
    const u = span > 0 ? Math.min(1, Math.max(0, (t - knots[low]!) / span)) : 1;
    path.confidence[i] = f.confidence[low]! * (1 - u) + f.confidence[high]! * u;
    path.sdPx[i] = point.sdPx * (f.sdFactor[low]! * (1 - u) + f.sdFactor[high]! * u);
  }
  return path;
}
