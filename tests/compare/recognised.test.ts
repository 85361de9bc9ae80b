import { describe, expect, it } from 'vitest';
import type { Joint } from '../../src/base/joints.ts';
import { compareShot } from '../../src/compare/compareShot.ts';
import { hardlySeen, unsureJoints } from '../../src/compare/recognised.ts';
import type { ShotPictures } from '../../src/compare/shot.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import { madePlan, madeShot } from './madeShots.ts';

const plan = madePlan('sideways25', newPuppet);
const sizeMm = 250;

/** A shot whose joints a detector saw, some of them with a confidence of their own in all pictures but each fourth. */
function seenBy(shot: ShotPictures, unsure: readonly Joint[], confidence: number): ShotPictures {
  const paths = new Map(
    [...shot.motion.paths].map(([joint, path]) => {
      const seen = path.confidence.map((_, i) => (unsure.includes(joint as Joint) && i % 4 > 0 ? confidence : 0.7));
      return [joint, { ...path, confidence: seen }] as const;
    }),
  );
  return { ...shot, motion: { ...shot.motion, paths }, marked: new Set() };
}

describe('a joint that a detector hardly knows', () => {
  const { shot } = madeShot(plan, null, { seed: 4, noisePx: 0.5 });

  it('is one it is unsure of in much of the shot, and what hangs on it', () => {
    const seen = seenBy(shot, ['leftElbow'], 0.25);
    expect([...hardlySeen(seen)]).toEqual(['leftElbow']);
    expect([...unsureJoints(seen, [], sizeMm)].sort()).toEqual(['leftElbow', 'leftWrist']);
    expect([...unsureJoints(seenBy(shot, ['leftElbow'], 0.6), [], sizeMm)]).toEqual([]);
  });

  it('is one that lies elsewhere in all of the shot by much', () => {
    const elsewhere = { joint: 'rightElbow', carrier: 'rightShoulder', furtherMm: -20, sizeMm: 20, sdMm: 1 } as const;
    const seen = seenBy(shot, [], 0);
    expect([...unsureJoints(seen, [elsewhere], sizeMm)].sort()).toEqual(['rightElbow', 'rightWrist']);
    expect([...unsureJoints(seen, [{ ...elsewhere, sizeMm: 6 }], sizeMm)]).toEqual([]);
  });

  it('is none that was marked by hand', () => {
    const seen = { ...seenBy(shot, ['leftWrist'], 0.2), marked: new Set<Joint>(['leftWrist']) };
    expect([...unsureJoints(seen, [], sizeMm)]).toEqual([]);
  });

  it('is not told to be off its place, and is named', () => {
    const off = (unsure: readonly Joint[]) => {
      const seen = seenBy(shot, unsure, 0.2);
      const path = seen.motion.paths.get('leftWrist')!;
      const xPx = path.xPx.map((x, i) => x + (i >= 12 && i < 18 ? 120 : 0));
      const paths = new Map([...seen.motion.paths, ['leftWrist', { ...path, xPx }] as const]);
      return compareShot(plan, { ...seen, motion: { ...seen.motion, paths } })!;
    };
    const told = (comparison: ReturnType<typeof off>) => comparison.findings.filter((f) => f.joint === 'leftWrist');
    expect(told(off([])).length).toBeGreaterThan(0);
    expect(told(off(['leftWrist']))).toEqual([]);
    expect(off(['leftWrist']).unsure).toEqual(['leftWrist']);
    expect(off([]).unsure).toEqual([]);
  });

  it('is no foot that slides where it lies on the other foot all the while', () => {
    const { shot: sliding, made, camera } = madeShot(plan, 'footSlide', { seed: 4, noisePx: 0.5 });
    const foot = new RegExp(`^${made!.what}(Ankle|Heel|Toe)$`);
    const told = (mm: number, isMarked: boolean) => {
      const seen = seenBy(sliding, [], 0);
      const paths = new Map(
        [...seen.motion.paths].map(([joint, path]) => {
          const xPx = path.xPx.map((x) => x + (foot.test(joint) ? mm * camera.scale : 0));
          return [joint, { ...path, xPx }] as const;
        }),
      );
      const marked = new Set(isMarked ? ([...paths.keys()] as Joint[]) : []);
      return compareShot(plan, { ...seen, motion: { ...seen.motion, paths }, marked })!.findings.some(
        (f) => f.kind === 'footSlide',
      );
    };
    expect([told(0, false), told(8, false), told(45, false)]).toEqual([true, true, false]);
    // What a hand marked is that foot, wherever it stands.
    expect(told(45, true)).toBe(true);
  });
});
