import { describe, expect, it } from 'vitest';
import { makePyramid } from '../../src/flow/pyramid.ts';
import { roundTrip } from '../../src/flow/roundTrip.ts';
import { type FlowOptions, trackPoints, usualFlow } from '../../src/flow/trackPoints.ts';
import {
  heightPx,
  type Look,
  moved,
  photograph,
  picture,
  places,
  type Shot,
  type Surface,
  texture,
  widthPx,
} from './madePictures.ts';

const sorted = (values: number[]) => [...values].sort((a, b) => a - b);
const quantile = (values: number[], q: number) => sorted(values)[Math.floor((values.length - 1) * q)]!;

/** Errors of followed points, pixels; NaN = lost. */
function errors(
  surface: Surface,
  [dx, dy]: readonly [number, number],
  shot: Shot = {},
  options: FlowOptions = usualFlow,
  margin = 25,
): number[] {
  const { xPx, yPx } = places(80, margin);
  const from = picture(surface, shot.noise ? { noise: shot.noise, seed: 11 } : {});
  const to = picture(surface, { ...shot, look: moved(dx, dy), seed: 12 });
  const moves = trackPoints(from, to, xPx, yPx, options);
  return xPx.map((_, i) => Math.hypot(moves.dxPx[i]! - dx, moves.dyPx[i]! - dy));
}

describe('trackPoints on a surface that is shifted', () => {
  it.each([
    [0, 0],
    [0.25, 0.5],
    [0.37, -0.81],
    [-1.6, 0.9],
    [4.3, 3.2],
  ])('by (%f, %f) px finds it to a few hundredths of a pixel', (dx, dy) => {
    const off = errors(texture(21), [dx, dy]);
    expect(quantile(off, 0.5)).toBeLessThan(0.02);
    expect(quantile(off, 1)).toBeLessThan(0.08);
  });

  it('far finds it by the coarse levels, which the full size alone does not', () => {
    const off = errors(texture(22), [-9.4, 6.7]);
    expect(quantile(off, 0.95)).toBeLessThan(0.05);
    const alone = errors(texture(22), [-9.4, 6.7], {}, { ...usualFlow, levels: 1 });
    expect(alone.filter((e) => e < 0.5).length).toBeLessThan(0.5 * alone.length);
  });

  it('errs more with noise, in keeping with theory', () => {
    // Error per axis: sd of the difference of two noises, over the root of window pixels × texture (least squares).
    const surface = texture(23);
    const { xPx, yPx } = places(80, 25);
    for (const noise of [2, 5]) {
      const moves = trackPoints(
        picture(surface, { noise, seed: 1 }),
        picture(surface, { noise, seed: 2, look: moved(0.6, 0.3) }),
        xPx,
        yPx,
      );
      const inSds = xPx.map((_, i) => {
        const sd = (noise * Math.SQRT2) / Math.sqrt(225 * moves.minEigen[i]!);
        return Math.hypot(moves.dxPx[i]! - 0.6, moves.dyPx[i]! - 0.3) / sd;
      });
      expect(quantile(inSds, 0.5)).toBeGreaterThan(0.4);
      expect(quantile(inSds, 0.5)).toBeLessThan(1.4);
      // Mean absolute difference of two such noises, of which the fit and the sampling between pixels take some.
      const residual = quantile([...moves.residual], 0.5) / (noise * Math.SQRT2 * Math.sqrt(2 / Math.PI));
      expect(residual).toBeGreaterThan(0.6);
      expect(residual).toBeLessThan(1.1);
    }
  });

  it('out of focus is still found, less sharply', () => {
    const off = errors(texture(24, 30, 18), [2.6, -1.4], { noise: 1 });
    expect(quantile(off, 0.5)).toBeLessThan(0.12);
    expect(quantile(off, 0.95)).toBeLessThan(0.5);
  });

  it('and lit differently is found when brightness is ignored, and only then', () => {
    const shot = { noise: 2, bias: 6, gain: 1.02 };
    const ignoring = errors(texture(25), [0.6, 0.3], shot);
    const minding = errors(texture(25), [0.6, 0.3], shot, { ...usualFlow, ignoreBrightness: false });
    expect(quantile(ignoring, 0.5)).toBeLessThan(0.05);
    expect(quantile(minding, 0.5)).toBeGreaterThan(0.15);
  });

  it('starts where a guess says', () => {
    const [dx, dy] = [31.3, -22.6];
    const from = picture(texture(26));
    const to = picture(texture(26), { look: moved(dx, dy) });
    const { xPx, yPx } = places(60, 40);
    const guess = { dxPx: xPx.map(() => 30), dyPx: xPx.map((_, i) => (i === 0 ? Number.NaN : -21)) };
    const off = (m: ReturnType<typeof trackPoints>) => xPx.map((_, i) => Math.hypot(m.dxPx[i]! - dx, m.dyPx[i]! - dy));
    expect(quantile(off(trackPoints(from, to, xPx, yPx, usualFlow, guess)).slice(1), 1)).toBeLessThan(0.1);
    const without = off(trackPoints(from, to, xPx, yPx));
    expect(without.filter((e) => e < 0.5).length).toBeLessThan(0.2 * without.length);
    const there = roundTrip(from, to, xPx, yPx, usualFlow, guess);
    expect(quantile([...there.roundTripPx].slice(1), 1)).toBeLessThan(0.1);
  });
});

