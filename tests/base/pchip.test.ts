import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { hermite, hermiteSlope, pchipSlopes } from '../../src/base/pchip.ts';

/** Data "RPN 14" of Fritsch & Carlson 1980 (SIAM J. Numer. Anal. 17:238), rounded as the NAG library's example prints them. */
const x = [7.99, 8.09, 8.19, 8.7, 9.2, 10, 12, 15, 20];
const y = [0, 2.7643e-5, 4.375e-2, 0.16918, 0.46943, 0.94374, 0.99864, 0.99992, 0.99999];

function at(xs: readonly number[], ys: readonly number[], slopes: Float64Array, t: number) {
  const i = Math.min(xs.length - 2, Math.max(0, xs.findIndex((v) => v > t) - 1));
  const k = t >= xs.at(-1)! ? xs.length - 2 : i;
  const h = xs[k + 1]! - xs[k]!;
  const parts = [h, ys[k]!, ys[k + 1]!, slopes[k]!, slopes[k + 1]!, (t - xs[k]!) / h] as const;
  return { value: hermite(...parts), slope: hermiteSlope(...parts) };
}

describe('monotone cubic', () => {
  const slopes = pchipSlopes(x, y);

  it('has the published slopes at the nodes (NAG library manual, example data of e01bf), as far as the rounded data allow', () => {
    const published = [0, 5.5251e-4, 0.33587, 0.34944, 0.59696, 6.0326e-2, 8.98335e-4, 2.93954e-5, 0];
    published.forEach((want, i) => {
      expect(Math.abs(slopes[i]! - want)).toBeLessThanOrEqual(1e-3 * want + 1e-12);
    });
  });

  it('agrees with SciPy 1.17.1, PchipInterpolator, to rounding', () => {
    const xs = [1, 2, 3, 5, 6, 8, 9, 11, 12, 14, 15];
    const ys = [10, 10, 10, 10, 10, 10, 10.5, 15, 50, 60, 95];
    const d = pchipSlopes(xs, ys);
    const scipy = [0, 0, 0, 0, 0, 0, 0.7641509433962264, 4.685950413223141, 9.545454545454545, 9.545454545454545, 45];
    scipy.forEach((want, i) => {
      expect(d[i]).toBeCloseTo(want, 12);
    });
    expect(at(xs, ys, d, 10).value).toBeCloseTo(11.76955013254327, 12);
    expect(at(xs, ys, d, 14.5).value).toBeCloseTo(73.06818181818181, 12);
  });

  it('goes through the published values and slopes between them (NAG library manual, results of e01bg)', () => {
    const published: [number, number, number][] = [
      [9.191, 0.464, 6.06e-1],
      [10.392, 0.9645, 4.569e-2],
      [11.593, 0.9965, 9.917e-3],
      [12.794, 0.9992, 6.249e-4],
      [13.995, 0.9998, 2.708e-4],
      [15.196, 0.9999, 2.809e-5],
      [16.397, 1, 2.034e-5],
    ];
    for (const [t, value, slope] of published) {
      const got = at(x, y, slopes, t);
      expect(Math.abs(got.value - value)).toBeLessThanOrEqual(5.1e-5);
      expect(Math.abs(got.slope - slope)).toBeLessThanOrEqual(slope * 1e-3);
    }
  });

  it('never turns between points that do not', () => {
    const rises = fc.array(fc.tuple(fc.double({ min: 0.01, max: 5, noNaN: true }), fc.constantFrom(0, 0.01, 1, 50)), {
      minLength: 2,
      maxLength: 9,
    });
    fc.assert(
      fc.property(rises, (steps) => {
        const xs = [0];
        const ys = [0];
        for (const [dx, dy] of steps) {
          xs.push(xs.at(-1)! + dx);
          ys.push(ys.at(-1)! + dy);
        }
        const d = pchipSlopes(xs, ys);
        let before = 0;
        for (let i = 0; i <= 200; i++) {
          const { value } = at(xs, ys, d, (xs.at(-1)! * i) / 200);
          expect(value).toBeGreaterThanOrEqual(before - 1e-9);
          before = value;
        }
      }),
    );
  });

  it('does not fall below the flat part of the data of Akima 1970 (J. ACM 17:589)', () => {
    const xs = [1, 2, 3, 5, 6, 8, 9, 11, 12, 14, 15];
    const ys = [10, 10, 10, 10, 10, 10, 10.5, 15, 50, 60, 95];
    const d = pchipSlopes(xs, ys);
    for (let t = 1; t <= 15; t += 0.05) expect(at(xs, ys, d, t).value).toBeGreaterThanOrEqual(10 - 1e-12);
    expect(at(xs, ys, d, 7).value).toBe(10);
  });
});
