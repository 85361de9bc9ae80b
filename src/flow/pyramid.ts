/**
 * A picture's brightness at full size and at halves of it: coarse levels find large moves, fine ones measure them.
 *
 * Places in this room are upright video pixels from the picture's top-left corner, so the middle of the first pixel is
 * at (0.5, 0.5). Sample (i, j) of level k lies at (i · 2^k + 0.5, j · 2^k + 0.5): halving keeps every second sample in
 * place, and a place (x, y) has the sample coordinates ((x − 0.5) / 2^k, (y − 0.5) / 2^k) on level k.
 */
import { assert } from '../base/assert.ts';

/** One size of a picture. */
export interface PyramidLevel {
  readonly width: number;
  readonly height: number;
  /** Brightness, in the units of the picture it was made from (0..255 for bytes). Shape [row · width + column]. */
  readonly luma: Float32Array;
}

/** A picture at full size (level 0), half, quarter, … */
export interface Pyramid {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly levels: readonly PyramidLevel[];
}

/** Brightness of a picture, row by row. */
export type Luma = Uint8Array | Uint8ClampedArray | Float32Array;

/** No level is made whose shorter side would be less than this: nothing can be told apart there. */
const leastSidePx = 8;

/**
 * Builds the pyramid of a picture: each level is the one before, smoothed by the binomial kernel 1 4 6 4 1 along rows and
 * columns and halved (Burt & Adelson 1983, a = 3/8); beyond the border the picture is taken as mirrored about its
 * outermost pixels. A side of n samples is halved to ⌈n / 2⌉.
 *
 * @param levels How many at most, the full size included. Fewer are made when the picture is too small to be halved.
 * @param into A pyramid no longer needed, whose memory is used again when size and number of levels are the same; it then
 *   is the returned one. A ring of two pyramids carries a take of any length without further memory.
 */
export function makePyramid(luma: Luma, widthPx: number, heightPx: number, levels: number, into?: Pyramid): Pyramid {
  assert(Number.isInteger(levels) && levels >= 1, `pyramid of ${levels} levels`);
  assert(widthPx > 0 && luma.length === widthPx * heightPx, `${luma.length} samples for ${widthPx} × ${heightPx}`);
  const wanted = countLevels(widthPx, heightPx, levels);
  const pyramid =
    into?.widthPx === widthPx && into.heightPx === heightPx && into.levels.length === wanted
      ? into
      : emptyPyramid(widthPx, heightPx, wanted);
  pyramid.levels[0]!.luma.set(luma);
  for (let k = 1; k < wanted; k++) halve(pyramid.levels[k - 1]!, pyramid.levels[k]!);
  return pyramid;
}

function countLevels(widthPx: number, heightPx: number, most: number): number {
  let side = Math.min(widthPx, heightPx);
  let count = 1;
  for (; count < most; count++) {
    side = (side + 1) >> 1;
    if (side < leastSidePx) break;
  }
  return count;
}

function emptyPyramid(widthPx: number, heightPx: number, count: number): Pyramid {
  const levels: PyramidLevel[] = [];
  for (let k = 0, width = widthPx, height = heightPx; k < count; k++) {
    levels.push({ width, height, luma: new Float32Array(width * height) });
    width = (width + 1) >> 1;
    height = (height + 1) >> 1;
  }
  return { widthPx, heightPx, levels };
}

/** Columns first, for one row of the result at a time: that row of sums stays in the processor's nearest memory. */
function halve(from: PyramidLevel, to: PyramidLevel): void {
  const { width, height, luma } = from;
  const half = to.luma;
  // Two samples of margin on either side, so that rows need no special case at their ends.
  const sums = new Float32Array(width + 4);
  for (let row = 0; row < to.height; row++) {
    const y = row * 2;
    const r0 = mirrored(y - 2, height) * width;
    const r1 = mirrored(y - 1, height) * width;
    const r2 = y * width;
    const r3 = mirrored(y + 1, height) * width;
    const r4 = mirrored(y + 2, height) * width;
    for (let x = 0; x < width; x++)
      sums[x + 2] = luma[r0 + x]! + luma[r4 + x]! + 4 * (luma[r1 + x]! + luma[r3 + x]!) + 6 * luma[r2 + x]!;
    sums[1] = sums[3]!;
    sums[0] = sums[4]!;
    sums[width + 2] = sums[width]!;
    sums[width + 3] = sums[width - 1]!;
    const start = row * to.width;
    for (let x = 0, s = 0; x < to.width; x++, s += 2)
      half[start + x] = (sums[s]! + sums[s + 4]! + 4 * (sums[s + 1]! + sums[s + 3]!) + 6 * sums[s + 2]!) * (1 / 256);
  }
}

/** The place within 0..n−1 that a place just outside shows when mirrored about the outermost sample. */
function mirrored(i: number, n: number): number {
  if (i < 0) return -i;
  return i < n ? i : 2 * (n - 1) - i;
}
