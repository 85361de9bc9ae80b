/** Shots made from takes of known truth: a puppet that follows its plan on twos, seen by another camera, with one fault. */
import { type Joint, joints, type Part } from '../../src/base/joints.ts';
import { hermite, pchipSlopes } from '../../src/base/pchip.ts';
import type { PictureStep } from '../../src/compare/cameraEvents.ts';
import type { FindingKind } from '../../src/compare/finding.ts';
import { columnAt } from '../../src/compare/places.ts';
import type { PlannedShot, ShotPictures } from '../../src/compare/shot.ts';
import { applySimilarity, type Similarity } from '../../src/compare/similarity.ts';
import { reach } from '../../src/puppet/legs.ts';
import { type PuppetProfile, standingHeightMm } from '../../src/puppet/profile.ts';
import { retarget } from '../../src/puppet/retarget.ts';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import type { OnFrames } from '../../src/timing/timing.ts';
import type { JointPath } from '../../src/track/motion.ts';
import { gaussian, seeded } from '../make.ts';
import { trueTake } from '../puppet/truthMotion.ts';
import { tracksThrough } from '../timing/authored.ts';
import { choicesFor } from '../timing/choices.ts';

const fps = 24;

/** The plan of a take on a puppet. */
export function madePlan(name: string, puppet: PuppetProfile, onFrames: OnFrames = 2): PlannedShot {
  const take = trueTake(name);
  const timesSec = Float64Array.from({ length: Math.round(take.durationSec * 60) }, (_, k) => k / 60);
  const places = new Map(
    [...take.at(timesSec).paths].map(([joint, p]) => [joint as Joint, { x: p.xPx, y: p.yPx }] as const),
  );
  const tracks = tracksThrough({ timesSec, places }, take.heightPx, 0.1);
  const choices = choicesFor(take.durationSec, { onFrames, puppetHeightMm: standingHeightMm(puppet) });
  const timing = computeTiming(tracks, choices);
  const motion = retarget(timing.motion, { heightPx: take.heightPx, lengths: null }, puppet, {
    fps,
    steps: 'sameSteps',
    handContacts: [],
    tail: null,
  });
  return { motion, rate: choices.rate, keys: timing.keys, holds: timing.holds, exposures: timing.exposures };
}

/** What is wrong with a made shot. */
export type Fault = 'offPose' | 'lateKey' | 'reversal' | 'holdDrift' | 'footSlide' | 'cameraBump' | 'flicker';

/** Every fault that can be made. */
export const faults: readonly Fault[] = [
  'offPose',
  'lateKey',
  'reversal',
  'holdDrift',
  'footSlide',
  'cameraBump',
  'flicker',
];

/** A fault as it was made. */
export interface MadeFault {
  readonly fault: Fault;
  /** Frames, both ends included. */
  readonly firstFrame: number;
  readonly lastFrame: number;
  readonly what: string;
}

/** Which findings name a fault. */
export const namesOf: Readonly<Record<Fault, readonly FindingKind[]>> = {
  // A pose that is off back along its way goes back, and is told so.
  offPose: ['offPose', 'pop', 'reversal'],
  lateKey: ['keyTiming'],
  reversal: ['reversal'],
  holdDrift: ['holdDrift'],
  footSlide: ['footSlide'],
  cameraBump: ['cameraBump'],
  flicker: ['flicker'],
};

/** A shot and what is wrong with it. */
export interface MadeShot {
  readonly shot: ShotPictures;
  /** Null = nothing is, or the take has no place for the fault. */
  readonly made: MadeFault | null;
  readonly camera: Similarity;
  /** Where joints really were: millimetres, y down. Shape [exposure]. */
  readonly truth: ReadonlyMap<Joint, { x: Float64Array; y: Float64Array }>;
}

/** How a shot is seen. */
export interface Seeing {
  readonly seed: number;
  /** Standard deviation of a joint's error along one axis, pixels. */
  readonly noisePx: number;
  /** How long errors last, frames. */
  readonly lastsFrames?: number;
  /** Parts of the shot's length by which its joints were not seen at all. */
  readonly pxPerMm?: number;
}

