import { describe, expect, it } from 'vitest';
import type { Joint } from '../../src/base/joints.ts';
import { type Comparison, compareShot } from '../../src/compare/compareShot.ts';
import type { KeyWarp } from '../../src/compare/keyWarp.ts';
import { withoutLoneLimbs } from '../../src/compare/loneLimbs.ts';
import type { JointPlaces } from '../../src/compare/places.ts';
import type { ShotPictures } from '../../src/compare/shot.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import { madePlan, madeShot } from './madeShots.ts';

const trunk: readonly Joint[] = ['neck', 'pelvis', 'leftShoulder', 'rightShoulder', 'leftHip', 'rightHip'];
const plans = new Map(['keeper', 'stops', 'same_large'].map((name) => [name, madePlan(name, newPuppet)]));

/** A shot of which only some joints were marked. */
function marked(shot: ShotPictures, joints: readonly Joint[]): ShotPictures {
  const paths = new Map([...shot.motion.paths].filter(([part]) => joints.includes(part as Joint)));
  return { ...shot, motion: { ...shot.motion, paths }, marked: new Set(joints) };
}

/** The same with a joint that stays where it is at a frame, until it goes to where it should be within four frames. */
function staysBehind(shot: ShotPictures, joint: Joint, from: number, until: number): ShotPictures {
  const path = shot.motion.paths.get(joint)!;
  const at = shot.exposures.findLastIndex((e) => e.firstFrame <= from);
  const behind = (column: Float64Array) =>
    column.map((v, i) => {
      const share = Math.min(1, Math.max(0, (shot.exposures[i]!.firstFrame - until + 1) / 5));
      return i > at ? share * v + (1 - share) * column[at]! : v;
    });
  const paths = new Map(shot.motion.paths);
  paths.set(joint, { ...path, xPx: behind(path.xPx), yPx: behind(path.yPx) });
  return { ...shot, motion: { ...shot.motion, paths } };
}

const said = ({ findings }: Comparison) => findings.map((f) => f.sentence);

describe('one wrist marked beside the trunk', () => {
  for (const [name, plan] of plans)
    for (const wrist of ['leftWrist', 'rightWrist'] as const)
      it(`that stays behind in ${name} is off itself (${wrist}), and nothing else is`, () => {
        const path = plan.motion.paths.get(wrist)!;
        const keys = plan.keys.slice(1).flatMap(({ frameIndex: to }, k) => {
          const from = plan.keys[k]!.frameIndex;
          return Math.hypot(path.xMm[to]! - path.xMm[from]!, path.yMm[to]! - path.yMm[from]!) > 40
            ? [{ from, to }]
            : [];
        });
        expect(keys.length).toBeGreaterThan(0);
        for (const { from, to } of keys) {
          const seen = marked(madeShot(plan, null, { seed: 1, noisePx: 0.7 }).shot, [...trunk, wrist]);
          const comparison = compareShot(plan, staysBehind(seen, wrist, from, to + 10))!;
          const told = said(comparison).join('\n');
          expect(comparison.findings.length, told).toBeGreaterThan(0);
          expect(new Set(comparison.findings.map((f) => f.joint)), told).toEqual(new Set([wrist]));
        }
      });

  it('does not hide that the body is late, where enough of it is marked', () => {
    const plan = plans.get('keeper')!;
    for (const seed of [1, 2, 3, 4]) {
      const { shot, made } = madeShot(plan, 'lateKey', { seed, noisePx: 0.5 });
      const limbs: readonly Joint[] = ['leftElbow', 'rightElbow', 'leftWrist', 'rightWrist', 'nose'];
      const comparison = compareShot(plan, marked(shot, [...trunk, ...limbs]))!;
      const keys = comparison.findings.filter((f) => f.kind === 'keyTiming').map((f) => f.atFrame);
      expect(keys, `${made!.what}: ${said(comparison).join('\n')}`).toContain(made!.firstFrame);
    }
  });
});

describe('who says when a key was met', () => {
  const frames = 21;
  /** Joints that go so far to the right, evenly. */
  const going = (wayMm: Partial<Record<Joint, number>>): JointPlaces => ({
    count: frames,
    at: new Map(
      Object.entries(wayMm).map(([joint, mm]) => [
        joint as Joint,
        {
          x: Float64Array.from({ length: frames }, (_, i) => (mm * i) / (frames - 1)),
          y: new Float64Array(frames),
          sd: new Float64Array(frames).fill(1),
        },
      ]),
    ),
  });
  const warp = (late: number, sd: number): KeyWarp => ({
    knots: [0, 10, 20].map((frame) => ({ frame, late: frame === 10 ? late : 0, sd, withBefore: 0 })),
    planFrame: Float64Array.from({ length: frames }, (_, i) => i),
    cost: 0,
  });
  /** The middle key is six frames late by the left wrist, and on its frame by all the others, who are so unsure of it. */
  const heard = (shot: JointPlaces, planned: JointPlaces, restSd: number) =>
    withoutLoneLimbs(shot, planned, warp(6, 0.2), (places) =>
      Number.isNaN(places.at.get('leftWrist')?.x[10] ?? Number.NaN) ? warp(0, restSd) : warp(6, 0.2),
    );
  const isHeard = (places: JointPlaces) => !Number.isNaN(places.at.get('leftWrist')!.x[10]);

  it('is all of the body where all who move are known', () => {
    const plan = going({ leftWrist: 40, rightWrist: 60, nose: 60 });
    expect(heard(plan, plan, 0.2)).toBe(plan);
  });

  it('is a limb that carries most of the move, unless the rest surely denies it', () => {
    const plan = going({ leftWrist: 60, rightWrist: 40 });
    const seen = going({ leftWrist: 60, pelvis: 0 });
    expect(isHeard(heard(seen, plan, 5))).toBe(true);
    expect(isHeard(heard(seen, plan, 0.2))).toBe(false);
  });

  it('is not a limb that carries little of it, though nobody denies it', () => {
    const plan = going({ leftWrist: 30, rightWrist: 70 });
    expect(isHeard(heard(going({ leftWrist: 30, pelvis: 0 }), plan, 5))).toBe(false);
  });
});
