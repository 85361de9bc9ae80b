import type { Footage } from '../../src/base/footage.ts';
import { gridTimesSec } from '../../src/base/frameGrid.ts';
import { type FrameRate, frameStartSec } from '../../src/base/frameRate.ts';
import { cocoJoints, constructedJoints, type Joint, type Part } from '../../src/base/joints.ts';
import { buildPlan, type Plan } from '../../src/plan/plan.ts';
import { type Book, choicesOf, newBook } from '../../src/project/book.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import type { Hitch } from '../../src/puppet/hitch.ts';
import { standingHeightMm } from '../../src/puppet/profile.ts';
import { makeTimeMap, ownTiming } from '../../src/timing/timeMap.ts';
import type { Exposure, Hold, Key, OnFrames, Timing } from '../../src/timing/timing.ts';
import type { Doubt, JointPath, Motion, Tracks } from '../../src/track/motion.ts';
import { emptySightingColumns, type Sightings } from '../../src/track/sighting.ts';

/** What a detector of the COCO joints alone gives. */
const joints: readonly Joint[] = [...cocoJoints, ...constructedJoints];

/** What to make. Everything has a default. */
export interface MadeShot {
  readonly frameCount?: number;
  readonly rate?: FrameRate;
  readonly on?: OnFrames;
  readonly book?: Partial<Book>;
  readonly doubts?: readonly Doubt[];
}

/** As many parts as a sheet may print: the hardest case for its columns. */
export const twelveParts: readonly Joint[] = [
  'nose',
  'leftShoulder',
  'rightShoulder',
  'leftElbow',
  'rightElbow',
  'leftWrist',
  'rightWrist',
  'pelvis',
  'leftKnee',
  'rightKnee',
  'leftAnkle',
  'rightAnkle',
];

interface PoseAngles {
  /** Where the pelvis is, pixels from the middle. */
  readonly shift: number;
  readonly crouch: number;
  /** Degrees, clockwise as seen; 0 = hanging or standing straight. */
  readonly lean: number;
  readonly head: number;
  readonly leftArm: number;
  readonly leftForearm: number;
  readonly rightArm: number;
  readonly rightForearm: number;
}

const rest: PoseAngles = {
  shift: 0,
  crouch: 0,
  lean: 0,
  head: 0,
  leftArm: -8,
  leftForearm: -14,
  rightArm: 8,
  rightForearm: 14,
};

/** A keeper bends to an oil can, lifts it, hears something and turns: told by a few poses. Fractions of the shot. */
const story: readonly { at: number; name: string; why: string; pose: PoseAngles }[] = [
  { at: 0, name: 'stands', why: 'opens the shot', pose: rest },
  { at: 0.12, name: '', why: 'holds here for 12 frames', pose: { ...rest, shift: 3 } },
  {
    at: 0.3,
    name: 'bends to the can',
    why: 'right wrist turns at its lowest',
    pose: { ...rest, shift: 14, crouch: 36, lean: 38, head: 20, rightArm: -30, rightForearm: -38, leftArm: 20 },
  },
  {
    at: 0.36,
    name: '',
    why: 'hands stop, hips go on',
    pose: { ...rest, shift: 16, crouch: 40, lean: 40, head: 24, rightArm: -33, rightForearm: -40, leftArm: 26 },
  },
  {
    at: 0.58,
    name: 'lifts',
    why: 'whole body rises, right wrist turns',
    pose: { ...rest, shift: -10, lean: -9, head: -6, rightArm: -52, rightForearm: -108, leftArm: 30, leftForearm: 40 },
  },
  {
    at: 0.78,
    name: 'hears it',
    why: 'holds here for 18 frames',
    pose: { ...rest, shift: -6, lean: -4, head: 28, rightArm: -40, rightForearm: -95, leftArm: 34, leftForearm: 62 },
  },
  {
    at: 0.97,
    name: 'settles',
    why: 'left wrist stops',
    pose: { ...rest, shift: -8, lean: 2, head: 22, rightArm: -36, rightForearm: -90, leftArm: 12, leftForearm: 20 },
  },
];

