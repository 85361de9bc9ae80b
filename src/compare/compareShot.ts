import { fpsOf } from '../base/frameRate.ts';
import { type Joint, jointWords } from '../base/joints.ts';
import { standingHeightMm } from '../puppet/profile.ts';
import type { Exposure } from '../timing/timing.ts';
import { type Astray, findAstray, withoutAstray } from './astray.ts';
import { type Throughout, withoutThroughout } from './build.ts';
import { type CameraPath, readCamera } from './cameraEvents.ts';
import { type Deviation, listDeviations, type Off, offsFrom } from './deviations.ts';
import { spansOf } from './evenMoves.ts';
import { evenFinding, evenJointFindings, withoutEvenSteps } from './evenSteps.ts';
import { type Finding, mmWords, sortFindings, touches } from './finding.ts';
import { type KeyTiming, keyTimings, lateAt, timingFindings } from './keyTiming.ts';
import type { KeyWarp } from './keyWarp.ts';
import { type Mistaken, withoutMistaken } from './mistaken.ts';
import { compareMoves, type MoveComparison } from './moves.ts';
import { groupRuns, judgedJoints, type OffRun, offRuns } from './offRuns.ts';
import { ownFindings, plannedRow, spacingAndKneeFaults } from './ownFaults.ts';
import { type JointPlaces, mapPlaces, plannedPlaces } from './places.ts';
import { poseFindings } from './poseFindings.ts';
import { elsewhereShare, hardlySeen, unsureJoints, withoutPlaces } from './recognised.ts';
import { type Registration, type RegistrationChoice, usualRegistration } from './registration.ts';
import {
  exposurePlaces,
  exposureStepSds,
  framesOf,
  isByHand,
  type PlannedShot,
  type ShotPictures,
  usualFrames,
} from './shot.ts';
import { fitTime, followLateKeys, type ShotTime } from './shotTime.ts';
import { driftFindings, type Lasting, slideFindings } from './standFindings.ts';
import { stays } from './stays.ts';
import { withTurns } from './turns.ts';

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
   * first. Those that were marked by hand, and what carries them, too, are findings instead.
   */
  readonly leftOut: readonly Throughout[];
  /** Joints that a detector hardly knows on this puppet: only what they do from one picture to the next is judged, where that was followed. */
  readonly unsure: readonly Joint[];
  /** Where marked points seem to have left their joints: nothing is judged there, and the animator is asked. */
  readonly astray: readonly Astray[];
  /** Where a detector took left limbs for right ones, so that neither is judged. */
  readonly mistaken: readonly Mistaken[];
  /** Every joint in every exposure. */
  readonly deviations: readonly Deviation[];
  readonly moves: readonly MoveComparison[];
  /** Worst first. */
  readonly findings: readonly Finding[];
}

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
  const compared = compareAsSeen(plan, shot, choice);
  if (!compared || !shot.marked || shot.marked.size === 0) return compared;
  const { registration, planFrame } = compared;
  const byHand = (joint: Joint, i: number) => isByHand(shot, joint, i);
  const sizeMm = standingHeightMm(plan.motion.profile);
  const astray = findAstray(registration.places, registration.planned, planFrame, shot.marked, byHand, sizeMm);
  if (astray.length === 0) return compared;
  const without = compareAsSeen(plan, withoutAstray(shot, astray), choice);
  return without && { ...without, astray };
}

