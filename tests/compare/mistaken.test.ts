import { describe, expect, it } from 'vitest';
import type { Joint } from '../../src/base/joints.ts';
import { compareShot } from '../../src/compare/compareShot.ts';
import { mistakenSentence } from '../../src/compare/mistaken.ts';
import type { ShotPictures } from '../../src/compare/shot.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import { madePlan, madeShot } from './madeShots.ts';

const plan = madePlan('keeper', newPuppet);
const { shot, truth, camera } = madeShot(plan, null, { seed: 4, noisePx: 0.5 });

/** The shot in which a foot is found on the other one in some exposures, or so far from its own place. */
function foundElsewhere(
  from: number,
  to: number,
  { mm = null, marked = [], of = shot }: { mm?: number | null; marked?: readonly Joint[]; of?: ShotPictures } = {},
): ShotPictures {
  const paths = new Map(of.motion.paths);
  for (const part of ['Ankle', 'Heel', 'Toe'] as const) {
    const [path, other] = [paths.get(`left${part}`)!, of.motion.paths.get(`right${part}`)!];
    const is = (i: number) => i >= from && i <= to;
    paths.set(`left${part}`, {
      ...path,
      xPx: path.xPx.map((x, i) => (is(i) ? (mm === null ? other.xPx[i]! : x - mm * camera.scale) : x)),
      yPx: path.yPx.map((y, i) => (is(i) && mm === null ? other.yPx[i]! : y)),
    });
  }
  return { ...of, motion: { ...of.motion, paths }, marked: new Set(marked) };
}

describe('a foot that a detector took for the other one', () => {
  const feetApart = Math.abs(truth.get('leftAnkle')!.x[60]! - truth.get('rightAnkle')!.x[60]!);

  it('does not slide there and back, and is said not to be judged', () => {
    expect(feetApart).toBeGreaterThan(20);
    const { findings, mistaken, exposures } = compareShot(plan, foundElsewhere(60, 64))!;
    expect(mistaken).toEqual([{ limbs: 'legs', first: 58, last: 66 }]);
    expect(findings.map((f) => f.sentence)).toEqual([]);
    const [from, to] = [exposures[58]!.firstFrame + 1, exposures[67]!.firstFrame];
    expect(mistakenSentence(mistaken, exposures)).toBe(
      `Not judged, as left and right were taken for each other there: legs at frames ${from} to ${to}.`,
    );
  });

  it('slides where it did, in other exposures of the same stand', () => {
    const slid = madeShot(plan, 'footSlide', { seed: 8, noisePx: 0.5 });
    const { findings, mistaken } = compareShot(plan, foundElsewhere(58, 60, { of: slid.shot }))!;
    expect(slid.made!.lastFrame).toBeLessThan(plan.exposures[56]!.firstFrame);
    expect(mistaken).toEqual([{ limbs: 'legs', first: 56, last: 62 }]);
    expect(findings.map((f) => [f.kind, Math.abs(f.atFrame - slid.made!.firstFrame) <= 2])).toEqual([
      ['footSlide', true],
    ]);
  });

  it('slides where it is anywhere else, or was marked by hand', () => {
    const told = (of: ShotPictures) => compareShot(plan, of)!;
    const near = told(foundElsewhere(60, 64, { mm: 8 }));
    expect([near.mistaken.length, near.findings.map((f) => f.kind)]).toEqual([0, ['footSlide']]);
    const byHand = told(foundElsewhere(60, 64, { marked: ['leftAnkle', 'leftHeel', 'leftToe'] }));
    expect(byHand.mistaken).toEqual([]);
    expect(byHand.findings.some((f) => f.kind === 'footSlide')).toBe(true);
  });
});
