import { describe, expect, it } from 'vitest';
import type { Joint } from '../../src/base/joints.ts';
import { leftOutWords } from '../../src/compare/build.ts';
import { planFrameFor } from '../../src/compare/catchUp.ts';
import { compareShot } from '../../src/compare/compareShot.ts';
import { fadeOut, sureRate } from '../../src/compare/fadeOut.ts';
import { asTiming } from '../../src/compare/ownFaults.ts';
import { type JointPlaces, plannedPlaces } from '../../src/compare/places.ts';
import { keysAhead, type Replan, replanFrom, standThere } from '../../src/compare/replan.ts';
import type { PlannedShot, ShotPictures } from '../../src/compare/shot.ts';
import { stanceAt } from '../../src/compare/stance.ts';
import { longArmedPuppet, newPuppet } from '../../src/puppet/builtIn.ts';
import { standingHeightMm } from '../../src/puppet/profile.ts';
import type { PuppetJoint, PuppetMotion } from '../../src/puppet/puppetMotion.ts';
import { arcFaults } from '../../src/timing/arcFaults.ts';
import type { Fault } from './madeFaults.ts';
import { type MadeShot, madePlan, madeShot } from './madeShots.ts';

/** Of a shot, what was shot until the exposure `last`. */
function until(shot: ShotPictures, last: number): ShotPictures {
  const keep = (column: Float64Array) => column.slice(0, last + 1);
  const paths = new Map(
    [...shot.motion.paths].map(([part, p]) => [part, { ...p, xPx: keep(p.xPx), yPx: keep(p.yPx), sdPx: keep(p.sdPx) }]),
  );
  return {
    exposures: shot.exposures.slice(0, last + 1),
    motion: { timesSec: keep(shot.motion.timesSec), paths },
    pictures: shot.pictures?.slice(0, last + 1) ?? null,
  };
}

const at = (motion: PuppetMotion, joint: PuppetJoint, k: number) => {
  const path = motion.paths.get(joint)!;
  return [path.xMm[k]!, path.yMm[k]!] as const;
};
const apart = (a: readonly [number, number], b: readonly [number, number]) => Math.hypot(a[0] - b[0], a[1] - b[1]);

/** Faults of a row of exposures: a motion's, or what was really shot and then the motion. */
function faultsOf(plan: PlannedShot, motion: PuppetMotion, shot?: { made: MadeShot; last: number }) {
  const { exposures } = plan;
  const column = (of: Float64Array, was?: Float64Array) =>
    Float64Array.from(exposures, (e, i) => (shot && was && i <= shot.last ? was[i]! : of[e.firstFrame]!));
  const places: JointPlaces = {
    count: exposures.length,
    at: new Map(
      [...plannedPlaces(motion).at].map(([joint, { x, y }]) => {
        const was = shot?.made.truth.get(joint);
        const sd = new Float64Array(exposures.length).fill(0.1);
        return [joint, { x: column(x, was?.x), y: column(y, was?.y), sd }];
      }),
    ),
  };
  const sizeMm = standingHeightMm(motion.profile);
  return arcFaults(asTiming({ places, exposures, keys: plan.keys, holds: plan.holds, rate: plan.rate, sizeMm }));
}

interface Case {
  readonly plan: PlannedShot;
  readonly made: MadeShot;
  readonly last: number;
  readonly again: Replan;
}

/** Shots that stop on the way to a key, some of them with a fault just there. */
function* cases(): Generator<Case> {
  for (const puppet of [newPuppet, longArmedPuppet])
    for (const name of ['keeper', 'same_large']) {
      const plan = madePlan(name, puppet);
      for (let seed = 1; seed <= 3; seed++)
        for (const fault of [null, 'holdDrift', 'footSlide', 'lateKey'] as (Fault | null)[]) {
          const made = madeShot(plan, fault, { seed, noisePx: 0.5 });
          const n = plan.exposures.length;
          const end = made.made ? plan.exposures.findLastIndex((e) => e.firstFrame <= made.made!.lastFrame) : n >> 1;
          const last = Math.max(4, Math.min(n - 6, end + (seed - 2)));
          const shot = until(made.shot, last);
          const comparison = compareShot(plan, shot)!;
          const stance = stanceAt(comparison, last)!;
          const key = keysAhead(plan.keys, stance).usual;
          if (key) yield { plan, made, last, again: replanFrom(plan, stance, key) };
        }
    }
}

const all = [...cases()];

