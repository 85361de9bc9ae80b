import { describe, expect, it } from 'vitest';
import { findLayers } from '../../src/flow/layers.ts';
import { type ExpectedMove, patchAround, patchStep } from '../../src/flow/patchStep.ts';
import { gaussian, seeded } from '../make.ts';
import { moved, picture, type Surface, texture } from './madePictures.ts';

const wall = texture(71);
const sleeve = texture(72, 30);
const hand = texture(73, 35);
const reachPx = 14;

/** A picture of a wall with a limb before it: a band whose middle is at (x, y), `halfWidthPx` to either side. */
function limb(x: number, y: number, halfWidthPx: number): Surface {
  return (u, v) => (Math.abs(v - y) < halfWidthPx ? sleeve(u - x + 80, v - y + 60) : wall(u, v));
}

const noise = 1.5;
const pair = (before: Surface, after: Surface) =>
  [picture(before, { noise, seed: 1 }), picture(after, { noise, seed: 2 })] as const;

/** How far a step is from the truth, in its own standard deviations along one axis, and in pixels. */
function judge(step: { dxPx: number; dyPx: number; sdPx: number }, dx: number, dy: number) {
  const px = Math.hypot(step.dxPx - dx, step.dyPx - dy);
  return { px, sds: px / step.sdPx };
}

describe('findLayers', () => {
  it('finds each cluster with its middle, spread and share, and one for a single one', () => {
    const draw = gaussian(seeded(3));
    const [dx, dy, weight] = [[] as number[], [] as number[], [] as number[]];
    for (let k = 0; k < 90; k++) {
      const second = k % 3 === 0;
      dx.push((second ? 7 : 0) + 0.2 * draw());
      dy.push((second ? -4 : 0) + 0.2 * draw());
      weight.push(1);
    }
    const layers = findLayers(dx, dy, weight, 1).sort((a, b) => a.dxPx - b.dxPx);
    expect(layers).toHaveLength(2);
    expect(layers[0]!.share).toBeCloseTo(2 / 3, 1);
    expect(layers[1]!.dxPx).toBeCloseTo(7, 0);
    expect(layers[1]!.dyPx).toBeCloseTo(-4, 0);
    expect(layers[1]!.share).toBeCloseTo(1 / 3, 1);
    for (const l of layers) expect(Math.abs(l.spreadPx - 0.2)).toBeLessThan(0.06);
    expect(
      findLayers(
        dx.map(() => 2),
        dy.map(() => 3),
        weight,
        1,
      ),
    ).toHaveLength(1);
  });

  it('does not count points without weight, be they anywhere or nowhere', () => {
    const [one] = findLayers([1, Number.NaN, 50], [2, Number.NaN, 50], [1, 0, 0], 1);
    expect(one).toEqual({ dxPx: 1, dyPx: 2, spreadPx: 0, share: 1 });
    expect(findLayers([1], [1], [0], 1)).toEqual([]);
  });
});

