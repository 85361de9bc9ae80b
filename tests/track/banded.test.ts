import { describe, expect, it } from 'vitest';
import { factorBand, invertInBand, makeBand, solveBand } from '../../src/track/banded.ts';
import { seeded } from '../make.ts';

/** A diagonally dominant band matrix, dense. */
function madeMatrix(size: number, halfWidth: number): number[][] {
  const random = seeded(size + halfWidth);
  const dense = Array.from({ length: size }, () => new Array<number>(size).fill(0));
  for (let i = 0; i < size; i++)
    for (let j = Math.max(0, i - halfWidth); j <= i; j++) {
      const v = i === j ? 2 * halfWidth + 1 + random() : random() - 0.5;
      dense[i]![j] = v;
      dense[j]![i] = v;
    }
  return dense;
}

function bandOf(dense: number[][], halfWidth: number) {
  const band = makeBand(dense.length, halfWidth);
  dense.forEach((row, i) => {
    for (let j = Math.max(0, i - halfWidth); j <= i; j++) band.entries[i * (halfWidth + 1) + i - j] = row[j]!;
  });
  return band;
}

describe('band matrices', () => {
  it.each([
    [1, 1],
    [7, 2],
    [40, 5],
  ])('solve and invert like their dense form (%i unknowns, half width %i)', (size, halfWidth) => {
    const dense = madeMatrix(size, halfWidth);
    const factor = bandOf(dense, halfWidth);
    factorBand(factor);
    const inverse = makeBand(size, halfWidth);
    invertInBand(factor, inverse);
    for (let column = 0; column < size; column++) {
      const x = Float64Array.from({ length: size }, (_, i) => (i === column ? 1 : 0));
      solveBand(factor, x);
      // A·x must be the unit vector, and x the inverse's column wherever the band reaches.
      dense.forEach((row, i) => {
        const product = row.reduce((sum, v, j) => sum + v * x[j]!, 0);
        expect(product).toBeCloseTo(i === column ? 1 : 0, 10);
        if (i >= column && i - column <= halfWidth)
          expect(inverse.entries[i * (halfWidth + 1) + i - column]).toBeCloseTo(x[i]!, 10);
      });
    }
  });

  it('an unknown that nothing fixes comes out finite', () => {
    const band = makeBand(3, 1);
    band.entries[0] = 1;
    band.entries[4] = 1;
    factorBand(band);
    const x = Float64Array.of(2, 0, 3);
    solveBand(band, x);
    expect(x[0]).toBeCloseTo(2);
    expect(Array.from(x).every(Number.isFinite)).toBe(true);
  });
});