/** As `compareShot`, with every point believed. */
function compareAsSeen(plan: PlannedShot, shot: ShotPictures, choice: RegistrationChoice): Comparison | null {
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
  const stepSdsPx = exposureStepSds(shot);
  const time = fitTime(seen, planned, plan, frames, lastFrame, hardlySeen(shot), stepSdsPx, choice);
  if (!time) return null;
  const { registration, warp, byKeys } = time;
  const keys = keyTimings(warp, plan.keys);
  const planFrame = followLateKeys(registration.places, registration.planned, warp, keys, sizeMm, onFrames);

  const stepSds = new Map([...stepSdsPx].map(([joint, sd]) => [joint, sd.map((px) => px * registration.mmPerPx)]));
  const { offs: raw, mistaken } = withoutMistaken(
    offsFrom(registration.places, registration.planned, planFrame, stepSds),
    shot,
    sizeMm,
  );
  const slides = registration.kind === 'none' ? [] : slideFindings(raw, plan.motion, planFrame, exposures, sizeMm);
  // A foot that slid early is elsewhere in nearly all of the shot.
  const slid = (joint: Joint) => slides.some((s) => isOfLeg({ joint }, s.finding));
  const { offs, throughout } = withoutThroughout(raw, slid);
  const unsure = unsureJoints(shot, throughout, sizeMm);
  const body = bodyFindings(plan, time, withoutPlaces(offs, unsure, sizeMm), planFrame, slides, shot, sizeMm);
  const findings = [
    ...camera.findings,
    ...timingFindings(warp, keys, plan.holds, fps, onFrames),
    ...body,
    ...throughoutFindings(
      throughout.filter((t) => isMarkedWhole(t, shot)),
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
      .filter((t) => judgedJoints.includes(t.joint) && !isMarkedWhole(t, shot))
      .filter(({ sizeMm: size, sdMm }) => size > elsewhereShare * sizeMm && size > 4 * sdMm)
      .sort((a, b) => b.sizeMm - a.sizeMm),
    unsure: [...unsure],
    astray: [],
    mistaken,
    deviations: listDeviations(registration.places, registration.planned, planFrame, frames),
    moves: compareMoves(offs, registration.planned, plan.keys, byKeys, sizeMm),
    findings: withTurns(sortFindings(findings), offs, exposures, registration.kind),
  };
}

/** What the puppet does otherwise than planned, each told once: slides and drifts before the poses that they put off. */
function bodyFindings(
  plan: PlannedShot,
  time: ShotTime,
  matched: ReadonlyMap<Joint, Off>,
  planFrame: Float64Array,
  slides: readonly Lasting[],
  { exposures, marked }: ShotPictures,
  sizeMm: number,
): Finding[] {
  const { registration, byKeys } = time;
  const { planned } = registration;
  const runsOf = (offs: ReadonlyMap<Joint, Off>) =>
    judgedJoints.flatMap((joint) => {
      const off = offs.get(joint);
      return off ? withStays(offRuns(joint, off, sizeMm, marked?.has(joint) ?? true), stays(joint, off, sizeMm)) : [];
    });
  const spans = spansOf(plan.keys, plan.holds);
  const { offs, even } = withoutEvenSteps(matched, runsOf(matched), planned, spans, byKeys, sizeMm);
  const wholes = time.even.flatMap(
    (move) => evenFinding(move.joint, move, offs, planned, byKeys, exposures, sizeMm, true) ?? [],
  );
  const parts = even.filter(({ span }) => !time.even.some((move) => move.from === span.from));
  const drifts = driftFindings(offs, plan.holds, planFrame, exposures, sizeMm).filter(
    ({ finding }) => !slides.some((s) => isOfLeg(finding, s.finding) && touches(finding, s.finding)),
  );
  const lasting = [...slides, ...drifts];
  const groups = groupRuns(runsOf(offs)).filter(
    ({ main, all }) =>
      !lasting.some((l) => all.some((run) => isPutOff(run, l, exposures)) && main.size < 1.6 * l.finding.size),
  );
  const poses = poseFindings(groups, offs, registration.places, exposures, sizeMm);
  const evenly = [...wholes, ...evenJointFindings(parts, offs, planned, byKeys, exposures, sizeMm)];
  const told = [...lasting.map((l) => l.finding), ...poses, ...evenly];
  // What goes against the plan was found by the plan, which is surer; a body that hangs on its hips has no ground.
  const own = ownOf(plan, registration, planFrame, exposures, sizeMm).filter(
    (f) => !told.some((t) => touches(t, f, 3)),
  );
  return [...told, ...own];
}

/** What stays off tells more than the leaps at its ends. */
function withStays(runs: readonly OffRun[], staying: readonly OffRun[]): OffRun[] {
  const touched = (a: OffRun, b: OffRun) => a.first <= b.last + 1 && b.first <= a.last + 1;
  const kept = staying.filter((stay) => !runs.some((run) => !run.isPop && touched(run, stay)));
  return [...runs.filter((run) => !run.isPop || !kept.some((stay) => touched(run, stay))), ...kept];
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

/** Are both ends marked by hand? Where a detector placed one of them, the other may lie elsewhere on it for no fault of either. */
function isMarkedWhole({ joint, carrier }: Throughout, { marked }: ShotPictures): boolean {
  return marked === undefined || (marked.has(joint) && marked.has(carrier));
}

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
