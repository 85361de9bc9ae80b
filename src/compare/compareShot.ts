import { fpsOf } from '../base/frameRate.ts';
import { type Joint, jointWords } from '../base/joints.ts';
import { standingHeightMm } from '../puppet/profile.ts';
import type { Exposure } from '../timing/timing.ts';
import { type Throughout, withoutThroughout } from './build.ts';
import { type CameraPath, readCamera } from './cameraEvents.ts';
import { type Deviation, listDeviations, type Off, offsFrom } from './deviations.ts';
import { type Finding, mmWords, sortFindings, touches } from './finding.ts';
import { isOffTime, type KeyTiming, keyTimings, knotFramesOf, lateAt, timingFindings } from './keyTiming.ts';
import { fitKeyWarp, type KeyWarp } from './keyWarp.ts';
import { compareMoves, type MoveComparison } from './moves.ts';
import { groupRuns, judgedJoints, type OffRun, offRuns } from './offRuns.ts';
import { ownFindings, plannedRow, spacingAndKneeFaults } from './ownFaults.ts';
import { type JointPlaces, mapPlaces, plannedPlaces } from './places.ts';
import { poseDistance, poseFeatures } from './poseFeatures.ts';
import { poseFindings } from './poseFindings.ts';
import { type Registration, type RegistrationChoice, register, usualRegistration } from './registration.ts';
import { exposurePlaces, framesOf, type PlannedShot, type ShotPictures, usualFrames } from './shot.ts';
import { driftFindings, type Lasting, slideFindings } from './standFindings.ts';
import { withTurns } from './turns.ts';
import { partnersOf, warpSequences } from './warp.ts';

/** A shot held against its plan. */
export interface Comparison {
  readonly registration: Registration;
  readonly camera: CameraPath;
  readonly warp: KeyWarp;
  /** The plan's frame that each exposure shows, with fractions; rising. Shape [exposure]. */
  readonly planFrame: Float64Array;
  readonly keys: readonly KeyTiming[];
  /** The shot's exposures, as they were given. */
  readonly exposures: readonly Exposure[];
  /** What findings are judged by: each joint's way off its plan, without what is the same in all of the shot. */
  readonly offs: ReadonlyMap<Joint, Off>;
  /**
   * Joints that were found elsewhere on what carries them in all of the shot, by much, and are judged as if they were not: the furthest
   * first. Those that were marked by hand are findings instead.
   */
  readonly leftOut: readonly Throughout[];
  /** Every joint in every exposure. */
  readonly deviations: readonly Deviation[];
  readonly moves: readonly MoveComparison[];
  /** Worst first. */
  readonly findings: readonly Finding[];
}

/** The shot may be this much earlier or later than the plan for its poses to be found: frames at 24 fps. */
const searchFrames = 24;

/**
 * Holds a shot against its plan: lays it over the plan, matches it by pose, and lists where it differs by more than its measures err
 * by. What the camera did is taken out first. Frames of the shot are frames of the plan.
 * @returns null where the joints known to both are too few.
 */