describe('trackPoints at a border', () => {
  it('uses the part of the window that is inside', () => {
    const from = picture(texture(31), { noise: 1, seed: 1 });
    const to = picture(texture(31), { noise: 1, seed: 2, look: moved(0.7, 0.4) });
    const xPx = Array.from({ length: 30 }, (_, i) => 20 + 4 * i);
    const near = trackPoints(
      from,
      to,
      xPx,
      xPx.map(() => 2.5),
    );
    expect(
      quantile(
        xPx.map((_, i) => Math.hypot(near.dxPx[i]! - 0.7, near.dyPx[i]! - 0.4)),
        0.95,
      ),
    ).toBeLessThan(0.15);
    // In a corner a fifth of the window is left, which is too little.
    expect(trackPoints(from, to, [1], [1]).dxPx[0]).toBeNaN();
  });

  it('loses a point that leaves the picture, and follows one that comes back from it', () => {
    const still = picture(texture(32));
    const little = picture(texture(32), { look: moved(3, 0) });
    expect(trackPoints(still, little, [widthPx - 2.5], [60]).dxPx[0]).toBeNaN();
    expect(trackPoints(still, little, [widthPx - 3.5], [60]).dxPx[0]).toBeCloseTo(3, 1);
    const right = picture(texture(32), { look: moved(6, 0) });
    expect(trackPoints(right, still, [widthPx - 3], [60]).dxPx[0]).toBeCloseTo(-6, 1);
  });
});

describe('trackPoints loses', () => {
  const grain = picture(texture(41));

  it('a place that is not a number or outside the picture', () => {
    const moves = trackPoints(grain, grain, [Number.NaN, -1, 50], [50, 50, 500]);
    for (const column of Object.values(moves)) expect([...column]).toEqual([Number.NaN, Number.NaN, Number.NaN]);
  });

  it('a patch with hardly any texture, unless less is asked for', () => {
    const { xPx, yPx } = places(20, 25);
    const faint = Float32Array.from(photograph(texture(42)), (v) => 100 + v / 100);
    const pyramid = makePyramid(faint, widthPx, heightPx, 3);
    expect([...trackPoints(pyramid, pyramid, xPx, yPx).dxPx].every(Number.isNaN)).toBe(true);
    const asked = trackPoints(pyramid, pyramid, xPx, yPx, { ...usualFlow, minEigen: 0.001 });
    expect([...asked.dxPx].some(Number.isNaN)).toBe(false);
    expect(Math.max(...asked.minEigen)).toBeLessThan(0.1);
  });

  it('a flat patch, and the slip along a straight edge', () => {
    const flat = picture(() => 90);
    const edge = picture((x) => (x < 80 ? 40 : 200));
    const tilted = picture((x, y) => (x + y < 140 ? 40 : 200));
    for (const p of [flat, edge, tilted]) {
      const moves = trackPoints(p, p, [80], [60]);
      expect(moves.dxPx[0]).toBeNaN();
      expect(moves.residual[0]).toBeNaN();
    }
    expect(trackPoints(grain, grain, [80], [60]).dxPx[0]).toBeCloseTo(0, 6);
  });
});

