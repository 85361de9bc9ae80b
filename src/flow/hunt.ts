/** Where in a picture something looks like a remembered window, without knowing where it went: a search over all places. */
import type { Pyramid, PyramidLevel } from './pyramid.ts';

/** A remembered window, brightness on one level of a pyramid. */
export interface Scent {
  readonly level: number;
  /** Side of the window in samples of the level; odd. */
  readonly side: number;
  /** Brightness less its mean. Shape [row · side + column]. */
  readonly luma: Float32Array;
  /** Root of the sum of its squares. */
  readonly norm: number;
}

/** A place that looks like the window. */
export interface Trace {
  /** Pixels from the top-left corner, to about a sample of the level. */
  readonly xPx: number;
  readonly yPx: number;
  /** Normalised cross-correlation, −1..1. */
  readonly likeness: number;
}

/** A window of at least so many samples a side is searched for: on coarser levels its look would be gone. */
const leastSide = 9;

/** Remembers the window of `windowPx` about a place. Null when it reaches over the picture's border, or is flat. */
export function takeScent(picture: Pyramid, xPx: number, yPx: number, windowPx: number): Scent | null {
  let level = 0;
  while (level + 1 < picture.levels.length && windowPx / 2 ** (level + 1) >= leastSide) level++;
  const half = Math.floor(windowPx / 2 ** level / 2);
  const side = 2 * half + 1;
  const from = picture.levels[level]!;
  const left = Math.round((xPx - 0.5) / 2 ** level) - half;
  const top = Math.round((yPx - 0.5) / 2 ** level) - half;
  if (left < 0 || top < 0 || left + side > from.width || top + side > from.height) return null;
  const luma = new Float32Array(side * side);
  let sum = 0;
  for (let q = 0; q < luma.length; q++) {
    luma[q] = from.luma[(top + Math.floor(q / side)) * from.width + left + (q % side)]!;
    sum += luma[q]!;
  }
  let squares = 0;
  for (let q = 0; q < luma.length; q++) {
    luma[q]! -= sum / luma.length;
    squares += luma[q]! ** 2;
  }
  // Less than one unit of brightness on average is noise.
  return squares > luma.length ? { level, side, luma, norm: Math.sqrt(squares) } : null;
}

/**
 * The places within `reachPx` of a place that look most like the window, best first: peaks of the normalised
 * cross-correlation, at most `most` of them.
 */
export function hunt(
  picture: Pyramid,
  scent: Scent,
  xPx: number,
  yPx: number,
  reachPx: number,
  most: number,
  leastLikeness: number,
): Trace[] {
  const on = picture.levels[scent.level]!;
  const half = scent.side >> 1;
  const scale = 2 ** scent.level;
  const toSample = (px: number) => (px - 0.5) / scale;
  const first = (px: number) => Math.max(half, Math.ceil(toSample(px - reachPx)));
  const left = first(xPx);
  const top = first(yPx);
  const right = Math.min(on.width - 1 - half, Math.floor(toSample(xPx + reachPx)));
  const bottom = Math.min(on.height - 1 - half, Math.floor(toSample(yPx + reachPx)));
  const wide = right - left + 1;
  if (wide < 1 || bottom < top) return [];
  const likeness = new Float32Array(wide * (bottom - top + 1));
  for (let row = top; row <= bottom; row++)
    for (let column = left; column <= right; column++)
      likeness[(row - top) * wide + column - left] = likenessAt(on, scent, column, row);
  const peaks: Trace[] = [];
  for (let k = 0; k < likeness.length; k++) {
    const [row, column] = [Math.floor(k / wide), k % wide];
    const here = likeness[k]!;
    if (here < leastLikeness || !isPeak(likeness, wide, row, column)) continue;
    peaks.push({ xPx: (left + column) * scale + 0.5, yPx: (top + row) * scale + 0.5, likeness: here });
  }
  return peaks.sort((a, b) => b.likeness - a.likeness).slice(0, most);
}

/** Is no neighbour more alike? At the rim, those there are. */
function isPeak(likeness: Float32Array, wide: number, row: number, column: number): boolean {
  const here = likeness[row * wide + column]!;
  const high = likeness.length / wide;
  for (let r = Math.max(0, row - 1); r <= Math.min(high - 1, row + 1); r++)
    for (let c = Math.max(0, column - 1); c <= Math.min(wide - 1, column + 1); c++)
      if (likeness[r * wide + c]! > here) return false;
  return true;
}

function likenessAt(on: PyramidLevel, { side, luma, norm }: Scent, column: number, row: number): number {
  const half = side >> 1;
  const { width, luma: seen } = on;
  let sum = 0;
  let squares = 0;
  let product = 0;
  for (let r = 0; r < side; r++) {
    let at = (row - half + r) * width + column - half;
    for (let q = r * side; q < (r + 1) * side; q++, at++) {
      const v = seen[at]!;
      sum += v;
      squares += v * v;
      product += v * luma[q]!;
    }
  }
  const spread = squares - (sum * sum) / luma.length;
  return spread > luma.length ? product / (norm * Math.sqrt(spread)) : 0;
}