describe('moves laid anew from where the puppet is', () => {
  it('are there for most shots', () => {
    expect(all.length).toBeGreaterThan(30);
  });

  it('meet the next key within what can be placed, but for a foot that stands elsewhere', () => {
    for (const { plan, again } of all) {
      const k = again.key.frameIndex;
      for (const joint of again.motion.paths.keys()) {
        const side = /^(left|right)(Knee|Ankle|Heel|Toe)$/.exec(joint)?.[1];
        if (again.feet.some((f) => f.side === side)) continue;
        expect(apart(at(again.motion, joint, k), at(plan.motion, joint, k)), `${joint} at ${k}`).toBeLessThan(
          plan.motion.profile.smallestStepMm,
        );
      }
      for (const { side, offMm } of again.feet)
        expect(apart(at(again.motion, `${side}Ankle`, k), at(plan.motion, `${side}Ankle`, k))).toBeLessThan(
          offMm + 0.5,
        );
    }
  });

  it('leave what was shot and what comes after the key as it was', () => {
    for (const { plan, again } of all)
      for (const [joint, path] of again.motion.paths)
        for (let k = 0; k < path.xMm.length; k++) {
          if (k >= again.firstFrame && k <= again.lastFrame) continue;
          expect(path.xMm[k], `${joint} at ${k}`).toBe(plan.motion.paths.get(joint)!.xMm[k]);
          expect(path.yMm[k]).toBe(plan.motion.paths.get(joint)!.yMm[k]);
        }
  });

  it('begin where the puppet is, as fast as it went', () => {
    let [sum, own] = [0, 0];
    for (const { plan, made, last, again } of all) {
      const [i, e] = [last, plan.exposures[last]!];
      const next = plan.exposures[last + 1]!;
      for (const joint of ['leftWrist', 'rightWrist', 'nose', 'pelvis', 'leftElbow', 'rightElbow'] as const) {
        const { x, y } = made.truth.get(joint)!;
        const was = [x[i]! - x[i - 1]!, -(y[i]! - y[i - 1]!)] as const;
        const goes = at(again.motion, joint, next.firstFrame);
        const step = [goes[0] - x[i]!, goes[1] + y[i]!] as const;
        // What the plan itself speeds up or slows down about there, and what was seen wrongly.
        let most = 0;
        for (let k = Math.max(2, e.firstFrame - 4); k <= e.firstFrame + 4; k++) {
          const [p, q, r] = [k - 2, k, k + 2].map((f) => at(plan.motion, joint, f));
          most = Math.max(most, Math.hypot(r![0] - 2 * q![0] + p![0], r![1] - 2 * q![1] + p![1]));
        }
        const allowed = 1.5 * most + 0.2 * Math.hypot(...was) + 2;
        expect(Math.hypot(step[0] - was[0], step[1] - was[1]), `${joint} after ${e.firstFrame}`).toBeLessThan(allowed);
        sum += Math.hypot(step[0] - was[0], step[1] - was[1]);
        const [p, q, r] = [i - 1, i, i + 1].map((j) => at(plan.motion, joint, plan.exposures[j]!.firstFrame));
        own += Math.hypot(r![0] - 2 * q![0] + p![0], r![1] - 2 * q![1] + p![1]);
      }
    }
    // All in all no more than the plan itself changes there.
    expect(sum).toBeLessThan(1.2 * own);
  });

  it('set out from the measured pose, limbs at their lengths', () => {
    const offMm: number[] = [];
    for (const { again, plan } of all) {
      const { standing, stance } = again;
      for (const { joint, xMm, yMm } of stance.pose) {
        if (!/pelvis|neck|Shoulder|Elbow|Wrist|Knee/.test(joint)) continue;
        const [x, y] = standing.get(joint)!;
        offMm.push(Math.hypot(x - xMm, y - yMm));
      }
      const { sizes: s } = plan.motion.profile;
      for (const side of ['left', 'right'] as const)
        for (const [a, b, long] of [
          [`${side}Hip`, `${side}Knee`, s.thighMm],
          [`${side}Knee`, `${side}Ankle`, s.shankMm],
          [`${side}Shoulder`, `${side}Elbow`, s.upperArmMm],
          [`${side}Elbow`, `${side}Wrist`, s.forearmMm],
        ] as const) {
          const [p, q] = [standing.get(a)!, standing.get(b)!];
          expect(Math.hypot(q[0] - p[0], q[1] - p[1], q[2])).toBeCloseTo(long, 6);
        }
    }
    // What is left is where a limb was seen longer than it is, and knees between hips and feet that stand.
    offMm.sort((a, b) => a - b);
    expect(offMm[Math.floor(0.9 * offMm.length)]).toBeLessThan(0.3);
    expect(offMm.at(-1)).toBeLessThan(1);
  });

  it('are the plan with that pose in it, and nothing else, where the puppet stands', () => {
    for (const { again, plan } of all) {
      const there = standThere(again.motion, [again]);
      const { firstFrame, frames } = again.stance;
      for (const [joint, path] of there.paths)
        for (let k = 0; k < path.xMm.length; k++) {
          const isThere = k >= firstFrame && k < firstFrame + frames;
          const [x, y] = isThere ? again.standing.get(joint)! : at(again.motion, joint, k);
          expect([path.xMm[k], path.yMm[k]]).toEqual([x, y]);
        }
      // What stands is planted where it stands, in the same frames as before.
      const framesOf = (motion: PuppetMotion) =>
        motion.planted
          .flatMap((p) => Array.from({ length: p.frames }, (_, i) => `${p.side} ${p.firstFrame + i}`))
          .sort();
      expect(framesOf(there)).toEqual(framesOf(again.motion));
      expect(plan.motion.paths).not.toBe(there.paths);
    }
  });

  it('leave what is off in a hold until its end', () => {
    const plan = madePlan('keeper', newPuppet);
    const hold = plan.holds.find((h) => h.kind === 'hold' && h.frames >= 8)!;
    const last = hold.firstFrame + hold.frames - 1;
    const firstFrame = hold.firstFrame + 2;
    const [x, y] = at(plan.motion, 'pelvis', firstFrame);
    const pelvis = { joint: 'pelvis', xMm: x + 5, yMm: y, sdMm: 0.1 } as const;
    const stance = { firstFrame, frames: 2, planFrame: firstFrame, pose: [pelvis], before: null };
    const again = replanFrom(plan, stance, keysAhead(plan.keys, stance).usual!);
    const off = (k: number) => apart(at(again.motion, 'pelvis', k), at(plan.motion, 'pelvis', k));
    expect(again.key.frameIndex).toBeGreaterThan(last + 2);
    for (let k = firstFrame + 2; k <= last; k++) expect(off(k)).toBeCloseTo(5, 9);
    expect(off(last + 2)).toBeLessThan(5);
    expect(off(again.key.frameIndex)).toBeCloseTo(0, 9);
  });

  it('keep limbs at their lengths and standing feet where they stand', () => {
    for (const { again, plan } of all) {
      const { motion } = again;
      const { sizes: s } = motion.profile;
      for (const side of ['left', 'right'] as const)
        for (const [a, b, long] of [
          [`${side}Hip`, `${side}Knee`, s.thighMm],
          [`${side}Knee`, `${side}Ankle`, s.shankMm],
          [`${side}Shoulder`, `${side}Elbow`, s.upperArmMm],
          [`${side}Elbow`, `${side}Wrist`, s.forearmMm],
        ] as const)
          for (let k = again.firstFrame; k <= again.lastFrame; k++) {
            const z = motion.paths.get(b)!.zMm[k]!;
            expect(Math.hypot(apart(at(motion, a, k), at(motion, b, k)), z), `${b} at ${k}`).toBeCloseTo(long, 6);
          }
      for (const run of motion.planted) {
        const joint = `${run.side}${{ foot: 'Ankle', heel: 'Heel', toe: 'Toe' }[run.on]}` as PuppetJoint;
        const first = Math.max(run.firstFrame, again.firstFrame);
        for (let k = first; k < Math.min(run.firstFrame + run.frames, plan.exposures.at(-1)!.firstFrame); k++)
          expect(apart(at(motion, joint, k), [run.xMm, run.yMm]), `${joint} at ${k}`).toBeLessThan(0.05);
      }
    }
  });

  it('have no fault of an arc that the plan did not have', () => {
    for (const { plan, again, made, last } of all) {
      const known = [...faultsOf(plan, plan.motion), ...faultsOf(plan, plan.motion, { made, last })];
      const found = faultsOf(plan, again.motion, { made, last }).filter(
        (f) =>
          // What was shot before is as it is; the last pose may not be made to pop by what follows.
          f.atFrame >= plan.exposures[last]!.firstFrame &&
          !known.some((p) => p.kind === f.kind && p.part === f.part && p.sizeMm > 0.7 * f.sizeMm),
      );
      // Moves of the same length in less time may be even: what was late costs an ease.
      expect(found.filter((f) => f.kind !== 'evenSpacing').map((f) => `${made.made?.fault} ${f.sentence}`)).toEqual([]);
    }
  });

  it('tell a foot that slid, and keep it there', () => {
    const slid = all.filter(({ made, again }) => made.made?.fault === 'footSlide' && again.feet.length > 0);
    expect(slid.length).toBeGreaterThan(3);
    for (const { again, made, plan, last } of slid)
      for (const { side, offMm } of again.feet) {
        const { x } = made.truth.get(`${side}Ankle`)!;
        const was = plan.motion.paths.get(`${side}Ankle`)!.xMm[plan.exposures[last]!.firstFrame]!;
        expect(Math.abs(offMm - Math.abs(x[last]! - was))).toBeLessThan(1);
      }
  });
});