describe('roundTrip', () => {
  it('comes home on what both pictures show, not on what is covered in the second', () => {
    const wall = texture(51);
    const hand = texture(52);
    const { xPx, yPx } = places(120, 20);
    const from = picture(wall, { noise: 1, seed: 1 });
    // A hand covers x from 60 to 100 and stays off the rest.
    const to = picture((x, y) => (x > 60 && x < 100 ? hand(x, y) : wall(x, y)), { noise: 1, seed: 2 });
    const { roundTripPx } = roundTrip(from, to, xPx, yPx);
    const covered = roundTripPx.filter((_, i) => xPx[i]! > 70 && xPx[i]! < 90);
    const open = roundTripPx.filter((_, i) => xPx[i]! < 50 || xPx[i]! > 110);
    expect(open.length).toBeGreaterThan(40);
    expect(Math.max(...open)).toBeLessThan(0.3);
    expect(covered.length).toBeGreaterThan(10);
    expect(covered.filter((d) => d < 1).length).toBeLessThan(0.3 * covered.length);
  });
});

describe('trackPoints beside another implementation', () => {
  /** The surface turned by 1° about the picture's middle and moved by (2.3, −1.7). */
  const turned: Look = (x, y) => {
    const [c, s] = [Math.cos(Math.PI / 180), Math.sin(Math.PI / 180)];
    const [u, v] = [x - 80 - 2.3, y - 60 + 1.7];
    return [c * u + s * v + 80, -s * u + c * v + 60];
  };

  /**
   * x, y, dx, dy, smaller eigenvalue × 1024: OpenCV 4.6.0 (Debian 12), calcOpticalFlowPyrLK on the bytes of the two
   * pictures below, winSize 15 × 15, maxLevel 2, criteria 20 steps or 0.01 px, minEigThreshold 1e-4; its places count from
   * the middle of the first pixel, so 0.5 was taken off ours. Its gradients are 32 times ours and its sums are divided by
   * 2^20, hence the 1024.
   */
  const table = [
    [44, 88, 1.804, -2.274, 72.5],
    [37, 86, 1.92, -2.496, 60.6],
    [107, 75, 2.06, -1.226, 37.2],
    [52, 94, 1.74, -2.188, 76.1],
    [36, 71, 2.11, -2.484, 32.7],
    [104, 67, 2.156, -1.288, 37.6],
    [54, 95, 1.728, -2.158, 65.5],
    [54, 78, 1.958, -2.137, 64.2],
    [97, 49, 2.496, -1.409, 76.1],
    [84, 92, 1.793, -1.623, 61.6],
    [124, 56, 2.34, -0.972, 67.7],
    [125, 35, 2.707, -0.875, 65.7],
  ] as const;

  it('agrees with OpenCV to a hundredth of a pixel', () => {
    const moves = trackPoints(
      picture(texture(61), { noise: 2, seed: 1 }),
      picture(texture(61), { noise: 2, seed: 2, look: turned }),
      table.map((row) => row[0]),
      table.map((row) => row[1]),
      { ...usualFlow, ignoreBrightness: false },
    );
    table.forEach(([, , dx, dy, eigen], i) => {
      expect(Math.abs(moves.dxPx[i]! - dx)).toBeLessThan(0.01);
      expect(Math.abs(moves.dyPx[i]! - dy)).toBeLessThan(0.01);
      expect(Math.abs(moves.minEigen[i]! / eigen - 1)).toBeLessThan(0.01);
    });
  });
});
