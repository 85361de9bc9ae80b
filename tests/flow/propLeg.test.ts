import { describe, expect, it } from 'vitest';
import { PropLeg } from '../../src/flow/propLeg.ts';
import type { Pyramid } from '../../src/flow/pyramid.ts';
import { picture, type Surface, texture } from './madePictures.ts';

const cloth = texture(61);
const board = texture(62, 25, 20);
/** The cloth goes to the right by 3 px a picture, behind a board from 110 px on. */
const at =
  (k: number): Surface =>
  (u, v) =>
    u > 110 ? board(u, v) : cloth(u - 3 * k, v);
const pictures = Array.from({ length: 34 }, (_, k) => picture(at(k), { noise: 2, seed: 300 + k }));

function walk(leg: PropLeg, order: readonly number[]) {
  let before: Pyramid | null = null;
  for (const k of order) {
    leg.take(k, before, pictures[k]!);
    before = pictures[k]!;
  }
  return leg.trace();
}
const all = pictures.map((_, k) => k);

describe('PropLeg', () => {
  it('follows from its first picture to its last, and is deaf to others', () => {
    const leg = new PropLeg({ from: 4, to: 12, xPx: 60, yPx: 60 });
    const { xPx, lost } = walk(leg, all);
    expect(xPx.length).toBe(9);
    xPx.forEach((x, k) => {
      expect(Math.abs(x - 60 - 3 * k)).toBeLessThan(0.3);
    });
    expect(lost).toBeNull();
    expect(leg.isDone).toBe(true);
  });

  it('goes backward in time as well', () => {
    const { xPx } = walk(new PropLeg({ from: 12, to: 2, xPx: 84, yPx: 60 }), [...all].reverse());
    expect(xPx.length).toBe(11);
    expect(Math.abs(xPx[10]! - 54)).toBeLessThan(0.3);
  });

  it('says where it lost the point, and does not tell where it went astray at the edge', () => {
    const trace = walk(new PropLeg({ from: 0, to: 33, xPx: 60, yPx: 60 }), all);
    const { xPx, lost } = trace;
    expect(lost).not.toBeNull();
    // It meets the edge at picture 17.
    expect(lost!.picture).toBeGreaterThan(12);
    expect(lost!.picture).toBeLessThan(23);
    xPx.forEach((x, k) => {
      if (!Number.isNaN(x)) expect(Math.abs(x - 60 - 3 * k)).toBeLessThan(2);
    });
    expect(xPx.filter((x) => !Number.isNaN(x)).length).toBeGreaterThan(10);
  });

  it('goes on from where it ended as if it had never stopped, even where the point is lost just then', () => {
    const whole = walk(new PropLeg({ from: 2, to: 33, xPx: 60, yPx: 60 }), all);
    for (const end of [3, 9, whole.lost!.picture, whole.lost!.picture + 3]) {
      const leg = new PropLeg({ from: 2, to: end, xPx: 60, yPx: 60 });
      walk(leg, all);
      expect(leg.isDone).toBe(true);
      expect(leg.lastTaken).toBe(end);
      leg.goOnTo(33);
      // Pictures that it took already are no matter either.
      expect(walk(leg, all.slice(leg.lastTaken - 1))).toEqual(whole);
    }
    const back = walk(new PropLeg({ from: 12, to: 2, xPx: 84, yPx: 60 }), [...all].reverse());
    const leg = new PropLeg({ from: 12, to: 8, xPx: 84, yPx: 60 });
    walk(leg, [...all].reverse());
    leg.goOnTo(2);
    expect(walk(leg, all.slice(0, 9).reverse())).toEqual(back);
  });
});