/** A timing with known, smooth motion: a standing figure 400 px tall in a 960 × 540 picture, played through a story. */
export function madeTiming({
  frameCount = 168,
  rate = { frames: 24, seconds: 1 },
  on = 2,
  book,
}: MadeShot = {}): Timing {
  const grid = { rate, frameCount, startSec: 0 };
  const takeTimeSec = gridTimesSec(grid);
  const keyFrames = story.map((s) => Math.min(frameCount - 1, Math.round((s.at * frameCount) / on) * on));
  const exposures: Exposure[] = [];
  for (let k = 0; k < frameCount; k += on) exposures.push({ firstFrame: k, frames: Math.min(on, frameCount - k) });
  const keys = story.flatMap((s, i): Key[] => {
    const frameIndex = keyFrames[i]!;
    if (i > 0 && frameIndex === keyFrames[i - 1]) return [];
    return [
      {
        id: `k${i}`,
        frameIndex,
        takeSec: takeTimeSec[frameIndex]!,
        anchorSec: takeTimeSec[frameIndex]!,
        kind: i === 3 ? 'breakdown' : 'key',
        reasons: [s.why],
        locked: i === 4,
        name: s.name,
      },
    ];
  });
  const holdFrom = keyFrames[1]!;
  const movingFrom = keyFrames[5]!;
  const restFrom = (first: number, frames: number) => ({
    fromSec: takeTimeSec[first]!,
    toSec: takeTimeSec[first + frames - 1]!,
  });
  const holds: Hold[] = [];
  if (frameCount >= 48) {
    holds.push({ firstFrame: holdFrom, frames: 12, ...restFrom(holdFrom, 12), kind: 'hold', warning: '' });
    holds.push({ firstFrame: movingFrom, frames: 18, ...restFrom(movingFrom, 18), kind: 'movingHold', warning: '' });
  }
  const motion = madeMotion(takeTimeSec, (k) => poseAt(k, keyFrames, holdFrom, holds.length > 0 ? 12 : 0));
  const puppetHeightMm = standingHeightMm(book?.puppet ?? newPuppet);
  const activity = Float64Array.from({ length: frameCount }, (_, k) => (k === 0 ? 0 : stepOf(motion, k) / 400));
  return {
    choices: choicesOf({ ...newBook(''), ...book, rate, onFrames: on }, 0, frameStartSec(rate, frameCount)),
    grid,
    map: makeTimeMap(ownTiming, 0, frameStartSec(rate, frameCount)),
    takeTimeSec,
    motion,
    activity,
    keys,
    keyCurve: Array.from({ length: 18 }, (_, i) => ({ keyCount: i + 3, error: 0.16 / (1 + 0.7 * i ** 1.3) })),
    holds,
    cutFrames: [],
    forcedFrames: keys.map((k) => k.frameIndex),
    exposures,
    phase: 0,
    bodyHeightPx: 400,
    mmPerPx: puppetHeightMm / 400,
    joints,
  };
}

/** The plan of a made shot. */
export function madePlan(made: MadeShot = {}): Plan {
  const timing = madeTiming(made);
  const book: Book = { ...newBook('Keeper 04'), rate: timing.grid.rate, onFrames: made.on ?? 2, ...made.book };
  return buildPlan({
    book,
    footage: madeFootage(timing),
    sightings: madeSightings(timing),
    tracks: madeTracks(timing, made.doubts),
    timing,
  });
}

/** The plan as if just these had been found, worst first; each 10° beyond a limit but for what is given. */
export function withHitches(plan: Plan, found: readonly Partial<Hitch>[]): Plan {
  const hitches = found.map((given, i): Hitch => {
    const { firstFrame = 0 } = given;
    return {
      ...{ id: `h${i}`, kind: 'jointLimit', part: 'left knee', firstFrame, frames: 1, worstFrame: firstFrame },
      ...{ worst: 10, unit: 'deg', weight: 1, sentence: `h${i}`, why: '', fix: null, support: null },
      ...given,
    };
  });
  return { ...plan, hitches: { ...plan.hitches, hitches } };
}

function poseAt(k: number, keyFrames: readonly number[], holdFrom: number, holdFrames: number): PoseAngles {
  let i = keyFrames.length - 1;
  while (i > 0 && k < keyFrames[i]!) i--;
  const from = story[i]!.pose;
  const next = story[i + 1];
  if (!next) return from;
  const startFrame = keyFrames[i]! === holdFrom ? keyFrames[i]! + Math.max(0, holdFrames - 1) : keyFrames[i]!;
  const span = keyFrames[i + 1]! - startFrame;
  const u = span <= 0 ? 0 : Math.min(1, Math.max(0, (k - startFrame) / span));
  // Minimum jerk (Flash & Hogan 1985): rests at both ends.
  const ease = u ** 3 * (10 - 15 * u + 6 * u ** 2);
  const mixed = Object.fromEntries(
    Object.entries(from).map(([name, a]) => [
      name,
      a + ((next.pose as unknown as Record<string, number>)[name]! - a) * ease,
    ]),
  );
  return mixed as unknown as PoseAngles;
}