const fixed = /Heel|Toe|Ankle|Knee|Hip|pelvis/;
const chainOf = (joint: Joint): RegExp =>
  joint === 'pelvis'
    ? /pelvis|neck|chest|chin|nose|Eye|Ear|mouth|Shoulder|Elbow|Wrist|Hand|Hip/
    : joint === 'nose'
      ? /nose|Eye|Ear|mouth|chin/
      : new RegExp(joint.startsWith('left') ? '^left(Wrist|Hand)' : '^right(Wrist|Hand)');

/** Makes a shot of a plan with one fault, or none. */
export function madeShot(plan: PlannedShot, fault: Fault | null, seeing: Seeing): MadeShot {
  const random = seeded(seeing.seed * 7919 + 13);
  const draw = gaussian(random);
  const { exposures, motion } = plan;
  const n = exposures.length;
  const size = standingHeightMm(motion.profile);
  const planFrame = Float64Array.from(exposures, (e) => e.firstFrame);
  const pick = <T>(of: readonly T[]): T | undefined => of[Math.floor(random() * of.length)];
  let made: MadeFault | null = null;
  const frameEnd = (i: number) => exposures[i]!.firstFrame + exposures[i]!.frames - 1;

  if (fault === 'lateKey') {
    const by = random() < 0.5 ? 2 : -2;
    // A key at which the body arrives from somewhere, with room to both sides.
    const able = plan.keys.filter((key, k) => {
      const [a, b] = [plan.keys[k - 1]?.frameIndex ?? -99, plan.keys[k + 1]?.frameIndex ?? planFrame[n - 1]! + 1];
      const hold = plan.holds.some((h) => h.firstFrame < key.frameIndex && key.frameIndex < h.firstFrame + h.frames);
      return !hold && key.frameIndex - a >= 8 && b - key.frameIndex >= 6 && wayInto(plan, key.frameIndex) > 0.04 * size;
    });
    const key = pick(able);
    if (key) {
      const k = plan.keys.indexOf(key);
      const hold = plan.holds.find((h) => Math.abs(h.firstFrame - key.frameIndex) <= 2);
      // In a hold the next moment that counts is its end.
      const next = Math.max(
        plan.keys[k + 1]?.frameIndex ?? planFrame[n - 1]! + 1,
        hold ? hold.firstFrame + hold.frames : 0,
      );
      const from = plan.keys[k - 1]!.frameIndex;
      const knots = [from, key.frameIndex + by, next];
      const values = [from, key.frameIndex, next];
      const slopes = pchipSlopes(knots, values);
      for (let i = 0; i < n; i++) {
        const f = planFrame[i]!;
        const s = f <= knots[0]! || f >= knots[2]! ? -1 : f < knots[1]! ? 0 : 1;
        if (s < 0) continue;
        const h = knots[s + 1]! - knots[s]!;
        planFrame[i] = hermite(h, values[s]!, values[s + 1]!, slopes[s]!, slopes[s + 1]!, (f - knots[s]!) / h);
      }
      made = {
        fault,
        firstFrame: key.frameIndex,
        lastFrame: key.frameIndex,
        what: `key at ${key.frameIndex} by ${by}`,
      };
    }
  }

  const truth = new Map<Joint, { x: Float64Array; y: Float64Array }>();
  for (const joint of joints) {
    const path = motion.paths.get(joint);
    if (path)
      truth.set(joint, {
        x: planFrame.map((f) => columnAt(path.xMm, f)),
        y: planFrame.map((f) => -columnAt(path.yMm, f)),
      });
  }
  const shift = (pattern: RegExp, i: number, dx: number, dy: number) => {
    for (const [joint, at] of truth) {
      if (!pattern.test(joint)) continue;
      at.x[i]! += dx;
      at.y[i]! += dy;
    }
  };
  const way = 2 * Math.PI * random();
  const [wx, wy] = [Math.cos(way), Math.sin(way)];

  if (fault === 'offPose') {
    const i = 2 + Math.floor(random() * (n - 4));
    const joint = pick(['leftWrist', 'rightWrist', 'nose', 'pelvis'] as const)!;
    shift(chainOf(joint), i, 6 * wx, 6 * wy);
    if (joint.endsWith('Wrist')) shift(new RegExp(`^${joint.replace('Wrist', 'Elbow')}$`), i, 3 * wx, 3 * wy);
    made = { fault, firstFrame: exposures[i]!.firstFrame, lastFrame: frameEnd(i), what: joint };
  }
  if (fault === 'reversal') {
    const able = (['leftWrist', 'rightWrist'] as const).flatMap((joint) =>
      Array.from({ length: n - 4 }, (_, k) => k + 2).flatMap((i) => {
        const { x, y } = truth.get(joint)!;
        const step = (k: number) => [x[k]! - x[k - 1]!, y[k]! - y[k - 1]!] as const;
        const steps = [i - 1, i, i + 1, i + 2].map(step);
        const long = steps.map((s) => Math.hypot(...s));
        const same = steps
          .slice(1)
          .every((s, k) => (s[0] * steps[k]![0] + s[1] * steps[k]![1]) / (long[k]! * long[k + 1]!) > 0.7);
        return same && Math.min(...long) > 1.5 && Math.max(...long) < 12
          ? [{ joint, i, step: steps[1]!, long: long[1]! }]
          : [];
      }),
    );
    const at = pick(able);
    if (at) {
      // So far back that the pose lies 2.5 mm behind the one before.
      const by = -(at.long + 2.5) / at.long;
      shift(chainOf(at.joint), at.i, by * at.step[0], by * at.step[1]);
      made = {
        fault,
        firstFrame: exposures[at.i]!.firstFrame,
        lastFrame: frameEnd(at.i),
        what: `${at.joint} step ${at.long.toFixed(1)}`,
      };
    }
  }
  if (fault === 'holdDrift') {
    const hold = pick(plan.holds.filter((h) => h.frames >= 12));
    const joint = pick(['leftWrist', 'rightWrist', 'nose', 'pelvis'] as const)!;
    if (hold) {
      const last = hold.firstFrame + hold.frames - 1;
      exposures.forEach((e, i) => {
        const grown = Math.min(1, Math.max(0, (e.firstFrame - hold.firstFrame) / (last - hold.firstFrame)));
        const left = Math.max(0, 1 - Math.max(0, e.firstFrame - last) / 8);
        shift(chainOf(joint), i, 5 * grown * left * wx, 5 * grown * left * wy);
      });
      made = {
        fault,
        firstFrame: hold.firstFrame,
        lastFrame: last,
        what: `${joint} in ${hold.kind} of ${hold.frames}`,
      };
    }
  }
  if (fault === 'footSlide') {
    const run = pick(plan.motion.planted.filter((p) => p.on === 'foot' && p.frames >= 14));
    if (run) {
      const begins = run.firstFrame + 4 + 2 * Math.floor(random() * ((run.frames - 12) / 2));
      const last = run.firstFrame + run.frames - 1;
      const sign = random() < 0.5 ? -1 : 1;
      let [first, arrived] = [0, 0];
      exposures.forEach((e, i) => {
        const grown = Math.min(1, Math.max(0, (e.firstFrame - begins) / 4));
        if (grown === 0) first = i + 1;
        if (grown < 1) arrived = i + 1;
        const left = Math.max(0, 1 - Math.max(0, e.firstFrame - last) / 6);
        shift(new RegExp(`^${run.side}(Heel|Toe|Ankle)$`), i, 4 * sign * grown * left, 0);
      });
      made = {
        fault,
        firstFrame: exposures[first]!.firstFrame,
        lastFrame: exposures[arrived]!.firstFrame,
        what: run.side,
      };
    }
  }

  if (fault === 'offPose' || fault === 'holdDrift' || fault === 'footSlide') bendKnees(plan, truth, planFrame);

  const camera: Similarity = {
    scale: seeing.pxPerMm ?? 2 + random(),
    rotationDeg: 10 * random() - 5,
    shiftX: 300 + 600 * random(),
    shiftY: 800 + 100 * random(),
    isMirrored: false,
  };
  const pictures: PictureStep[] = exposures.map((_, i) => ({
    shiftXPx: i === 0 ? 0 : 0.03 * draw(),
    shiftYPx: i === 0 ? 0 : 0.03 * draw(),
    brightness: 96 * (1 + 0.0015 * draw()),
  }));
  const [bx, by] = [new Float64Array(n), new Float64Array(n)];
  if (fault === 'cameraBump') {
    const i = 2 + Math.floor(random() * (n - 4));
    const stays = random() < 0.6;
    for (let k = i; k < (stays ? n : i + 1); k++) [bx[k], by[k]] = [5 * wx, 5 * wy];
    for (let k = 1; k < n; k++)
      pictures[k] = {
        ...pictures[k]!,
        shiftXPx: pictures[k]!.shiftXPx + bx[k]! - bx[k - 1]!,
        shiftYPx: pictures[k]!.shiftYPx + by[k]! - by[k - 1]!,
      };
    made = {
      fault,
      firstFrame: exposures[i]!.firstFrame,
      lastFrame: frameEnd(i),
      what: stays ? 'stays' : 'comes back',
    };
  }
  if (fault === 'flicker') {
    const i = 1 + Math.floor(random() * (n - 2));
    pictures[i] = { ...pictures[i]!, brightness: pictures[i]!.brightness * (random() < 0.5 ? 1.03 : 0.97) };
    made = { fault, firstFrame: exposures[i]!.firstFrame, lastFrame: frameEnd(i), what: '3 %' };
  }
  const paths = new Map<Part, JointPath>();
  for (const [joint, { x, y }] of truth) {
    const [ex, ey] = [errors(exposures, seeing, draw), errors(exposures, seeing, draw)];
    const seen = Array.from(x, (_, i) => applySimilarity(camera, x[i]!, y[i]!));
    paths.set(joint, {
      xPx: Float64Array.from(seen, ([v], i) => v + bx[i]! + ex[i]!),
      yPx: Float64Array.from(seen, ([, v], i) => v + by[i]! + ey[i]!),
      vxPx: new Float64Array(n),
      vyPx: new Float64Array(n),
      sdPx: new Float64Array(n).fill(seeing.noisePx),
      confidence: new Float32Array(n).fill(1),
      guessed: new Uint8Array(n),
    });
  }
  const timesSec = Float64Array.from(exposures, (e) => e.firstFrame / fps);
  return { shot: { exposures, motion: { timesSec, paths }, pictures }, made, camera, truth };
}

