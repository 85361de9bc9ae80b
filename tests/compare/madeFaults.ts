/** What can be wrong with a made shot, put into the places of a puppet that follows its plan, or into its pictures. */
import { type Joint, joints } from '../../src/base/joints.ts';
import { hermite, pchipSlopes } from '../../src/base/pchip.ts';
import type { FindingKind } from '../../src/compare/finding.ts';
import { columnAt } from '../../src/compare/places.ts';
import type { PlannedShot } from '../../src/compare/shot.ts';
import { reach } from '../../src/puppet/legs.ts';
import { standingHeightMm } from '../../src/puppet/profile.ts';
import { seeded } from '../make.ts';

/** What is wrong with a made shot. */
export type Fault =
  | 'offPose'
  | 'offHold'
  | 'lateKey'
  | 'reversal'
  | 'holdDrift'
  | 'footSlide'
  | 'cameraBump'
  | 'flicker';

/** Every fault that can be made. */
export const faults: readonly Fault[] = [
  'offPose',
  'lateKey',
  'reversal',
  'holdDrift',
  'footSlide',
  'cameraBump',
  'flicker',
  'offHold',
];

/** What is wrong with a made shot: one thing, several, or nothing. */
export type ShotFault = Fault | 'several' | null;

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
  offHold: ['offPose'],
  lateKey: ['keyTiming'],
  reversal: ['reversal'],
  holdDrift: ['holdDrift'],
  footSlide: ['footSlide'],
  cameraBump: ['cameraBump'],
  flicker: ['flicker'],
};

/** Where a puppet really was. */
export interface MadePlaces {
  /** Null = nothing is wrong with its places, or the take has no place for the fault. */
  readonly made: MadeFault | null;
  /** The plan's frame that each exposure shows, with fractions. Shape [exposure]. */
  readonly planFrame: Float64Array;
  /** Millimetres, y down. Shape [exposure]. */
  readonly truth: ReadonlyMap<Joint, { x: Float64Array; y: Float64Array }>;
  /** The direction in which things were put wrong, as a vector of length 1. */
  readonly way: readonly [number, number];
}

/** What camera and light did. */
export interface MadeView {
  readonly made: MadeFault | null;
  /** How far the picture is from where it was, pixels. Shape [exposure]. */
  readonly bumpX: Float64Array;
  readonly bumpY: Float64Array;
  /** Brightness against usual. Shape [exposure]. */
  readonly light: Float64Array;
}

const fixed = /Heel|Toe|Ankle|Knee|Hip|pelvis/;
const chainOf = (joint: Joint): RegExp =>
  joint === 'pelvis'
    ? /pelvis|neck|chest|chin|nose|Eye|Ear|mouth|Shoulder|Elbow|Wrist|Hand|Hip/
    : joint === 'nose'
      ? /nose|Eye|Ear|mouth|chin/
      : new RegExp(joint.startsWith('left') ? '^left(Wrist|Hand)' : '^right(Wrist|Hand)');

