import { fpsOf } from '../base/frameRate.ts';
import type { Joint } from '../base/joints.ts';
import { standingHeightMm } from '../puppet/profile.ts';
import {
  type EasedMove,
  easedMoves,
  evenFrame,
  type FrameSpan,
  laidEvenly,
  spansOf,
  type WentEvenly,
} from './evenMoves.ts';
import { isOffTime, type KeyTiming, knotFramesOf } from './keyTiming.ts';
import { errorsTogether, fitKeyWarp, handShare, type KeyWarp } from './keyWarp.ts';
import { knownIn, withoutLoneLimbs } from './loneLimbs.ts';
import { areJoined, judgedJoints } from './offRuns.ts';
import { columnAt, type JointPlaces } from './places.ts';
import { poseDistance, poseFeatures } from './poseFeatures.ts';
import { type Registration, type RegistrationChoice, register } from './registration.ts';
import { againstRests } from './rests.ts';
import type { PlannedShot } from './shot.ts';
import { partnersOf, warpSequences } from './warp.ts';

/** A shot laid over its plan in place and time. */
export interface ShotTime {
  readonly registration: Registration;
  readonly warp: KeyWarp;
  /** The plan's frame at each exposure by its keys alone, straight between them. Shape [exposure]. */
  readonly byKeys: Float64Array;
  /** Moves of the whole body, each as its furthest joint goes, that went in even steps where the plan eases. */
  readonly even: readonly EasedMove[];
}

/** The shot may be this much earlier or later than the plan for its poses to be found: frames at 24 fps. */
const searchFrames = 24;
/** Even steps are believed where they leave so much less of the squared, robust misfit. */
const evenGain = 8;

/**
 * Lays a shot over its plan: by pose, then in place, then its keys in time. Where a move that the plan eases went in even steps, its keys
 * would seem early or late though its ends are not: such moves are found first, and keys are timed by the plan with them in even steps.
 * @param seen pixels, without what the camera did. Shape [exposure].
 * @param planned millimetres, y down. Shape [frame].
 * @param frames first frame of each exposure.
 * @param lastFrame the last one of the plan that was shot.
 * @param stepSdsPx what joints' steps from the exposure before err by, pixels; empty = nobody knows.
 * @param unsure joints that say nothing of time.
 * @returns null where the joints or the frames known to both are too few.
 */
export function fitTime(
  seen: JointPlaces,
  planned: JointPlaces,
  plan: PlannedShot,
  frames: readonly number[],
  lastFrame: number,
  unsure: ReadonlySet<Joint>,
  stepSdsPx: ReadonlyMap<Joint, Float64Array>,
  choice: RegistrationChoice,
): ShotTime | null {
  const knots = knotFramesOf(plan.keys, plan.holds, frames[0]!, lastFrame);
  if (knots.length < 2) return null;
  const sizeMm = standingHeightMm(plan.motion.profile);
  const usual = timeKeys(planned);
  if (!usual) return null;
  const asPlanned = { ...usual, byKeys: usual.warp.planFrame, even: [] };
  const went = spansOf(plan.keys, plan.holds)
    .filter(({ to }) => to <= lastFrame)
    .flatMap((span) => wentEvenly(span, planned, usual.registration, frames, sizeMm) ?? []);
  if (went.length === 0) return asPlanned;
  const evenly = timeKeys(laidEvenly(planned, went));
  if (!evenly || evenly.warp.cost > usual.warp.cost - evenGain) return asPlanned;
  const even = went.flatMap(({ body }) => body ?? []);
  const byKeys = evenly.warp.planFrame;
  const planFrame = byKeys.map((f) => evenFrame(even, f));
  return {
    registration: register(seen, planned, planFrame, frames, choice)!,
    warp: { ...evenly.warp, planFrame },
    byKeys,
    even,
  };

  function sure({ count, at }: JointPlaces): JointPlaces {
    return { count, at: new Map([...at].filter(([joint]) => !unsure.has(joint))) };
  }

  function timeKeys(by: JointPlaces) {
    const first = matchByPose(seen, by, frames, lastFrame, fpsOf(plan.rate));
    const rough = register(seen, by, first, frames, choice);
    if (!rough) return null;
    const start = knots.map((knot) => latenessIn(first, frames, knot));
    const roughWarp = fitKeyWarp(sure(rough.places), rough.planned, frames, knots, start, sizeMm);
    const laid = laidFrom(by, roughWarp, null);
    // A limb far behind may have drawn the rest along to where nothing of it calls it back: it is asked from its own time, too.
    const fitBody = (body: JointPlaces) => {
      const fits = [laid.warp.knots.map((k) => k.late), knots.map(() => 0)].map((late) =>
        fitKeyWarp(body, laid.registration.planned, frames, knots, late, sizeMm),
      );
      return fits.reduce((a, b) => (b.cost < a.cost ? b : a));
    };
    const known = sure(laid.places);
    const body = withoutLoneLimbs(known, laid.registration.planned, laid.warp, fitBody);
    return body === known ? laid : laidFrom(by, fitBody(body), body);
  }

  /** Laid in place by its time so far, and timed again. @param body places known where they say something of time; null = everywhere. */
  function laidFrom(by: JointPlaces, before: KeyWarp, body: JointPlaces | null) {
    const registration = register(seen, by, before.planFrame, frames, choice)!;
    const late = before.knots.map((k) => k.late);
    const warpOf = (places: JointPlaces, from: readonly number[]) => {
      const told = sure(body ? knownIn(body, places) : places);
      return fitKeyWarp(told, registration.planned, frames, knots, from, sizeMm);
    };
    const { places, planned } = registration;
    const warp = warpOf(places, late);
    if (stepSdsPx.size === 0) return { registration, places, warp };
    const stepSds = new Map([...stepSdsPx].map(([joint, sd]) => [joint, sd.map((px) => px * registration.mmPerPx)]));
    const rested = againstRests(places, planned, warp.planFrame, plan.holds, stepSds, sizeMm);
    return {
      registration,
      places: rested,
      warp: warpOf(
        rested,
        warp.knots.map((k) => k.late),
      ),
    };
  }
}