export function compareShot(
  plan: PlannedShot,
  shot: ShotPictures,
  choice: RegistrationChoice = usualRegistration,
): Comparison | null {
  const { exposures } = shot;
  if (exposures.length < 2) return null;
  const frames = framesOf(exposures);
  const onFrames = usualFrames(exposures);
  const fps = fpsOf(plan.rate);
  const sizeMm = standingHeightMm(plan.motion.profile);
  const planned = plannedPlaces(plan.motion);
  const camera = readCamera(exposures, shot.pictures);
  const seen = mapPlaces(exposurePlaces(shot), (i, x, y, sd) => [x - camera.xPx[i]!, y - camera.yPx[i]!, sd]);
  const lastFrame = Math.min(planned.count - 1, exposures.at(-1)!.firstFrame + exposures.at(-1)!.frames - 1);
  const knots = knotFramesOf(plan.keys, plan.holds, frames[0]!, lastFrame);
  if (knots.length < 2) return null;

  const first = matchByPose(seen, planned, frames, lastFrame, fps);
  const rough = register(seen, planned, first, frames, choice);
  if (!rough) return null;
  const start = knots.map((knot) => latenessIn(first, frames, knot));
  const roughWarp = fitKeyWarp(rough.places, rough.planned, frames, knots, start, sizeMm);
  const registration = register(seen, planned, roughWarp.planFrame, frames, choice)!;
  const warp = fitKeyWarp(
    registration.places,
    registration.planned,
    frames,
    knots,
    roughWarp.knots.map((k) => k.late),
    sizeMm,
  );
  const keys = keyTimings(warp, plan.keys);
  const planFrame = followLateKeys(registration.places, registration.planned, warp, keys, sizeMm, onFrames);

  const raw = offsFrom(registration.places, registration.planned, planFrame);
  const slides = registration.kind === 'none' ? [] : slideFindings(raw, plan.motion, planFrame, exposures, sizeMm);
  // A foot that slid early is elsewhere in nearly all of the shot.
  const slid = (joint: Joint) => slides.some((s) => isOfLeg({ joint }, s.finding));
  const { offs, throughout } = withoutThroughout(raw, slid);
  const body = bodyFindings(plan, registration, offs, planFrame, slides, shot, sizeMm);
  const findings = [
    ...camera.findings,
    ...timingFindings(warp, keys, plan.holds, fps, onFrames),
    ...body,
    ...throughoutFindings(
      throughout.filter(({ joint }) => shot.marked?.has(joint) ?? true),
      exposures[0]!.firstFrame,
      lastFrame,
      sizeMm,
    ),
  ];
  return {
    registration,
    camera,
    warp,
    planFrame,
    keys,
    exposures,
    offs,
    leftOut: throughout
      .filter((t) => judgedJoints.includes(t.joint) && !(shot.marked?.has(t.joint) ?? true))
      .filter(({ sizeMm: size, sdMm }) => size > leftOutShare * sizeMm && size > 4 * sdMm)
      .sort((a, b) => b.sizeMm - a.sizeMm),
    deviations: listDeviations(registration.places, registration.planned, planFrame, frames),
    moves: compareMoves(offs, plan.keys, planFrame, sizeMm),
    findings: withTurns(sortFindings(findings), offs, exposures, registration.kind),
  };
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
function followLateKeys(
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
  const hand = 0.002 * sizeMm;
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

/** What the puppet does otherwise than planned, each told once: slides and drifts before the poses that they put off. */
function bodyFindings(
  plan: PlannedShot,
  registration: Registration,
  offs: ReadonlyMap<Joint, Off>,
  planFrame: Float64Array,
  slides: readonly Lasting[],
  { exposures, marked }: ShotPictures,
  sizeMm: number,
): Finding[] {
  const drifts = driftFindings(offs, plan.holds, planFrame, exposures, sizeMm).filter(
    ({ finding }) => !slides.some((s) => isOfLeg(finding, s.finding) && touches(finding, s.finding)),
  );
  const lasting = [...slides, ...drifts];
  const runs = judgedJoints.flatMap((joint) => {
    const off = offs.get(joint);
    return off ? offRuns(joint, off, sizeMm, marked?.has(joint) ?? true) : [];
  });
  const groups = groupRuns(runs).filter(
    ({ main, all }) =>
      !lasting.some((l) => all.some((run) => isPutOff(run, l, exposures)) && main.size < 1.6 * l.finding.size),
  );
  const poses = poseFindings(groups, offs, registration.places, exposures, sizeMm);
  const told = [...lasting.map((l) => l.finding), ...poses];
  // What goes against the plan was found by the plan, which is surer; a body that hangs on its hips has no ground.
  const own = ownOf(plan, registration, planFrame, exposures, sizeMm).filter(
    (f) => !told.some((t) => touches(t, f, 3)),
  );
  return [...told, ...own];
}

/** Is a joint off only because it slid or drifted, or hangs on what did? */
function isPutOff(run: OffRun, { finding, untilFrame }: Lasting, exposures: PlannedShot['exposures']): boolean {
  const isSame = finding.joint === run.joint || finding.also.includes(run.joint);
  if (!isSame && !(finding.kind === 'footSlide' && isOfLeg(run, finding))) return false;
  const end = exposures[run.last]!;
  return end.firstFrame + end.frames >= finding.firstFrame - 2 && exposures[run.first]!.firstFrame <= untilFrame;
}

function isOfLeg({ joint }: { readonly joint: Joint | null }, slide: Finding): boolean {
  const side = /^(left|right)/.exec(slide.joint ?? '')?.[1];
  return side !== undefined && new RegExp(`^${side}(Knee|Ankle|Heel|Toe|Hip)$`).test(joint ?? '');
}

function ownOf(
  plan: PlannedShot,
  { places, planned }: Registration,
  planFrame: Float64Array,
  exposures: PlannedShot['exposures'],
  sizeMm: number,
): Finding[] {
  const last = exposures.at(-1)!;
  const end = last.firstFrame + last.frames;
  const holds = plan.holds.filter((h) => h.firstFrame + h.frames <= end);
  const keys = plan.keys.filter((k) => k.frameIndex < end);
  const row = { exposures, keys, holds, rate: plan.rate, sizeMm };
  const planRow = plannedRow(planned, planFrame, places);
  const faultsOf = (of: JointPlaces) => spacingAndKneeFaults({ ...row, places: of });
  return ownFindings(faultsOf(places), faultsOf(planRow), sizeMm);
}

/** Joints that a detector finds elsewhere in all of the shot are spoken of from this share of the height on: it places some by as much anyway. */
const leftOutShare = 0.05;
/** Joints that are off in all of the shot by this share of the height are told: 2.5 mm of 250. */
const throughoutShare = 0.01;

function throughoutFindings(
  throughout: readonly Throughout[],
  firstFrame: number,
  lastFrame: number,
  sizeMm: number,
): Finding[] {
  return throughout.flatMap(({ joint, carrier, furtherMm, sizeMm: size, sdMm }): Finding[] => {
    if (!judgedJoints.includes(joint) || !(size > throughoutShare * sizeMm && size > 4 * sdMm)) return [];
    const how =
      Math.abs(furtherMm) > 0.7 * size
        ? `${mmWords(size)} ${furtherMm > 0 ? 'further from' : 'nearer to'} the ${jointWords(carrier)} than planned`
        : `${mmWords(size)} beside where the ${jointWords(carrier)} should carry it`;
    return [
      {
        kind: 'throughout',
        joint,
        also: [],
        firstFrame,
        frames: lastFrame - firstFrame + 1,
        atFrame: firstFrame,
        size,
        unit: 'mm',
        sd: sdMm,
        weight: 0.2,
        sentence: `The ${jointWords(joint)} lies ${how} in all of the shot: it is marked beside its joint, or the puppet is built otherwise than its profile says.`,
      },
    ];
  });
}

/** By how many frames the shot is late where it ends; negative = early. For going on from there. */
export function lateAtEnd({ warp }: Comparison): { late: number; sd: number } {
  return lateAt(warp, warp.knots.at(-1)!.frame);
}
