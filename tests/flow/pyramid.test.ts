import { describe, expect, it } from 'vitest';
import { makePyramid } from '../../src/flow/pyramid.ts';
import { photograph, texture } from './madePictures.ts';

const sizes = (p: ReturnType<typeof makePyramid>) => p.levels.map((l) => [l.width, l.height]);

describe('makePyramid', () => {
  it('halves each side, rounding up, and keeps the full size as it is', () => {
    const bytes = photograph(texture(1), { widthPx: 101, heightPx: 64 });
    const pyramid = makePyramid(bytes, 101, 64, 3);
    expect(sizes(pyramid)).toEqual([
      [101, 64],
      [51, 32],
      [26, 16],
    ]);
    expect([...pyramid.levels[0]!.luma]).toEqual([...bytes]);
  });

  it('makes no level on which nothing could be told apart', () => {
    expect(sizes(makePyramid(new Uint8Array(40 * 20), 40, 20, 9))).toEqual([
      [40, 20],
      [20, 10],
    ]);
  });

  it('keeps even brightness and even slopes', () => {
    const slope = Float32Array.from({ length: 64 * 64 }, (_, i) => 10 + 2 * (i % 64) - 0.5 * Math.floor(i / 64));
    const half = makePyramid(slope, 64, 64, 2).levels[1]!;
    for (let row = 1; row < 31; row++)
      for (let column = 1; column < 31; column++)
        expect(half.luma[row * 32 + column]).toBeCloseTo(10 + 4 * column - row, 4);
    const even = makePyramid(new Float32Array(64 * 64).fill(7), 64, 64, 4);
    for (const level of even.levels) expect(Math.max(...level.luma.map((v) => Math.abs(v - 7)))).toBeLessThan(1e-5);
  });

  it('weighs by 1 4 6 4 1 with the picture mirrored about its outermost pixels', () => {
    const [width, height] = [19, 17];
    const bytes = photograph(texture(2), { widthPx: width, heightPx: height });
    const half = makePyramid(bytes, width, height, 2).levels[1]!;
    const mirror = (i: number, n: number) => (i < 0 ? -i : i >= n ? 2 * n - 2 - i : i);
    const kernel = [1, 4, 6, 4, 1];
    for (let row = 0; row < half.height; row++)
      for (let column = 0; column < half.width; column++) {
        let sum = 0;
        kernel.forEach((ky, j) => {
          kernel.forEach((kx, i) => {
            const y = mirror(2 * row + j - 2, height);
            const x = mirror(2 * column + i - 2, width);
            sum += (kx * ky * bytes[y * width + x]!) / 256;
          });
        });
        expect(half.luma[row * half.width + column]).toBeCloseTo(sum, 3);
      }
  });

  it('uses the memory of a pyramid of the same shape, and leaves others alone', () => {
    const first = makePyramid(photograph(texture(3)), 160, 120, 3);
    const fresh = makePyramid(photograph(texture(4)), 160, 120, 3);
    const again = makePyramid(photograph(texture(4)), 160, 120, 3, first);
    expect(again === first).toBe(true);
    expect(again.levels).toEqual(fresh.levels);
    expect(makePyramid(photograph(texture(4)), 120, 160, 3, first) === first).toBe(false);
  });
});