function place(p: PoseAngles): Map<Joint, [number, number]> {
  const at = new Map<Joint, [number, number]>();
  const turn = (deg: number, length: number): [number, number] => {
    const r = (deg * Math.PI) / 180;
    return [Math.sin(r) * length, -Math.cos(r) * length];
  };
  const from = (base: [number, number], d: [number, number]): [number, number] => [base[0] + d[0], base[1] + d[1]];
  const pelvis: [number, number] = [480 + p.shift, 292 + p.crouch];
  const neck = from(pelvis, turn(p.lean, 118));
  const headDeg = p.lean + p.head * 0.6;
  const nose = from(from(neck, turn(headDeg, 36)), turn(headDeg + 90, p.head * 0.2));
  at.set('pelvis', pelvis).set('neck', neck).set('nose', nose);
  at.set('chest', from(pelvis, turn(p.lean, 84))).set('chin', from(nose, turn(headDeg, -16)));
  // The performer faces the camera: their left is on the right of the picture.
  for (const [side, sign] of [
    ['left', 1],
    ['right', -1],
  ] as const) {
    at.set(`${side}Eye`, from(nose, [sign * 9, -9]));
    at.set(`${side}Ear`, from(nose, [sign * 19, -5]));
    const shoulder = from(neck, turn(p.lean + sign * 96, 40));
    const elbow = from(shoulder, turn(180 + (side === 'left' ? p.leftArm : p.rightArm), 66));
    const wrist = from(elbow, turn(180 + (side === 'left' ? p.leftForearm : p.rightForearm), 60));
    at.set(`${side}Shoulder`, shoulder).set(`${side}Elbow`, elbow).set(`${side}Wrist`, wrist);
    const hip = from(pelvis, [sign * 22, 2]);
    const ankle: [number, number] = [480 + sign * 34, 476];
    const bend = Math.sqrt(Math.max(0, 96 ** 2 - (Math.hypot(ankle[0] - hip[0], ankle[1] - hip[1]) / 2) ** 2));
    const knee: [number, number] = [(hip[0] + ankle[0]) / 2 + sign * bend, (hip[1] + ankle[1]) / 2];
    at.set(`${side}Hip`, hip).set(`${side}Knee`, knee).set(`${side}Ankle`, ankle);
  }
  return at;
}

function madeMotion(timesSec: Float64Array, pose: (k: number) => PoseAngles): Motion {
  const placed = Array.from(timesSec, (_, k) => place(pose(k)));
  const paths = new Map<Joint, JointPath>(
    joints.map((joint) => {
      const xPx = Float64Array.from(placed, (at) => at.get(joint)![0]);
      const yPx = Float64Array.from(placed, (at) => at.get(joint)![1]);
      const zero = new Float64Array(timesSec.length);
      const path: JointPath = {
        xPx,
        yPx,
        vxPx: zero,
        vyPx: zero,
        sdPx: new Float64Array(timesSec.length).fill(joint.endsWith('Wrist') ? 1.4 : 0.9),
        confidence: new Float32Array(timesSec.length).fill(0.8),
        guessed: new Uint8Array(timesSec.length),
      };
      return [joint, path];
    }),
  );
  return { timesSec, paths };
}

function stepOf(motion: Motion, k: number): number {
  let sum = 0;
  for (const p of motion.paths.values()) sum += (p.xPx[k]! - p.xPx[k - 1]!) ** 2 + (p.yPx[k]! - p.yPx[k - 1]!) ** 2;
  return Math.sqrt(sum / motion.paths.size);
}

function madeFootage(timing: Timing): Footage {
  return {
    name: 'keeper-take-3.mp4',
    widthPx: 960,
    heightPx: 540,
    timesSec: timing.takeTimeSec,
    endSec: timing.choices.endSec,
    firstStampSec: 0,
    medianFps: timing.grid.rate.frames / timing.grid.rate.seconds,
    variableFrameRate: false,
    codec: 'avc',
    turnedDeg: 0,
    notes: [],
  };
}

function madeSightings(timing: Timing): Sightings {
  return {
    detector: { model: 'made', backend: 'none', millisecondsPerFrame: Number.NaN, readSeconds: Number.NaN },
    widthPx: 960,
    heightPx: 540,
    timesSec: timing.takeTimeSec,
    ...emptySightingColumns(timing.takeTimeSec.length),
    readCount: timing.takeTimeSec.length,
    peopleSeen: [],
  };
}

/** Each path as it is at the frame that shows each of the times. */
function pathsAt({ motion, takeTimeSec }: Timing, timesSec: Float64Array): Map<Part, JointPath> {
  const frames = Array.from(timesSec, (sec) =>
    Math.max(
      0,
      takeTimeSec.findLastIndex((t) => t <= sec + 1e-9),
    ),
  );
  const pick = (of: Float64Array) => Float64Array.from(frames, (k) => of[k]!);
  return new Map(
    [...motion.paths].map(([part, path]) => [
      part,
      {
        xPx: pick(path.xPx),
        yPx: pick(path.yPx),
        vxPx: pick(path.vxPx),
        vyPx: pick(path.vyPx),
        sdPx: pick(path.sdPx),
        confidence: Float32Array.from(frames, (k) => path.confidence[k]!),
        guessed: Uint8Array.from(frames, (k) => path.guessed[k]!),
      },
    ]),
  );
}

function madeTracks(timing: Timing, doubts: readonly Doubt[] = []): Tracks {
  return {
    timesSec: timing.takeTimeSec,
    bodyHeightPx: 400,
    torsoPx: 116,
    joints,
    at: (timesSec) => ({ timesSec, paths: pathsAt(timing, timesSec) }),
    seen: () => null,
    doubts,
  };
}
