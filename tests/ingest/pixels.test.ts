import { describe, expect, it } from 'vitest';
import { type Plane, type StoredPlanes, sampleRegion, type Upright } from '../../src/ingest/pixels.ts';

const upright = (width: number, height: number, turnedDeg = 0, flipped = false): Upright => ({
  turnedDeg,
  flipped,
  widthPx: width,
  heightPx: height,
});

/** Grey R, G, B planes from a function of the stored place. */
function grey(width: number, height: number, value: (x: number, y: number) => number): StoredPlanes {
  const data = Uint8Array.from({ length: width * height }, (_, i) => value(i % width, Math.floor(i / width)));
  const plane: Plane = { data, offset: 0, rowStep: width, step: 1, width, height };
  return { planes: [plane, plane, plane], bits: 8, ycbcr: null };
}

function reds(
  stored: StoredPlanes,
  up: Upright,
  region: { x: number; y: number; width: number; height: number },
  w: number,
  h: number,
) {
  const out = new Uint8ClampedArray(4 * w * h);
  sampleRegion(stored, up, region, w, h, out);
  return Array.from({ length: w * h }, (_, i) => out[4 * i]!);
}

describe('sampleRegion', () => {
  it('changes nothing at one pixel per pixel', () => {
    const stored = grey(5, 4, (x, y) => 10 * x + 50 * y);
    const region = { x: 0, y: 0, width: 5, height: 4 };
    expect(reds(stored, upright(5, 4), region, 5, 4)).toEqual([...stored.planes[0].data]);
  });

  it('averages over the area when shrinking', () => {
    const stored = grey(4, 2, (x) => [0, 100, 200, 40][x]!);
    expect(reds(stored, upright(4, 2), { x: 0, y: 0, width: 4, height: 2 }, 2, 1)).toEqual([50, 120]);
    // From x = 0.5 on, 2 wide: half of 0, all of 100, half of 200.
    expect(reds(stored, upright(4, 2), { x: 0.5, y: 0, width: 2, height: 2 }, 1, 1)).toEqual([100]);
  });

  it('is linear between neighbours when enlarging, and keeps a ramp a ramp', () => {
    const stored = grey(8, 1, (x) => 20 * x);
    const seen = reds(stored, upright(8, 1), { x: 2, y: 0, width: 4, height: 1 }, 16, 1);
    seen.forEach((value, i) => {
      expect(Math.abs(value - 20 * (2 + (i + 0.5) / 4 - 0.5))).toBeLessThanOrEqual(0.51);
    });
  });

  it('moves with the region by fractions of a pixel', () => {
    const stored = grey(8, 1, (x) => 20 * x);
    const at = (x: number) => reds(stored, upright(8, 1), { x, y: 0, width: 2, height: 1 }, 2, 1)[0]!;
    expect(at(2.25) - at(2)).toBe(5);
  });

  it('is black outside the picture', () => {
    const stored = grey(2, 2, () => 200);
    const seen = reds(stored, upright(2, 2), { x: -2, y: 0, width: 6, height: 2 }, 3, 1);
    expect(seen).toEqual([0, 200, 0]);
    expect(reds(stored, upright(2, 2), { x: -1, y: 0, width: 2, height: 2 }, 1, 1)).toEqual([100]);
  });

  // The stored picture is 3 × 2: 1 2 3 over 4 5 6.
  const stored = grey(3, 2, (x, y) => 1 + x + 3 * y);
  it.each([
    [0, false, 3, 2, [1, 2, 3, 4, 5, 6]],
    [90, false, 2, 3, [4, 1, 5, 2, 6, 3]],
    [180, false, 3, 2, [6, 5, 4, 3, 2, 1]],
    [270, false, 2, 3, [3, 6, 2, 5, 1, 4]],
    [0, true, 3, 2, [3, 2, 1, 6, 5, 4]],
    [90, true, 2, 3, [1, 4, 2, 5, 3, 6]],
  ] as const)('turned by %i°, mirrored %s: upright', (turned, flipped, w, h, upRight) => {
    const up = upright(w, h, turned, flipped);
    expect(reds(stored, up, { x: 0, y: 0, width: w, height: h }, w, h)).toEqual(upRight);
    // And a part of it: the last row.
    expect(reds(stored, up, { x: 0, y: h - 1, width: w, height: 1 }, w, 1)).toEqual(upRight.slice(-w));
  });

  it('stretches pixels that are not square', () => {
    const seen = reds(
      grey(2, 2, (x) => 100 * x),
      upright(4, 2),
      { x: 0, y: 0, width: 4, height: 2 },
      4,
      1,
    );
    expect(seen[0]).toBe(0);
    expect(seen[3]).toBe(100);
  });

  it.each([
    // 75 % colour bars in narrow range, ITU-R BT.601 matrix (SMPTE EG 1 values as commonly printed, from memory).
    ['smpte170m', false, [162, 44, 142], [191, 191, 0]],
    ['smpte170m', false, [65, 100, 212], [191, 0, 0]],
    // The same for BT.709 (from memory).
    ['bt709', false, [168, 44, 136], [191, 191, 0]],
    ['bt709', false, [51, 109, 212], [191, 0, 0]],
    ['bt709', true, [255, 128, 128], [255, 255, 255]],
    ['bt709', false, [235, 128, 128], [255, 255, 255]],
  ] as const)('turns %s (full range %s) %j into %j', (matrix, fullRange, ycc, rgb) => {
    const planes = ycc.map(
      (value): Plane => ({ data: Uint8Array.of(value), offset: 0, rowStep: 1, step: 1, width: 1, height: 1 }),
    ) as [Plane, Plane, Plane];
    const out = new Uint8ClampedArray(4);
    sampleRegion(
      { planes, bits: 8, ycbcr: { matrix, fullRange } },
      upright(1, 1),
      { x: 0, y: 0, width: 1, height: 1 },
      1,
      1,
      out,
    );
    const worst = Math.max(...rgb.map((value, c) => Math.abs(value - out[c]!)));
    expect(worst, `${[...out]}`).toBeLessThanOrEqual(1.5);
  });

  it('reads 10-bit samples', () => {
    const plane: Plane = { data: Uint16Array.of(400), offset: 0, rowStep: 1, step: 1, width: 1, height: 1 };
    const out = new Uint8ClampedArray(4);
    sampleRegion(
      { planes: [plane, plane, plane], bits: 10, ycbcr: null },
      upright(1, 1),
      { x: 0, y: 0, width: 1, height: 1 },
      1,
      1,
      out,
    );
    expect(out[0]).toBe(100);
  });
});
