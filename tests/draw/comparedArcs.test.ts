import { describe, expect, it } from 'vitest';
import type { ComparedArc } from '../../src/compare/comparedArc.ts';
import { layOutComparedArc, offAt } from '../../src/draw/comparedArcs.ts';
import { expectGolden } from './expectGolden.ts';

const angle = (k: number) => 3.6 - 0.22 * k;
const onCircle = (k: number, r: number) => [40 + r * Math.cos(angle(k)), 60 + r * Math.sin(angle(k))] as const;
const poses = Array.from({ length: 9 }, (_, k) => k);
const fine = Array.from({ length: 33 }, (_, k) => k / 4);
/** A hand on its way around; in the fifth pose it is 6 mm outside. */
const arc: ComparedArc = {
  joint: 'leftWrist',
  exposures: poses.map((k) => k + 10),
  frames: poses.map((k) => 20 + 2 * k),
  at: 4,
  against: 'pose',
  plan: poses.map((k) => onCircle(k, 40)),
  shot: poses.map((k) => onCircle(k, k === 4 ? 46 : 40.5)),
  planCurve: fine.map((k) => onCircle(k, 40)),
  shotCurve: fine.map((k) => onCircle(k, 40.5 + 5.5 * Math.max(0, 1 - Math.abs(k - 4)))),
  sdMm: 0.6,
};
const overlay = {
  width: 480,
  height: 360,
  place: (x: number, y: number) => [180 + 5 * x, -150 + 5 * y] as const,
  perMm: 5,
  said: (mm: number) => `${mm.toFixed(1)} mm`,
  exposure: 12,
};

describe('both arcs over a picture', () => {
  it('are told apart by more than their colour, with the way between them', () =>
    expectGolden('comparedArcs', layOutComparedArc(arc, overlay), 'light'));

  it('are said in words', () => {
    const { summary } = layOutComparedArc(arc, overlay);
    expect(summary).toBe('The left wrist as planned (broken) and as shot (unbroken), 6.0 mm apart at frame 29.');
    expect(offAt(arc)).toBeCloseTo(6, 9);
  });

  it('leave out poses that are not known', () => {
    const unknown = { ...arc, shot: arc.shot.map((p, k) => (k === 4 ? ([Number.NaN, Number.NaN] as const) : p)) };
    const scene = layOutComparedArc(unknown, overlay);
    expect(scene.marks.some((m) => m.kind === 'path' && m.d.includes('NaN'))).toBe(false);
    expect(scene.marks.some((m) => m.role === 'deviation')).toBe(false);
    expect(scene.marks.filter((m) => m.role === 'shotPose')).toHaveLength(8);
  });
});