describe('patchStep', () => {
  it('finds the move of a patch that moves as one, and is sure of it', () => {
    const step = patchStep(
      picture(wall, { noise, seed: 1 }),
      picture(wall, { noise, seed: 2, look: moved(3.3, -1.7) }),
      patchAround(80, 60, reachPx),
    );
    expect(judge(step, 3.3, -1.7).px).toBeLessThan(0.05);
    expect(step.sdPx).toBeLessThan(0.3);
    expect(step.share).toBeGreaterThan(0.8);
  });

  it('is as sure of standing still', () => {
    const step = patchStep(...pair(wall, wall), patchAround(80, 60, reachPx));
    expect(judge(step, 0, 0).px).toBeLessThan(0.03);
    expect(step.sdPx).toBeLessThan(0.25);
  });

  describe('where most of the patch is a wall that stands still', () => {
    const pictures = pair(limb(80, 60, 8), limb(88, 62, 8));
    const patch = patchAround(80, 61, 2 * reachPx);

    it('takes the limb when something like its move is expected', () => {
      const expected: ExpectedMove = { dxPx: 6.5, dyPx: 4, sdPx: 1.5 };
      const step = patchStep(...pictures, patch, expected);
      expect(judge(step, 8, 2).px).toBeLessThan(0.6);
      expect(judge(step, 8, 2).sds).toBeLessThan(2);
      expect(step.share).toBeLessThan(0.5);
    });

    it('takes the wall when rest is expected', () => {
      const step = patchStep(...pictures, patch, { dxPx: 0.5, dyPx: -0.5, sdPx: 1 });
      expect(judge(step, 0, 0).px).toBeLessThan(1);
      expect(judge(step, 0, 0).sds).toBeLessThan(2);
    });

    it('is unsure by about the distance between them when nothing is known', () => {
      const step = patchStep(...pictures, patch);
      expect(step.sdPx).toBeGreaterThan(1);
      expect(judge(step, 8, 2).sds).toBeLessThan(4);
    });
  });

  it('finds a thin limb that moved far, which coarse levels do not see, near where it is expected', () => {
    const pictures = pair(limb(70, 60, 5), limb(85, 64, 5));
    const patch = patchAround(70, 60, reachPx);
    const step = patchStep(...pictures, patch, { dxPx: 13, dyPx: 5, sdPx: 2 });
    expect(judge(step, 15, 4).px).toBeLessThan(0.6);
    expect(judge(step, 15, 4).sds).toBeLessThan(2);
  });

  it('is unsure while a hand passes over a limb at rest, and sure again with the expectation of rest', () => {
    const passing =
      (x: number): Surface =>
      (u, v) =>
        Math.abs(u - x) < 9 ? hand(u - x + 40, v) : limb(80, 60, 12)(u, v);
    const pictures = pair(passing(70), passing(76));
    const patch = patchAround(80, 60, reachPx);
    expect(patchStep(...pictures, patch).sdPx).toBeGreaterThan(0.8);
    const resting = patchStep(...pictures, patch, { dxPx: 0, dyPx: 0, sdPx: 0.7 });
    expect(judge(resting, 0, 0).px).toBeLessThan(0.3);
  });

  it('doubts what is far from what is expected', () => {
    const pictures = pair(wall, wall);
    const patch = patchAround(80, 60, reachPx);
    const sd = (dxPx: number) => patchStep(...pictures, patch, { dxPx, dyPx: 0, sdPx: 1 }).sdPx;
    expect(sd(0)).toBeLessThan(0.5);
    expect(sd(8)).toBeGreaterThan(2);
    expect(sd(8)).toBeGreaterThan(4 * sd(2));
  });

  it('is less sure with blur and noise than with a sharp picture, and no surer than it may be', () => {
    const trial = (contrast: number, shortestPx: number, amount: number) => {
      const errors: number[] = [];
      const sds: number[] = [];
      for (let seed = 0; seed < 8; seed++) {
        const surface = texture(100 + seed, contrast, shortestPx);
        const step = patchStep(
          picture(surface, { noise: amount, seed: 300 + seed }),
          picture(surface, { noise: amount, seed: 400 + seed, look: moved(2.2, 1.1) }),
          patchAround(80, 60, reachPx),
        );
        if (Number.isNaN(step.sdPx)) continue;
        errors.push(judge(step, 2.2, 1.1).sds);
        sds.push(step.sdPx);
      }
      return { worst: Math.max(0, ...errors), sd: sds.length ? sds.reduce((a, b) => a + b) / sds.length : Infinity };
    };
    const sharp = trial(40, 5, 1);
    const faint = trial(8, 18, 3);
    expect(sharp.worst).toBeLessThan(3);
    expect(faint.worst).toBeLessThan(3.5);
    expect(faint.sd).toBeGreaterThan(1.5 * sharp.sd);
  });

  it('has no answer on a flat wall, outside the picture, or when everything changed', () => {
    const flat = picture(() => 120);
    const lost = { dxPx: Number.NaN, dyPx: Number.NaN, sdPx: Number.NaN, share: 0 };
    expect(patchStep(flat, flat, patchAround(80, 60, reachPx))).toEqual(lost);
    const [before, after] = pair(wall, wall);
    expect(patchStep(before, after, patchAround(-50, 60, reachPx))).toEqual(lost);
    expect(patchStep(before, after, patchAround(Number.NaN, 60, reachPx))).toEqual(lost);
    const [, other] = pair(wall, texture(99));
    const changed = patchStep(before, other, patchAround(80, 60, reachPx));
    expect(Number.isNaN(changed.sdPx) || changed.share < 0.25).toBe(true);
  });
});
