import { type DetectedJoint, detectedJoints, type Joint } from '../base/joints.ts';
import { finish, type Steps } from '../base/steps.ts';
import { type BodySize, limbs, measureBody, torsoShareOfHeight } from './bodySize.ts';
import { type Columns, copyColumns, exchangeAsTold, exchangeSides, numberOfJoint } from './columns.ts';
import { constructible } from './constructed.ts';
import type { Correction } from './correction.ts';
import { findDoubts } from './doubts.ts';
import { type FitGround, type FittedJoint, fitJoint } from './fitJoint.ts';
import type { Doubt, JointPath, Motion, SeenJoint, Tracks } from './motion.ts';
import { leastConfidence, quickSdAt, slowSdAt } from './noise.ts';
import type { PathPoint } from './posterior.ts';
import { isSomebodySeen } from './presence.ts';
import { median } from './quantile.ts';
import { readMotion } from './readMotion.ts';
import { findRepeats } from './repeats.ts';
import { type SettledSides, settleSides } from './sides.ts';
import { cell, checkSightings, type Sightings } from './sighting.ts';

/** How the take was filmed, as far as tracks care. */
export interface FitOptions {
  /** The picture is a mirror image (a selfie camera): the detector's left is the performer's right. Pixels stay as they are. */
  readonly mirrored?: boolean;
  /**
   * Each picture is a pose that a hand placed, as in a shot of a puppet. Nothing is believed of how a body goes from one to the next but
   * what the picture around a joint was seen to do: one pose that is off, or goes back, is not smoothed away, and pictures that are alike
   * are a hold. A detector, which knows people only, is believed less where it is unsure.
   */
  readonly byHand?: boolean;
}

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
interface Settled extends FitGround {
  readonly size: BodySize;
  readonly sides: SettledSides;
  /** The latest fits of each joint, newest first, with the corrections they were made under. */
  readonly fits: Map<DetectedJoint, { readonly key: string; readonly fit: FittedJoint | null }[]>;
  /** What each fit says at the take's own pictures, where doubts are looked for. */
  readonly atPictures: WeakMap<FittedJoint, JointPath>;
}

/** How many fits of a joint are kept: without its placements, as it stood, and as it is being dragged. */
const fitsKept = 4;

/**
 * Fits as `fitTracks` does and remembers the fits of joints that a correction does not touch, so that dragging one joint
 * fits that one alone. Sightings must not be written into between two fits of the same object.
 */
export class TrackFitter {
  /** Newest first: a correction that is undone needs nothing anew. */
  #known: readonly { readonly sightings: Sightings; readonly key: string; readonly settled: Settled }[] = [];

  /** See `fitTracks`. */
  fit(sightings: Sightings, corrections: readonly Correction[], options: FitOptions = {}): Tracks {
    return finish(this.steps(sightings, corrections, options));
  }

  /** The same, joint by joint. */
  *steps(sightings: Sightings, corrections: readonly Correction[], options: FitOptions = {}): Steps<Tracks> {
    const key = keyOf(corrections, options);
    const known = this.#settled(sightings, key);
    const settled = known ?? (yield* settle(sightings, corrections, options));
    if (!known) this.#known = [{ sightings, key, settled }, ...this.#known].slice(0, settledKept);
    return yield* tracksOf(sightings, settled, corrections);
  }

  /** Are so few joints left to fit that `fit` takes no longer than a picture on the screen or two? */
  isAtHand(sightings: Sightings, corrections: readonly Correction[], options: FitOptions = {}): boolean {
    const settled = this.#settled(sightings, keyOf(corrections, options));
    if (!settled) return false;
    const missing = detectedJoints.filter((joint) => !isFitted(joint, settled, corrections));
    return missing.length <= jointsAtHand;
  }

  #settled(sightings: Sightings, key: string): Settled | null {
    return this.#known.find((k) => k.sightings === sightings && k.key === key)?.settled ?? null;
  }
}

/** How many settlings are kept: as it is, and as it was before sides were exchanged. */
const settledKept = 2;
/** A dragged joint, and a partner that takes its side. */
const jointsAtHand = 2;

/** What settling hangs on besides the sightings. */
function keyOf(corrections: readonly Correction[], options: FitOptions): string {
  return JSON.stringify([
    options.mirrored ?? false,
    options.byHand ?? false,
    corrections.filter((c) => c.kind === 'swapSides'),
  ]);
}

function* settle(sightings: Sightings, corrections: readonly Correction[], options: FitOptions): Steps<Settled> {
  checkSightings(sightings);
  const columns = copyColumns(sightings);
  const n = columns.timesSec.length;
  if (options.mirrored) for (let i = 0; i < n; i++) exchangeSides(columns, i);
  const size = measureBody(columns);
  yield;
  const repeats = findRepeats(columns, size.torsoPx);
  const use = Uint8Array.from(repeats, (r) => (options.byHand ? 1 : 1 - r));
  yield;
  const [upperArm, , forearm, , thigh, , shank] = size.limbsPx as [
    number,
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  const sides = yield* settleSides(columns, use, size.torsoPx, [upperArm, forearm, thigh, shank]);
  yield;
  // The animator speaks of the sides that the screen shows, so this comes on top of the settling.
  exchangeAsTold(columns, corrections);
  const unitPx = scaleOf(size, sightings);
  yield;
  return {
    columns,
    size,
    use,
    sides,
    unitPx,
    stretched: stretchFactors(columns, size),
    byHand: options.byHand ?? false,
    fits: new Map(),
    atPictures: new WeakMap(),
  };
}

function* tracksOf(sightings: Sightings, settled: Settled, corrections: readonly Correction[]): Steps<Tracks> {
  const { columns, size, use, sides, unitPx } = settled;
  const fitted: FittedJoint[] = [];
  for (const joint of isAnybodyThere(columns, corrections) ? detectedJoints : []) {
    const one = fitOnce(joint, settled, corrections);
    if (one) fitted.push(one);
    yield;
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
      if (doubts) return doubts;
      const atPictures = readMotion(fitted, size.heightPx, gapSec, columns.timesSec, settled.atPictures);
      doubts = findDoubts({ sightings, columns, corrections, size, sides, fitted, atPictures });
      return doubts;
    },
  };
}

/** The corrections that a joint's fit hangs on. */
function ownOf(joint: DetectedJoint, corrections: readonly Correction[]): Correction[] {
  return corrections.filter((c) => (c.kind === 'place' || c.kind === 'hide') && c.joint === joint);
}

function isFitted(joint: DetectedJoint, settled: Settled, corrections: readonly Correction[]): boolean {
  const key = JSON.stringify(ownOf(joint, corrections));
  return settled.fits.get(joint)?.some((k) => k.key === key) ?? false;
}

/** The joint's fit under these corrections, remembered. */
function fitOnce(joint: DetectedJoint, settled: Settled, corrections: readonly Correction[]): FittedJoint | null {
  const own = ownOf(joint, corrections);
  const key = JSON.stringify(own);
  const known = settled.fits.get(joint) ?? [];
  const found = known.find((k) => k.key === key);
  const one = found ?? { key, fit: fitJoint(joint, settled, own, (without) => fitOnce(joint, settled, without)) };
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
    const errorPx = Math.hypot(quickSdAt(fit.joint, confidence), slowSdAt(fit.joint, confidence)) * unitPx;
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