/** Legs keep their lengths: between hips and feet that are elsewhere knees are elsewhere, too. Changes the places. */
function bendKnees(plan: PlannedShot, truth: MadeShot['truth'], planFrame: Float64Array): void {
  const { thighMm, shankMm } = plan.motion.profile.sizes;
  for (const side of ['left', 'right'] as const)
    planFrame.forEach((f, i) => {
      const at = (joint: Joint) => {
        const path = plan.motion.paths.get(joint)!;
        return [columnAt(path.xMm, f), columnAt(path.yMm, f), columnAt(path.zMm, f)] as const;
      };
      const [hip, knee, ankle] = [at(`${side}Hip`), at(`${side}Knee`), at(`${side}Ankle`)];
      const pose = {
        upper: [knee[0] - hip[0], knee[1] - hip[1], knee[2]],
        lower: [ankle[0] - knee[0], ankle[1] - knee[1], ankle[2]],
      } as const;
      const [from, to] = [truth.get(`${side}Hip`)!, truth.get(`${side}Ankle`)!];
      if (Math.hypot(from.x[i]! - hip[0], -from.y[i]! - hip[1], to.x[i]! - ankle[0], -to.y[i]! - ankle[1]) < 0.01)
        return;
      const cross = pose.upper[0] * pose.lower[1] - pose.upper[1] * pose.lower[0];
      const bent = reach([from.x[i]!, -from.y[i]!], [to.x[i]!, -to.y[i]!], pose, thighMm, shankMm, cross);
      const leg = truth.get(`${side}Knee`)!;
      [leg.x[i], leg.y[i]] = [bent.middle[0], -bent.middle[1]];
    });
}

/** Errors as tracks have them: most of their variance lasts, the rest is new at every exposure. */
function errors(exposures: PlannedShot['exposures'], { noisePx, lastsFrames = 6 }: Seeing, draw: () => number) {
  let slow = draw();
  return exposures.map((e) => {
    const keep = Math.exp(-e.frames / lastsFrames);
    slow = keep * slow + Math.sqrt(1 - keep * keep) * draw();
    return noisePx * (Math.sqrt(0.7) * slow + Math.sqrt(0.3) * draw());
  });
}

/** How far the part that goes furthest came in the frames before a key, millimetres. */
function wayInto({ motion }: PlannedShot, frame: number): number {
  let most = 0;
  for (const [joint, { xMm, yMm }] of motion.paths) {
    if (fixed.test(joint)) continue;
    const from = Math.max(0, frame - 6);
    const long = Math.hypot(xMm[frame]! - xMm[from]!, yMm[frame]! - yMm[from]!);
    if (long > most) most = long;
  }
  return most;
}
