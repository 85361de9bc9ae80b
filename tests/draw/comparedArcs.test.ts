import { describe, expect, it } from 'vitest';
import type { ComparedArc } from '../../src/compare/comparedArc.ts';
import { layOutComparedArc, offAt } from '../../src/draw/comparedArcs.ts';
import { layOutComparedSpacing, stepsInto } from '../../src/draw/comparedSpacing.ts';
import { plateWidth } from '../../src/draw/plate.ts';
import { drawRuler } from '../../src/draw/rulerMarks.ts';
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

  it('have a length that says what it is measured from, and is read at the edges of the picture, too', () => {
    for (const shift of [-600, -300, 0, 300, 600]) {
      const place = (x: number, y: number) => [180 + shift + 5 * x, -150 + shift + 5 * y] as const;
      const { marks } = layOutComparedArc(arc, { ...overlay, place });
      const name = marks.find((m) => m.id === 'compared-leftWrist-name-shot');
      expect(name).toMatchObject({ kind: 'text', text: '6.0 mm off the plan' });
      if (name?.kind !== 'text') continue;
      const half = plateWidth(name.text) / 2;
      expect(name.x - half).toBeGreaterThanOrEqual(0);
      expect(name.x + half).toBeLessThanOrEqual(overlay.width);
      expect(name.y).toBeGreaterThan(0);
      expect(name.y).toBeLessThanOrEqual(overlay.height);
    }
  });

  it('leave out poses that are not known', () => {
    const unknown = { ...arc, shot: arc.shot.map((p, k) => (k === 4 ? ([Number.NaN, Number.NaN] as const) : p)) };
    const scene = layOutComparedArc(unknown, overlay);
    expect(scene.marks.some((m) => m.kind === 'path' && m.d.includes('NaN'))).toBe(false);
    expect(scene.marks.some((m) => m.role === 'deviation')).toBe(false);
    expect(scene.marks.filter((m) => m.role === 'shotPose')).toHaveLength(8);
  });
});

describe('spacing against spacing', () => {
  const mm = { perMm: 1, name: 'mm' } as const;
  const size = { width: 300, height: 128 };

  it('has a hollow bar for what was planned and a full one for what was shot', () =>
    expectGolden('comparedSpacing', layOutComparedSpacing(arc, 13, mm, size), 'light'));

  it('is said in words, in inches too', () => {
    const step = 2 * 40 * Math.sin(0.11);
    expect(stepsInto(arc.plan)[3]).toBeCloseTo(step, 9);
    expect(layOutComparedSpacing(arc, null, mm, size).summary).toBe(
      `Into frame 29 the left wrist was to go ${step.toFixed(1)} mm; it went ${stepsInto(arc.shot)[3]!.toFixed(1)} mm.`,
    );
    const inches = layOutComparedSpacing(arc, null, { perMm: 1 / 25.4, name: 'in' }, size);
    expect(inches.summary).toContain(`was to go ${(step / 25.4).toFixed(2)} in;`);
  });
});

describe('a ruler in a picture', () => {
  it('has its length beside its middle, on the higher side, and none while it is not known', () => {
    for (const [from, to] of [
      [
        [10, 100],
        [110, 100],
      ],
      [
        [110, 100],
        [10, 100],
      ],
    ] as const) {
      const label = drawRuler(from, to, '80 mm').find((m) => m.kind === 'text');
      expect(label).toMatchObject({ x: 60, text: '80 mm' });
      expect(label?.kind === 'text' && label.y).toBeLessThan(100);
    }
    expect(drawRuler([10, 100], [110, 100], '').some((m) => m.kind === 'text')).toBe(false);
    expect(drawRuler([10, 100], [10, 100], '').some((m) => m.kind === 'path' && m.d.includes('NaN'))).toBe(false);
  });
});
