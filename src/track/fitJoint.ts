import type { DetectedJoint } from '../base/joints.ts';
import type { Columns } from './columns.ts';
import { numberOfJoint } from './columns.ts';
import type { Correction, Placement } from './correction.ts';
import {
  accelerationDensity,
  doubtInPuppet,
  followedDensityFactor,
  quickSdAt,
  slowErrorSec,
  slowSdAt,
  speedFactor,
  stepSdAt,
} from './noise.ts';
import { type Influence, influencesOf, moveAlong } from './placements.ts';
import type { PathPoint } from './posterior.ts';
import { cell } from './sighting.ts';
import { type PathMeasures, type SmoothPath, type StepMeasures, smoothPath } from './smoothPath.ts';

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

/** What the joints of one take are fitted from, the same for all of them. */
export interface FitGround {
  /** After sides were settled. */
  readonly columns: Columns;
  /** 0 = the picture repeats the one before it and is passed over. Shape [picture]. */
  readonly use: Uint8Array;
  /** Factor on the sd of each sighting, for limbs that look too long. Shape [picture × joint]. */
  readonly stretched: Float64Array;
  /** The torso length that noise and accelerations are measured in, pixels. */
  readonly unitPx: number;
  /** Each picture is a pose of its own: no path is believed in between them. */
  readonly byHand: boolean;
}

/** Factor on the density of accelerations where a hand places each pose: so large that the path goes through what was seen. */
const byHandFactor = 1e6;
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

/** One moment of the path: a picture, or a placement between pictures. */
interface Knot {
  readonly sec: number;
  /** NaN where nothing was seen. */
  readonly x: number;
  readonly y: number;
  /** Of the quick error, px²; Infinity = says nothing. */
  readonly variance: number;
  readonly slowSd: number;
  readonly placed: 0 | 1;
  readonly confidence: number;
}

/**
 * Fits one joint, or null when it is seen too seldom.
 * @param own   The corrections of this joint.
 * @param refit Fits it again under fewer corrections: where placements move the path, it is asked where it was without.
 */
export function fitJoint(
  joint: DetectedJoint,
  ground: FitGround,
  own: readonly Correction[],
  refit: (own: readonly Correction[]) => FittedJoint | null,
): FittedJoint | null {
  const placements = own
    .filter((c): c is Placement => c.kind === 'place')
    .sort((a, b) => a.takeSec - b.takeSec)
    // The later word of two at one moment wins.
    .filter((p, i, all) => !(i + 1 < all.length && all[i + 1]!.takeSec - p.takeSec < sameMomentSec));
  const hides = own.filter((c) => c.kind === 'hide');
  const hidden = (t: number): boolean => hides.some((c) => t >= c.startSec && t <= c.endSec);
  const before = placements.length > 0 ? refit(hides) : null;
  const influences = influencesOf(placements).map((one) =>
    before && isSeenNear(before, one.placement.takeSec)
      ? one
      : { ...one, fromSec: one.placement.takeSec, toSec: one.placement.takeSec },
  );
  const knots = knotsOf(joint, ground, placements, hidden);
  const seen = knots.filter((k) => k.placed === 0 && k.confidence > 0).length;
  if (knots.length < 2 || (seen < leastPictures && placements.length === 0)) return null;
  const steps = { steps: stepsOf(joint, ground, knots, hidden) };
  const measures: PathMeasures = {
    timesSec: Float64Array.from(knots, (k) => k.sec),
    xPx: Float64Array.from(knots, (k) => k.x),
    yPx: Float64Array.from(knots, (k) => k.y),
    variancePx2: Float64Array.from(knots, (k) => k.variance),
    slowSdPx: Float64Array.from(knots, (k) => k.slowSd),
    placed: Uint8Array.from(knots, (k) => k.placed),
    ...steps,
  };
  const path = smoothPath(before ? moveAlong(measures, influences, before.path) : measures, {
    densityPx2S3: (ground.byHand ? byHandFactor : 1) * accelerationDensity * ground.unitPx ** 2,
    steppedDensityFactor: followedDensityFactor,
    slowSec: slowErrorSec,
  });
  return {
    joint,
    path,
    confidence: Float64Array.from(knots, (k) => k.confidence),
    disbelieved: disbelievedPictures(path, ground.columns.timesSec),
    sdFactor: sdFactors(path, ground.unitPx),
    usable: Uint8Array.from(knots, (k, i) => (k.confidence > 0 && path.trust[i]! >= believed ? 1 : 0)),
    influences,
  };
}