/** The whole body went so where this share of the joints that go anywhere did. */
const bodyShare = 0.75;

/**
 * Which joints went in even steps between two stops of the plan, if its keys were met in time: each as it goes itself or as the joint does
 * that goes furthest. Null where that explains little.
 */
function wentEvenly(
  span: FrameSpan,
  planned: JointPlaces,
  { places, planned: laid }: Registration,
  frames: readonly number[],
  sizeMm: number,
): WentEvenly | null {
  const within = [...frames.keys()].filter((i) => frames[i]! > span.from && frames[i]! < span.to);
  const moves = easedMoves(planned, span, sizeMm);
  const [furthest] = moves;
  if (!furthest) return null;
  const laws = new Map<Joint, EasedMove>();
  let gained = 0;
  for (const joint of judgedJoints) {
    const misfit = (by: readonly EasedMove[]) =>
      misfitOf(joint, places, laid, within, (i) => evenFrame(by, frames[i]!), sizeMm);
    const asPlanned = misfit([]);
    const tried = moves
      .filter((move) => move === furthest || move.joint === joint || areJoined(move.joint, joint))
      .map((law) => ({ law, gain: asPlanned - misfit([law]) }));
    const best = tried.reduce((a, b) => (b.gain > a.gain ? b : a));
    if (!(best.gain > 0)) continue;
    laws.set(joint, best.law);
    gained += best.gain;
  }
  if (gained < evenGain) return null;
  const isBody = moves.filter((move) => laws.has(move.joint)).length >= bodyShare * moves.length;
  return { laws, body: isBody ? furthest : null };
}

/** A joint that lies off by more than so many standard deviations is off for another reason. */
const mostSds = 6;

/** Squares of what a joint lies off the plan in some exposures, in standard deviations, shared out as errors that last are. */
function misfitOf(
  joint: Joint,
  shot: JointPlaces,
  planned: JointPlaces,
  exposures: readonly number[],
  planFrameOf: (exposure: number) => number,
  sizeMm: number,
): number {
  const [at, plan] = [shot.at.get(joint), planned.at.get(joint)];
  if (!at || !plan) return 0;
  let sum = 0;
  for (const i of exposures) {
    const f = planFrameOf(i);
    const off = Math.hypot(at.x[i]! - columnAt(plan.x, f), at.y[i]! - columnAt(plan.y, f));
    const square = (off / Math.hypot(at.sd[i]!, handShare * sizeMm)) ** 2;
    if (!Number.isNaN(square)) sum += Math.min(mostSds ** 2, square) / errorsTogether;
  }
  return sum;
}

