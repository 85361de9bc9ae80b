import { fpsOf } from '../base/frameRate.ts';
import { type Joint, joints, type Part } from '../base/joints.ts';
import type { Key } from '../timing/timing.ts';
import type { Doubt, JointPath } from '../track/motion.ts';
import { type ArcFaultJson, arcFaultsJson } from './arcFaultsJson.ts';
import { type HitchJson, hitchesJson } from './hitchesJson.ts';
import { type LagJson, lagsJson, type PhaseJson, phasesJson } from './phasesJson.ts';
import type { Plan } from './plan.ts';
import { type PuppetJson, puppetJson } from './puppetJson.ts';
import { type RhythmJson, rhythmJson } from './rhythmJson.ts';
import { type TogetherJson, togetherJson } from './togetherJson.ts';
import { type WeightJson, weightJson } from './weightJson.ts';

/** A number, or null where nothing can be said: JSON has no NaN. */
type MaybeNumber = number | null;

/** One joint over the shot. Every array has one entry per frame. */
interface TrackJson {
  xPx: MaybeNumber[];
  yPx: MaybeNumber[];
  sdPx: MaybeNumber[];
  confidence: number[];
  guessed: boolean[];
}

/**
 * The open output, a contract with other programs: names and meanings do not change within a version. Times are take
 * seconds, pixels upright video pixels (y down), millimetres the puppet's, directions degrees clockwise from up, frames
 * from 0.
 */
export interface PlanJson {
  format: 'nudgebook-plan';
  version: 1;
  take: {
    name: string;
    widthPx: number;
    heightPx: number;
    durationSec: MaybeNumber;
    frameCount: number;
    medianFps: MaybeNumber;
    variableFrameRate: boolean;
    mirrored: boolean;
    startSec: MaybeNumber;
    endSec: MaybeNumber;
  };
  detector: { model: string; backend: string; millisecondsPerFrame: MaybeNumber; readSeconds: MaybeNumber };
  grid: { fps: MaybeNumber; fpsExact: [number, number]; frameCount: number; startSec: MaybeNumber };
  takeTimeSec: MaybeNumber[];
  tracks: Record<Joint, TrackJson>;
  keys: { frameIndex: number; takeSec: MaybeNumber; kind: Key['kind']; reasons: string[]; locked: boolean }[];
  holds: { firstFrame: number; frames: number; kind: 'hold' | 'movingHold' }[];
  exposures: { firstFrame: number; frames: number }[];
  moves: {
    exposure: number;
    joint: Part;
    distanceMm: MaybeNumber;
    roundedMm: MaybeNumber;
    directionDeg: MaybeNumber;
    sdMm: MaybeNumber;
    outOfPlane: boolean;
    /** Only where nothing tells how large things are, and there are no millimetres. */
    distancePx?: MaybeNumber;
    roundedPx?: MaybeNumber;
    sdPx?: MaybeNumber;
  }[];
  angles: {
    exposure: number;
    hinge: string;
    deg: MaybeNumber;
    changeDeg: MaybeNumber;
    roundedDeg: MaybeNumber;
  }[];
  phases: PhaseJson[];
  lags: LagJson[];
  rhythm: RhythmJson;
  /** Faults of the exposed poses, worst first. */
  arcFaults: ArcFaultJson[];
  puppet: PuppetJson;
  /** Moves laid anew from where the puppet was found to stand; those that are out of date have no key and nothing hangs on them. */
  replans: {
    fromFrame: number;
    frames: number;
    keyFrame: number | null;
    lateFrames: number;
    outdated: string;
  }[];
  /** Twinning and common stops. */
  together: TogetherJson[];
  /** Of the marked points and of the performer as a whole. */
  weight: WeightJson;
  /** What this puppet may not be able to do with its joints and limbs, worst first. */
  limits: HitchJson[];
  /** Where it does not stand by itself, worst first. */
  balance: HitchJson[];
  doubts: {
    code: Doubt['code'];
    joint: Joint | null;
    startSec: MaybeNumber;
    endSec: MaybeNumber;
    firstFrame: number;
    frames: number;
    sentence: string;
  }[];
}