/** Every picture and every placement, in order of time. */
function knotsOf(
  joint: DetectedJoint,
  { columns: c, use, stretched, unitPx, byHand }: FitGround,
  placements: readonly Placement[],
  hidden: (sec: number) => boolean,
): Knot[] {
  const j = numberOfJoint(joint);
  const knots: Knot[] = [];
  for (let i = 0; i < c.timesSec.length; i++) {
    const at = cell(i, j);
    const sec = c.timesSec[i]!;
    const confidence = use[i] === 1 && !hidden(sec) ? c.confidence[at]! : 0;
    const doubt = byHand ? doubtInPuppet(confidence) : 1;
    const sd = quickSdAt(joint, confidence) * stretched[at]! * doubt * unitPx;
    knots.push({
      sec,
      x: c.xPx[at]!,
      y: c.yPx[at]!,
      variance: sd * sd,
      slowSd: slowSdAt(joint, confidence) * stretched[at]! * doubt * unitPx,
      placed: 0,
      confidence: Number.isFinite(sd) ? confidence : 0,
    });
  }
  for (const p of placements) {
    const variance = placedSdPx ** 2;
    const knot: Knot = { sec: p.takeSec, x: p.xPx, y: p.yPx, variance, slowSd: 0, placed: 1, confidence: 1 };
    const same = knots.findIndex((k) => Math.abs(k.sec - p.takeSec) < sameMomentSec);
    if (same >= 0) knots[same] = { ...knot, sec: knots[same]!.sec };
    else {
      const after = knots.findIndex((k) => k.sec > p.takeSec);
      knots.splice(after < 0 ? knots.length : after, 0, knot);
    }
  }
  return knots;
}

/**
 * The steps between knots, from how far the picture went around the joint. Over a picture that repeats the one before it
 * the camera's time passed but nothing was seen to move: nothing is said there. A step with a placement inside is shared
 * out by time, as of a joint at even speed: good for a thirtieth of a second.
 */
function stepsOf(
  joint: DetectedJoint,
  { columns: c, use, unitPx }: FitGround,
  knots: readonly Knot[],
  hidden: (sec: number) => boolean,
): StepMeasures {
  const j = numberOfJoint(joint);
  const dxPx = new Float64Array(knots.length);
  const dyPx = new Float64Array(knots.length);
  const variancePx2 = new Float64Array(knots.length).fill(Number.POSITIVE_INFINITY);
  let k = 0;
  for (let i = 0; i + 1 < c.timesSec.length; i++) {
    const from = c.timesSec[i]!;
    const to = c.timesSec[i + 1]!;
    while (k + 1 < knots.length && knots[k]!.sec < from) k++;
    const at = cell(i, j);
    const dx = c.onwardXPx[at]!;
    const dy = c.onwardYPx[at]!;
    const sd = stepSdAt(c.onwardSdPx[at]!, Math.hypot(dx, dy), c.confidence[at]!, unitPx);
    if (!Number.isFinite(sd) || use[i] === 0 || use[i + 1] === 0 || hidden(from) || hidden(to)) continue;
    for (let m = k + 1; m < knots.length && knots[m]!.sec <= to; m++) {
      const share = (knots[m]!.sec - knots[m - 1]!.sec) / (to - from);
      dxPx[m] = share * dx;
      dyPx[m] = share * dy;
      variancePx2[m] = share * sd * sd;
    }
  }
  return { dxPx, dyPx, variancePx2 };
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