/** The plan's frame that each exposure shows, by directions of body pieces alone. Shape [exposure]. */
function matchByPose(
  seen: JointPlaces,
  planned: JointPlaces,
  frames: readonly number[],
  lastFrame: number,
  fps: number,
): Float64Array {
  const [a, b] = [poseFeatures(seen), poseFeatures(planned)];
  const firstFrame = Math.min(frames[0]!, lastFrame);
  const count = lastFrame - firstFrame + 1;
  // Each frame as it is on screen, so that a pose held longer counts for longer.
  const shown = new Int32Array(count);
  for (let k = 0; k < count; k++) shown[k] = frames.findLastIndex((f) => f <= firstFrame + k);
  const cost = (i: number, j: number) => {
    const distance = poseDistance(a, shown[i]!, b, firstFrame + j);
    // Of equally good ways, the one that keeps to the plan's time.
    return (Number.isNaN(distance) ? 1 : distance) + 0.002 * Math.abs(i - j);
  };
  const warp = warpSequences(count, count, cost, { window: (searchFrames * fps) / 24 });
  const partners = partnersOf(warp, count);
  return Float64Array.from(frames, (f) => firstFrame + partners[Math.min(count - 1, f - firstFrame)]!);
}

/** By how much a moment of the plan is late when exposures show these frames of it. */
function latenessIn(planFrame: ArrayLike<number>, frames: readonly number[], knot: number): number {
  let nearest = 0;
  for (let i = 0; i < frames.length; i++)
    if (Math.abs(planFrame[i]! - knot) < Math.abs(planFrame[nearest]! - knot)) nearest = i;
  // On twos a pose cannot be told to the frame: what is nearly on time is on time.
  const late = frames[nearest]! - planFrame[nearest]!;
  return Math.abs(late) < 2 ? 0 : late;
}

/**
 * Around keys that are early or late nobody knows how the time between was laid: there each exposure is taken for the plan's moment that it
 * shows best, within what the lateness allows.
 */
export function followLateKeys(
  shot: JointPlaces,
  planned: JointPlaces,
  warp: KeyWarp,
  keys: readonly KeyTiming[],
  sizeMm: number,
  onFrames: number,
): Float64Array {
  const out = warp.planFrame.slice();
  const spans = warp.knots.flatMap((knot, k): [number, number, number][] => {
    const { late } = knot;
    if (
      !isOffTime(knot, onFrames) &&
      !keys.some((key) => key.key.frameIndex === knot.frame && isOffTime(key, onFrames))
    )
      return [];
    return [[warp.knots[k - 1]?.frame ?? -1, warp.knots[k + 1]?.frame ?? Number.POSITIVE_INFINITY, Math.abs(late)]];
  });
  const judged = judgedJoints.flatMap((joint) => {
    const [seen, plan] = [shot.at.get(joint), planned.at.get(joint)];
    return seen && plan ? [{ seen, plan }] : [];
  });
  const hand = handShare * sizeMm;
  for (let i = 0; i < out.length; i++) {
    const slack = Math.max(0, ...spans.map(([from, to, late]) => (out[i]! > from && out[i]! < to ? late + 1 : 0)));
    if (slack === 0) continue;
    const least = Math.max(out[i]! - slack, i > 0 ? out[i - 1]! : 0);
    let [best, cost] = [out[i]!, Number.POSITIVE_INFINITY];
    for (let f = least; f <= out[i]! + slack; f += 0.125) {
      let sum = ((f - out[i]!) / slack) ** 2;
      const at = (column: Float64Array) => {
        const k = Math.max(0, Math.min(column.length - 1, f));
        const a = Math.floor(k);
        return column[a]! + (k - a) * ((column[a + 1] ?? column[a]!) - column[a]!);
      };
      for (const { seen, plan } of judged) {
        const off = Math.hypot(seen.x[i]! - at(plan.x), seen.y[i]! - at(plan.y)) / Math.hypot(seen.sd[i]!, hand);
        if (!Number.isNaN(off)) sum += Math.min(36, off * off);
      }
      if (sum < cost) [best, cost] = [f, sum];
    }
    out[i] = best;
  }
  return out;
}