describe('a joint that is found elsewhere in all of the shot', () => {
  it('is no pose that is off: feet stand where they were planned', () => {
    const plan = madePlan('keeper', newPuppet);
    const { shot } = madeShot(plan, null, { seed: 4, noisePx: 0.5 });
    const lower = (column: Float64Array, px: number) => column.map((v) => v + px);
    const lowered = (px: number): ShotPictures['motion']['paths'] =>
      new Map(
        [...shot.motion.paths].map(([part, p]) =>
          // As a detector may have it: both feet are seen below the puppet's.
          /Ankle|Heel|Toe/.test(part) ? [part, { ...p, yPx: lower(p.yPx, px) }] : [part, p],
        ),
      );
    const far = { ...shot, motion: { ...shot.motion, paths: lowered(25) } };
    const farther = { ...shot, motion: { ...shot.motion, paths: lowered(45) } };
    const feetOf = (of: ShotPictures) => {
      const stance = stanceAt(compareShot(plan, of)!, 40)!;
      return replanFrom(plan, stance, keysAhead(plan.keys, stance).usual!).feet;
    };
    expect(feetOf(shot)).toEqual([]);
    expect(feetOf(far)).toEqual([]);
    // It is told beside what is; a joint marked by hand is a finding.
    const leftOut = (marked: ReadonlySet<Joint>) => compareShot(plan, { ...farther, marked })!.leftOut;
    const words = (marked: ReadonlySet<Joint>) => leftOutWords(leftOut(marked), []);
    // What is hardly recognised is told to be that.
    expect(leftOutWords(leftOut(new Set()), ['leftAnkle', 'rightAnkle'])).toBe('');
    expect(words(new Set())).toMatch(/not counted: (left|right) ankle 1\d mm, (left|right) ankle 1\d mm\. The puppet/);
    // Which of both ends lies elsewhere is known where both were marked.
    expect(words(new Set(['leftAnkle', 'rightAnkle']))).toMatch(/not counted: (left|right) ankle /);
    expect(words(new Set(['leftKnee', 'rightKnee', 'leftAnkle', 'rightAnkle']))).toBe('');
  });
});

