import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { partnersOf, warpSequences } from '../../src/compare/warp.ts';

const between = (x: readonly number[], y: readonly number[], power: 1 | 2 = 1, options = {}) =>
  warpSequences(x.length, y.length, (i, j) => Math.abs(x[i]! - y[j]!) ** power, options);

describe('dynamic time warping', () => {
  // README of the Python module dtw, https://gitee.com/beeworkshop/dtw
  it('finds the distance of two short waves', () => {
    expect(between([2, 0, 1, 1, 2, 4, 2, 1, 2, 0], [1, 1, 2, 4, 2, 1, 2, 0]).cost).toBeCloseTo(2, 12);
  });

  // https://www.aeon-toolkit.org/en/v0.4.0/api_reference/auto_generated/aeon.distances.dtw_distance.html
  it('finds the distance of two ramps in squares', () => {
    const ramp = (from: number) => Array.from({ length: 10 }, (_, i) => from + i);
    expect(between(ramp(1), ramp(11), 2).cost).toBeCloseTo(768, 12);
  });

  // Sequences of the dtaidistance documentation; the value worked out by hand.
  it('finds the root of a sum of squares', () => {
    const cost = between([0, 0, 1, 2, 1, 0, 1, 0, 0], [0, 1, 2, 0, 0, 0, 0, 0, 0], 2).cost;
    expect(Math.sqrt(cost)).toBeCloseTo(Math.SQRT2, 6);
  });

  it('passes its anchors, and never costs less for it', () => {
    const values = fc.array(fc.integer({ min: 0, max: 9 }), { minLength: 4, maxLength: 14 });
    fc.assert(
      fc.property(values, values, fc.double({ min: 0, max: 1, noNaN: true }), (x, y, share) => {
        const anchor = [Math.floor(share * (x.length - 1)), Math.floor((1 - share) * (y.length - 1))] as const;
        const free = between(x, y);
        const held = between(x, y, 1, { anchors: [anchor] });
        expect(held.pairs.some(([i, j]) => i === anchor[0] && j === anchor[1])).toBe(true);
        expect(held.cost).toBeGreaterThanOrEqual(free.cost - 1e-9);
        const told = held.pairs.reduce((sum, [i, j]) => sum + Math.abs(x[i]! - y[j]!), 0);
        expect(held.cost).toBeCloseTo(told, 9);
        for (let s = 1; s < held.pairs.length; s++) {
          const [di, dj] = [held.pairs[s]![0] - held.pairs[s - 1]![0], held.pairs[s]![1] - held.pairs[s - 1]![1]];
          expect([di, dj].every((d) => d === 0 || d === 1) && di + dj > 0).toBe(true);
        }
        expect(held.pairs.at(-1)).toEqual([x.length - 1, y.length - 1]);
      }),
    );
  });

  it('stays within its window, and finds a way through one that is too narrow', () => {
    const x = Array.from({ length: 20 }, (_, i) => (i < 12 ? 0 : 1));
    const y = Array.from({ length: 20 }, (_, i) => (i < 4 ? 0 : 1));
    expect(between(x, y).cost).toBe(0);
    const held = between(x, y, 1, { window: 3 });
    expect(held.cost).toBeGreaterThan(0);
    expect(held.pairs.every(([i, j]) => Math.abs(i - j) <= 3)).toBe(true);
    expect(between([1, 2], [1, 2, 2, 2, 2, 2, 2], 1, { window: 0 }).cost).toBe(0);
  });

  it('tells each place its partners', () => {
    expect([...partnersOf(between([1, 2, 3], [1, 1, 2, 3]), 3)]).toEqual([0.5, 2, 3]);
  });
});
