import { describe, expect, it } from 'vitest';
import { type Plane, type StoredPlanes, sampleLuma, sampleRegion, type Upright } from '../../src/ingest/pixels.ts';

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

describe('sampleLuma', () => {
  /** Narrow-range luma with chroma planes that must not matter. */
  function ycbcr(width: number, height: number, value: (x: number, y: number) => number, fullRange = false) {
    const { planes } = grey(width, height, value);
    const chroma: Plane = { data: Uint8Array.of(77), offset: 0, rowStep: 1, step: 1, width: 1, height: 1 };
    const stored: StoredPlanes = {
      planes: [planes[0], chroma, chroma],
      bits: 8,
      ycbcr: { matrix: 'bt709', fullRange },
    };
    return stored;
  }

  function lumas(stored: StoredPlanes, up: Upright, region: Parameters<typeof sampleLuma>[2], w: number, h: number) {
    const out = new Uint8Array(w * h);
    sampleLuma(stored, up, region, w, h, out);
    return [...out];
  }

  it('stretches the narrow range from black to white, and leaves the full one', () => {
    const levels = [16, 235, 10, 250, 125, 126];
    const row = { x: 0, y: 0, width: 6, height: 1 };
    // 16..235 becomes 0..255 (ITU-R BT.601-7 §2.5.3); what lies beyond is cut off.
    expect(
      lumas(
        ycbcr(6, 1, (x) => levels[x]!),
        upright(6, 1),
        row,
        6,
        1,
      ),
    ).toEqual([0, 255, 0, 255, 127, 128]);
    expect(
      lumas(
        ycbcr(6, 1, (x) => levels[x]!, true),
        upright(6, 1),
        row,
        6,
        1,
      ),
    ).toEqual(levels);
  });

  it('copies a part one to one as averaging would give it', () => {
    const stored = ycbcr(9, 7, (x, y) => 20 + 11 * x + 13 * y);
    const part = { x: 3, y: 2, width: 4, height: 3 };
    const copied = lumas(stored, upright(9, 7), part, 4, 3);
    // A hair's breadth off one to one goes the long way.
    const averaged = lumas(stored, upright(9, 7), { ...part, x: 3.0001 }, 4, 3);
    expect(copied.every((v, i) => Math.abs(v - averaged[i]!) <= 1)).toBe(true);
    expect(copied[0]).toBe(Math.round(((20 + 33 + 26 - 16) * 255) / 219));
  });

  it('averages when shrinking', () => {
    const stored = ycbcr(4, 2, (x) => [0, 100, 200, 40][x]!, true);
    expect(lumas(stored, upright(4, 2), { x: 0, y: 0, width: 4, height: 2 }, 2, 1)).toEqual([50, 120]);
  });

  it('turns and flips as the colours do', () => {
    const stored = ycbcr(3, 2, (x, y) => 30 + 40 * x + 100 * y, true);
    const same = grey(3, 2, (x, y) => 30 + 40 * x + 100 * y);
    for (const [turnedDeg, flipped] of [
      [90, false],
      [180, false],
      [270, true],
    ] as const) {
      const up = turnedDeg === 180 ? upright(3, 2, 180, flipped) : upright(2, 3, turnedDeg, flipped);
      const region = { x: 0, y: 0, width: up.widthPx, height: up.heightPx };
      expect(lumas(stored, up, region, up.widthPx, up.heightPx)).toEqual(
        reds(same, up, region, up.widthPx, up.heightPx),
      );
    }
  });

  it('weighs red, green and blue', () => {
    const plane = (v: number) => grey(1, 1, () => v).planes[0];
    const stored: StoredPlanes = { planes: [plane(100), plane(200), plane(50)], bits: 8, ycbcr: null };
    expect(lumas(stored, upright(1, 1), { x: 0, y: 0, width: 1, height: 1 }, 1, 1)).toEqual([153]);
  });
});