describe('the key to be met', () => {
  const key = (frameIndex: number, kind: 'key' | 'breakdown') => ({ id: `k${frameIndex}`, frameIndex, kind, name: '' });
  const stance = { firstFrame: 10, frames: 2 };
  it('is the next key: breakdowns are passed on the way, unless nothing else follows', () => {
    const keys = [key(10, 'key'), key(14, 'breakdown'), key(20, 'key'), key(30, 'key')];
    expect(keysAhead(keys, stance).usual!.frameIndex).toBe(20);
    expect(keysAhead(keys, stance).all.map((k) => k.frameIndex)).toEqual([14, 20, 30]);
    expect(keysAhead(keys.slice(0, 2), stance).usual!.frameIndex).toBe(14);
    expect(keysAhead(keys.slice(0, 1), stance).usual).toBeNull();
    // The frames that are shot already are too late for one.
    expect(keysAhead([key(11, 'key'), key(12, 'key')], stance).usual!.frameIndex).toBe(12);
  });
});

describe('what goes away', () => {
  it('begins as large and as fast as it is, and is gone in rest', () => {
    const offset = { by: 3, perFrame: 0.4 };
    const rate = (k: number) => (fadeOut(offset, k + 1e-4, 20) - fadeOut(offset, k - 1e-4, 20)) / 2e-4;
    expect(fadeOut(offset, 0, 20)).toBe(3);
    expect(fadeOut(offset, 20, 20)).toBe(0);
    expect((fadeOut(offset, 1e-5, 20) - 3) / 1e-5).toBeCloseTo(0.4, 3);
    expect(rate(19.999)).toBeCloseTo(0, 3);
    expect(fadeOut({ by: 0, perFrame: 1 }, 8, 40)).toBeCloseTo(0, 12);
  });

  it('has no rate where that may be an error', () => {
    expect(sureRate(0.2, 0.3)).toBe(0);
    expect(sureRate(5, 0.1)).toBeGreaterThan(4.9);
  });

  it('catches up without going back, and is on time at the key', () => {
    for (const fromPlan of [10, 14, 16, 19])
      for (const speed of [0, 0.5, 1, 3]) {
        const catchUp = { fromFrame: 16, fromPlan, speed, keyFrame: 28 };
        let before = fromPlan;
        for (let k = 16; k <= 28; k++) {
          const f = planFrameFor(catchUp, k);
          expect(f).toBeGreaterThanOrEqual(before - 1e-9);
          before = f;
        }
        expect(planFrameFor(catchUp, 16)).toBeCloseTo(fromPlan, 9);
        expect(planFrameFor(catchUp, 28)).toBe(28);
      }
  });
});