/** The plan as the plain object of `plan.json`, ready for JSON.stringify. Never holds NaN, infinities or undefined. */
export function planJson(plan: Plan): PlanJson {
  const { footage, timing, detector, book } = plan;
  const { grid, choices } = timing;
  return {
    format: 'nudgebook-plan',
    version: 1,
    take: {
      name: footage.name,
      widthPx: footage.widthPx,
      heightPx: footage.heightPx,
      durationSec: said(footage.endSec, 6),
      frameCount: footage.timesSec.length,
      medianFps: said(footage.medianFps, 6),
      variableFrameRate: footage.variableFrameRate,
      mirrored: book.mirrored,
      startSec: said(choices.startSec, 6),
      endSec: said(choices.endSec, 6),
    },
    detector: {
      model: detector.model,
      backend: detector.backend,
      millisecondsPerFrame: said(detector.millisecondsPerFrame, 3),
      readSeconds: said(detector.readSeconds, 3),
    },
    grid: {
      fps: said(fpsOf(grid.rate), 9),
      fpsExact: [grid.rate.frames, grid.rate.seconds],
      frameCount: grid.frameCount,
      startSec: said(grid.startSec, 6),
    },
    takeTimeSec: column(timing.takeTimeSec, 6),
    tracks: Object.fromEntries(
      joints.map((joint) => [joint, trackJson(timing.motion.paths.get(joint), grid.frameCount)]),
    ) as Record<Joint, TrackJson>,
    keys: timing.keys.map((k) => ({
      frameIndex: k.frameIndex,
      takeSec: said(k.takeSec, 6),
      kind: k.kind,
      reasons: [...k.reasons],
      locked: k.locked,
    })),
    holds: timing.holds.map((h) => ({ firstFrame: h.firstFrame, frames: h.frames, kind: h.kind })),
    exposures: timing.exposures.map((e) => ({ firstFrame: e.firstFrame, frames: e.frames })),
    moves: plan.moves.map((m) => ({
      exposure: m.exposure,
      joint: m.joint,
      distanceMm: said(m.distanceMm, 4),
      roundedMm: said(m.roundedMm, 4),
      directionDeg: said(m.directionDeg, 2),
      sdMm: said(m.sdMm, 4),
      outOfPlane: m.outOfPlane,
      ...(m.px && {
        distancePx: said(m.px.distance, 4),
        roundedPx: said(m.px.rounded, 4),
        sdPx: said(m.px.sd, 4),
      }),
    })),
    angles: plan.angles.map((a) => ({
      exposure: a.exposure,
      hinge: a.hinge,
      deg: said(a.deg, 3),
      changeDeg: said(a.changeDeg, 3),
      roundedDeg: said(a.roundedDeg, 0),
    })),
    phases: phasesJson(plan),
    lags: lagsJson(plan),
    rhythm: rhythmJson(plan),
    arcFaults: arcFaultsJson(plan),
    puppet: puppetJson(plan),
    replans: plan.replans.map(({ choice, replan, outdated }) => ({
      fromFrame: choice.stance.firstFrame,
      frames: choice.stance.frames,
      keyFrame: replan?.key.frameIndex ?? null,
      lateFrames: said(replan?.lateFrames ?? 0, 2) ?? 0,
      outdated,
    })),
    together: togetherJson(plan),
    weight: weightJson(plan),
    ...hitchesJson(plan),
    doubts: plan.doubts.map((d) => ({
      code: d.code,
      joint: d.joint,
      startSec: said(d.startSec, 6),
      endSec: said(d.endSec, 6),
      firstFrame: d.firstFrame,
      frames: d.frames,
      sentence: d.sentence,
    })),
  };
}

/** Null for what cannot be said; else rounded to the digits that can mean something, which keeps the file small. */
function said(value: number, digits: number): MaybeNumber {
  if (!Number.isFinite(value)) return null;
  const scale = 10 ** digits;
  // + 0 turns −0 into 0.
  return Math.round(value * scale) / scale + 0;
}

function column(values: Iterable<number>, digits: number): MaybeNumber[] {
  return Array.from(values, (v) => said(v, digits));
}

function trackJson(path: JointPath | undefined, frameCount: number): TrackJson {
  const nothing = (): null[] => new Array<null>(frameCount).fill(null);
  if (!path)
    return {
      xPx: nothing(),
      yPx: nothing(),
      sdPx: nothing(),
      confidence: new Array<number>(frameCount).fill(0),
      guessed: new Array<boolean>(frameCount).fill(true),
    };
  return {
    xPx: column(path.xPx, 3),
    yPx: column(path.yPx, 3),
    sdPx: column(path.sdPx, 3),
    confidence: Array.from(path.confidence, (c) => said(c, 3) ?? 0),
    guessed: Array.from(path.guessed, (g) => g === 1),
  };
}