/** The puppet's places on its plan's exposures, with one fault of its own, or none. @param random rising draws from 0 to 1 decide which. */
export function madePlaces(plan: PlannedShot, fault: Fault | null, random: () => number): MadePlaces {
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
  if (fault === 'offHold') {
    // A key that was placed wrong and held as it was, to be put right with the next move.
    const hold = pick(plan.holds.filter((h) => h.frames >= 8));
    const joint = pick(['leftWrist', 'rightWrist', 'nose', 'pelvis'] as const)!;
    if (hold) {
      const last = hold.firstFrame + hold.frames - 1;
      const within = [...planFrame.keys()].filter((i) => planFrame[i]! >= hold.firstFrame && planFrame[i]! <= last);
      for (const i of within) {
        shift(chainOf(joint), i, 6 * wx, 6 * wy);
        if (joint.endsWith('Wrist')) shift(new RegExp(`^${joint.replace('Wrist', 'Elbow')}$`), i, 3 * wx, 3 * wy);
      }
      if (within.length > 2 && within[0]! > 0 && within.at(-1)! < n - 1)
        made = {
          fault,
          firstFrame: hold.firstFrame,
          lastFrame: last,
          what: `${joint} in ${hold.kind} of ${hold.frames}`,
        };
    }
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

  if (fault === 'offPose' || fault === 'offHold' || fault === 'holdDrift' || fault === 'footSlide')
    bendKnees(plan, truth, planFrame);
  return { made, planFrame, truth, way: [wx, wy] };
}

/** A bump of the camera or a flicker, or neither. */
export function madeView(
  { exposures }: PlannedShot,
  fault: Fault | null,
  [wx, wy]: readonly [number, number],
  random: () => number,
): MadeView {
  const n = exposures.length;
  const [bumpX, bumpY, light] = [new Float64Array(n), new Float64Array(n), new Float64Array(n).fill(1)];
  const frameEnd = (i: number) => exposures[i]!.firstFrame + exposures[i]!.frames - 1;
  let made: MadeFault | null = null;
  if (fault === 'cameraBump') {
    const i = 2 + Math.floor(random() * (n - 4));
    const stays = random() < 0.6;
    for (let k = i; k < (stays ? n : i + 1); k++) [bumpX[k], bumpY[k]] = [5 * wx, 5 * wy];
    made = {
      fault,
      firstFrame: exposures[i]!.firstFrame,
      lastFrame: frameEnd(i),
      what: stays ? 'stays' : 'comes back',
    };
  }
  if (fault === 'flicker') {
    const i = 1 + Math.floor(random() * (n - 2));
    light[i] = random() < 0.5 ? 1.03 : 0.97;
    made = { fault, firstFrame: exposures[i]!.firstFrame, lastFrame: frameEnd(i), what: '3 %' };
  }
  return { made, bumpX, bumpY, light };
}

/** A shot in which several things are wrong. */
export interface MadeTogether
  extends Pick<MadePlaces, 'planFrame' | 'truth'>,
    Pick<MadeView, 'bumpX' | 'bumpY' | 'light'> {
  /** In the order of their frames. */
  readonly made: readonly MadeFault[];
}

/** Between two faults lie at least so many frames in which nothing is wrong: who told one for the other told neither. */
const betweenFrames = 5;

/**
 * Several faults in one shot, each as it is made alone, as many of those wanted as find room beside the ones before.
 * @param seed decides on where they are, and on who comes first.
 */
export function madeTogether(plan: PlannedShot, wanted: readonly Fault[], seed: number): MadeTogether {
  const { exposures } = plan;
  const frameEnd = (i: number) => exposures[i]!.firstFrame + exposures[i]!.frames - 1;
  const random = seeded(seed);
  const right = madePlaces(plan, null, random);
  const view = madeView(plan, null, right.way, random);
  const planFrame = right.planFrame.slice();
  const truth = new Map([...right.truth].map(([joint, { x, y }]) => [joint, { x: x.slice(), y: y.slice() }]));
  const made: MadeFault[] = [];
  const taken: { readonly first: number; readonly last: number }[] = [];
  for (const fault of shuffled(wanted, random)) {
    const places = madePlaces(plan, fault, random);
    const seen = madeView(plan, fault, places.way, random);
    const one = places.made ?? seen.made;
    if (!one) continue;
    const touched = [...exposures.keys()].filter((i) =>
      [...places.truth].some(([joint, { x, y }]) => {
        const at = right.truth.get(joint)!;
        return Math.hypot(x[i]! - at.x[i]!, y[i]! - at.y[i]!) > 0.1;
      }),
    );
    const first = Math.min(one.firstFrame, ...touched.map((i) => exposures[i]!.firstFrame));
    const last = Math.max(one.lastFrame, ...touched.map(frameEnd));
    if (taken.some((of) => first <= of.last + betweenFrames && last >= of.first - betweenFrames)) continue;
    taken.push({ first, last });
    made.push(one);
    for (const i of exposures.keys()) {
      planFrame[i]! += places.planFrame[i]! - right.planFrame[i]!;
      view.bumpX[i]! += seen.bumpX[i]!;
      view.bumpY[i]! += seen.bumpY[i]!;
      view.light[i]! *= seen.light[i]!;
    }
    for (const [joint, { x, y }] of places.truth) {
      const [at, was] = [truth.get(joint)!, right.truth.get(joint)!];
      at.x.forEach((_, i) => {
        at.x[i]! += x[i]! - was.x[i]!;
        at.y[i]! += y[i]! - was.y[i]!;
      });
    }
  }
  made.sort((a, b) => a.firstFrame - b.firstFrame);
  return { made, planFrame, truth, bumpX: view.bumpX, bumpY: view.bumpY, light: view.light };
}

function shuffled<T>(of: readonly T[], random: () => number): T[] {
  return of
    .map((item) => ({ item, place: random() }))
    .sort((a, b) => a.place - b.place)
    .map(({ item }) => item);
}

/** Legs keep their lengths: between hips and feet that are elsewhere knees are elsewhere, too. Changes the places. */
function bendKnees(plan: PlannedShot, truth: MadePlaces['truth'], planFrame: Float64Array): void {
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
