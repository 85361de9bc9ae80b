import { describe, expect, test } from 'vitest';
import { type AnewPoint, layOutAnewArcs } from '../../src/draw/anewArcs.ts';
import { boxOf, type PathMark } from '../../src/draw/scene.ts';

const point = (frame: number, xMm: number, yMm: number): AnewPoint => ({
  ...{ frame, xMm, yMm },
  isExposed: frame % 2 === 0,
});
const arcs = {
  words: 'left wrist',
  before: [point(2, -10, 0), point(4, 0, 0)],
  was: [4, 5, 6, 7, 8].map((k) => point(k, 10 * (k - 4), 0)),
  is: [point(4, 0, 12), point(6, 25, 9), point(7, 32, 3), point(8, 40, 0)],
  keyFrame: 8,
};

describe('ways laid anew', () => {
  const scene = layOutAnewArcs(arcs, { width: 320, height: 206 });
  const mark = (id: string) => boxOf((scene.marks.find((m) => m.id === id) as PathMark).d);
  const middle = (id: string) => [(mark(id).left + mark(id).right) / 2, (mark(id).top + mark(id).bottom) / 2] as const;

  test('are drawn at one scale, up is up, with the bar as long as it says', () => {
    const [stands, key, was] = [middle('stands'), middle('key'), middle('was-4')];
    const pxPerMm = (key[0] - stands[0]) / 40;
    expect(was[1] - stands[1]).toBeCloseTo(12 * pxPerMm, 3);
    const said = scene.marks.find((m) => m.id === 'bar-mm');
    const barMm = said?.kind === 'text' ? Number.parseInt(said.text, 10) : 0;
    expect(mark('bar').right - mark('bar').left).toBeCloseTo(barMm * pxPerMm, 3);
  });

  test('have a sign at each exposure, and nothing sticks out or lies over what the signs mean', () => {
    const ids = scene.marks.map((m) => m.id);
    expect(new Set(ids).size).toBe(ids.length);
    expect(ids.filter((id) => /^(was|is)-\d/.test(id)).sort()).toEqual(
      ['was-2', 'was-4', 'was-6', 'was-8', 'is-6', 'is-8'].sort(),
    );
    for (const m of scene.marks)
      if (m.kind === 'path') {
        const { left, right, top, bottom } = boxOf(m.d);
        expect(Math.min(left, top, 320 - right, 206 - bottom), m.id).toBeGreaterThanOrEqual(0);
      }
    for (const id of ['is', 'was', 'before', 'key']) expect(mark(id).bottom).toBeLessThan(mark('bar').top);
  });

  test('are nothing but their signs where no place is known', () => {
    const empty = layOutAnewArcs({ ...arcs, before: [], was: [], is: [] }, { width: 320, height: 206 });
    expect(empty.marks.every((m) => /^(legend|bar)/.test(m.id))).toBe(true);
    for (const m of empty.marks) if (m.kind === 'path') expect(m.d).not.toMatch(/NaN|Infinity/);
  });
});
