import { describe, expect, it } from 'vitest';
import type { Joint } from '../../src/base/joints.ts';
import { type Astray, astraySentence } from '../../src/compare/astray.ts';
import { compareShot } from '../../src/compare/compareShot.ts';
import type { ShotPictures } from '../../src/compare/shot.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import type { JointPath } from '../../src/track/motion.ts';
import { madePlan, madeShot } from './madeShots.ts';

const plan = madePlan('sideways25', newPuppet);
const { shot, camera } = madeShot(plan, null, { seed: 4, noisePx: 0.5 });
const pxPerMm = camera.scale;

/** The shot as if its joints were marked in its first picture and followed from there, some of them then changed. */
function marked(
  change: (joint: Joint, path: JointPath) => JointPath,
  isSet: (joint: Joint, i: number) => boolean = () => false,
): ShotPictures {
  const joints = ([...shot.motion.paths.keys()] as Joint[]).filter((joint) => !/Hand|Heel|Toe/.test(joint));
  const paths = new Map(
    joints.map((joint) => {
      const path = shot.motion.paths.get(joint)!;
      const confidence = path.confidence.map((_, i) => (i === 0 || isSet(joint, i) ? 1 : 0.9));
      return [joint, change(joint, { ...path, confidence })] as const;
    }),
  );
  return { ...shot, motion: { ...shot.motion, paths }, marked: new Set(joints) };
}

const within = (i: number) => i >= 8 && i <= 13;
/** The left wrist lies so far to the right of where it is, millimetres. */
const wristAt = (mm: number) => (joint: Joint, path: JointPath) =>
  joint === 'leftWrist' ? { ...path, xPx: path.xPx.map((x, i) => x + (within(i) ? mm * pxPerMm : 0)) } : path;

describe('a marked point that left its joint', () => {
  it('is asked about where it did, and judged nowhere there', () => {
    const { astray, findings, exposures } = compareShot(plan, marked(wristAt(40)))!;
    expect(astray).toHaveLength(1);
    const [gone] = astray as [Astray];
    expect([gone.joint, gone.first, gone.last]).toEqual(['leftWrist', 8, 13]);
    expect(gone.offMm).toBeGreaterThan(30);
    expect(gone.offMm).toBeLessThan(45);
    expect(findings.filter((f) => f.joint === 'leftWrist')).toEqual([]);
    expect(astraySentence(astray, exposures)).toBe(
      'Not judged, as the marked point may have left its joint: left wrist at frames 17 to 27.',
    );
    expect(astraySentence([], exposures)).toBe('');
  });

  it('is asked about where its limb would have grown, though its joint may have come so far', () => {
    const elbow = shot.motion.paths.get('leftElbow')!;
    /** The wrist slips off along the forearm, over the hand, millimetres. */
    const along = (mm: number) => (joint: Joint, path: JointPath) => {
      if (joint !== 'leftWrist') return path;
      const far = (i: number) => Math.hypot(path.xPx[i]! - elbow.xPx[i]!, path.yPx[i]! - elbow.yPx[i]!);
      const slip = (own: Float64Array, from: Float64Array) =>
        own.map((v, i) => v + (within(i) ? (mm * pxPerMm * (v - from[i]!)) / far(i) : 0));
      return { ...path, xPx: slip(path.xPx, elbow.xPx), yPx: slip(path.yPx, elbow.yPx) };
    };
    const { astray } = compareShot(plan, marked(along(13)))!;
    expect(astray.map(({ joint, first, last }) => [joint, first, last])).toEqual([['leftWrist', 8, 13]]);
    expect(astray[0]!.offMm).toBeGreaterThan(9);
    expect(astray[0]!.offMm).toBeLessThan(15);
    // Nearer than that it may be the hand that is off.
    expect(compareShot(plan, marked(along(6)))!.astray).toEqual([]);
    expect(
      compareShot(
        plan,
        marked(along(13), (joint, i) => joint === 'leftWrist' && i === 10),
      )!.astray,
    ).toEqual([]);
  });

  it('is believed where a hand put it: then the pose is off', () => {
    const { astray, findings } = compareShot(
      plan,
      marked(wristAt(40), (joint, i) => joint === 'leftWrist' && i === 10),
    )!;
    expect(astray).toEqual([]);
    expect(findings.find((f) => f.joint === 'leftWrist')?.size).toBeGreaterThan(30);
  });

  it('is asked about where two followings disagree, wherever it is', () => {
    const disagree = (joint: Joint, path: JointPath) =>
      joint === 'leftWrist' ? { ...path, sdPx: path.sdPx.map((sd, i) => (within(i) ? 10 * pxPerMm : sd)) } : path;
    const { astray } = compareShot(plan, marked(disagree))!;
    expect(astray.map(({ joint, first, last, offMm }) => [joint, first, last, offMm])).toEqual([
      ['leftWrist', 8, 13, null],
    ]);
  });

  it('is none that a hand set a little wrong, nor one of a body that stands elsewhere, nor any in a good shot', () => {
    expect(
      compareShot(
        plan,
        marked((_, path) => path),
      )!.astray,
    ).toEqual([]);
    const slightly = compareShot(plan, marked(wristAt(8)))!;
    expect(slightly.astray).toEqual([]);
    expect(slightly.findings[0]).toMatchObject({ joint: 'leftWrist' });
    const whole = (_: Joint, path: JointPath) => ({
      ...path,
      xPx: path.xPx.map((x, i) => x + (within(i) ? 30 * pxPerMm : 0)),
    });
    expect(compareShot(plan, marked(whole))!.astray).toEqual([]);
  });

  it('is none where joints were not marked', () => {
    const { marked: _, ...asFound } = marked(wristAt(40));
    expect(compareShot(plan, asFound)!.astray).toEqual([]);
    expect(compareShot(plan, { ...asFound, marked: new Set() })!.astray).toEqual([]);
  });
});
