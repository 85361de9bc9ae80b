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
});
