import { assert } from '../base/assert.ts';

/** A rectangle in upright picture pixels; may reach beyond the picture, where it is black. */
export interface Region {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

/** One plane of stored samples. */
export interface Plane {
  /** 8-bit samples, or 16-bit ones of which `bits` are used. */
  readonly data: Uint8Array | Uint16Array;
  /** Where the first sample stands, and how far apart rows and neighbours are, in samples. */
  readonly offset: number;
  readonly rowStep: number;
  readonly step: number;
  readonly width: number;
  readonly height: number;
}

/** A decoded picture as its decoder left it: not turned, pixels perhaps not square. */
export interface StoredPlanes {
  /** Y, Cb, Cr with a matrix, or R, G, B. All cover the same picture, whatever their sizes. */
  readonly planes: readonly [Plane, Plane, Plane];
  readonly bits: number;
  /** Null for R, G, B. */
  readonly ycbcr: { readonly matrix: YcbcrMatrix; readonly fullRange: boolean } | null;
}

/** Matrices by the names that WebCodecs gives them. */
export type YcbcrMatrix = 'bt709' | 'bt470bg' | 'smpte170m' | 'bt2020-ncl';

/** How the stored picture becomes the upright one. */
export interface Upright {
  /** Clockwise turn, before the flip. */
  readonly turnedDeg: number;
  /** Mirrored left to right after the turn. */
  readonly flipped: boolean;
  /** Size of the upright picture with square pixels. */
  readonly widthPx: number;
  readonly heightPx: number;
}

/**
 * Samples a region of the upright picture into `out`: RGBA, 8 bits, opaque, `outWidth × outHeight`, straight from the
 * stored planes. Every output pixel is the mean over its own area of the source when shrinking, and linear between
 * neighbours when enlarging (a box of at least one source pixel); outside the picture is black. The matrix is applied to
 * the means: sums and the matrix are both linear, so the order does not matter and this way is three times cheaper.
 */
export function sampleRegion(
  stored: StoredPlanes,
  upright: Upright,
  region: Region,
  outWidth: number,
  outHeight: number,
  out: Uint8ClampedArray,
): void {
  assert(out.length >= outWidth * outHeight * 4, `sampleRegion: ${out.length} bytes for ${outWidth}×${outHeight}`);
  const turned = upright.turnedDeg === 90 || upright.turnedDeg === 270;
  const place = placeInStored(upright, region, turned);
  const w = turned ? outHeight : outWidth;
  const h = turned ? outWidth : outHeight;
  const black = stored.ycbcr ? (stored.ycbcr.fullRange ? [0, 128, 128] : [16, 128, 128]) : [0, 0, 0];
  const scale = 1 / 2 ** (stored.bits - 8);
  const means = stored.planes.map((plane, i) => meansOf(plane, place, w, h, black[i]!, scale));
  const coefficients = stored.ycbcr ? toRgb(stored.ycbcr.matrix, stored.ycbcr.fullRange) : null;
  const [a, b, c] = means as [Float32Array, Float32Array, Float32Array];
  const step = writeOrder(upright, outWidth, outHeight);
  for (let y = 0; y < h; y++) {
    for (let x = 0; x < w; x++) {
      const i = y * w + x;
      const at = 4 * (step.origin + x * step.perX + y * step.perY);
      if (coefficients) {
        const luma = (a[i]! - coefficients.offset) * coefficients.gain;
        const cb = b[i]! - 128;
        const cr = c[i]! - 128;
        out[at] = luma + coefficients.rCr * cr;
        out[at + 1] = luma + coefficients.gCb * cb + coefficients.gCr * cr;
        out[at + 2] = luma + coefficients.bCb * cb;
      } else {
        out[at] = a[i]!;
        out[at + 1] = b[i]!;
        out[at + 2] = c[i]!;
      }
      out[at + 3] = 255;
    }
  }
}

/** Luma weights of R'G'B' (ITU-R BT.601-7 §2.5.1). */
const lumaOfRgb = [0.299, 0.587, 0.114] as const;

/**
 * Samples a region's luma into `out`: 0 (black) to 255 (white), as `sampleRegion` otherwise. Where the region is the stored
 * picture's own samples, one to one, they are copied.
 */
export function sampleLuma(
  stored: StoredPlanes,
  upright: Upright,
  region: Region,
  outWidth: number,
  outHeight: number,
  out: Uint8Array,
): void {
  assert(out.length >= outWidth * outHeight, `sampleLuma: ${out.length} bytes for ${outWidth}×${outHeight}`);
  const { ycbcr } = stored;
  const offset = ycbcr && !ycbcr.fullRange ? 16 : 0;
  const gain = ycbcr && !ycbcr.fullRange ? 255 / 219 : 1;
  const level = (v: number) => Math.min(255, Math.max(0, Math.round((v - offset) * gain)));
  if (ycbcr && isOneToOne(stored.planes[0], upright, region, outWidth, outHeight)) {
    const { data, offset: first, rowStep, step } = stored.planes[0];
    const scale = 1 / 2 ** (stored.bits - 8);
    const levels = Uint8Array.from({ length: 256 }, (_, v) => level(v));
    for (let y = 0; y < outHeight; y++) {
      let at = first + (region.y + y) * rowStep + region.x * step;
      for (let x = 0; x < outWidth; x++, at += step) out[y * outWidth + x] = levels[(data[at]! * scale) | 0]!;
    }
    return;
  }
  const turned = upright.turnedDeg === 90 || upright.turnedDeg === 270;
  const place = placeInStored(upright, region, turned);
  const w = turned ? outHeight : outWidth;
  const h = turned ? outWidth : outHeight;
  const scale = 1 / 2 ** (stored.bits - 8);
  const planes = ycbcr ? stored.planes.slice(0, 1) : stored.planes;
  const means = planes.map((plane) => meansOf(plane, place, w, h, offset, scale));
  const step = writeOrder(upright, outWidth, outHeight);
  for (let y = 0; y < h; y++)
    for (let x = 0; x < w; x++) {
      const i = y * w + x;
      const value = ycbcr ? means[0]![i]! : lumaOfRgb.reduce((sum, weight, k) => sum + weight * means[k]![i]!, 0);
      out[step.origin + x * step.perX + y * step.perY] = level(value);
    }
}

function isOneToOne(plane: Plane, upright: Upright, region: Region, outWidth: number, outHeight: number): boolean {
  const { x, y, width, height } = region;
  return (
    upright.turnedDeg === 0 &&
    !upright.flipped &&
    plane.width === upright.widthPx &&
    plane.height === upright.heightPx &&
    width === outWidth &&
    height === outHeight &&
    Number.isInteger(x) &&
    Number.isInteger(y) &&
    x >= 0 &&
    y >= 0 &&
    x + width <= plane.width &&
    y + height <= plane.height
  );
}

/** Where the region lies in the stored picture, as fractions of its width and height. */
interface Place {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

function placeInStored(upright: Upright, region: Region, turned: boolean): Place {
  const width = region.width / upright.widthPx;
  const height = region.height / upright.heightPx;
  const top = region.y / upright.heightPx;
  let left = region.x / upright.widthPx;
  if (upright.flipped) left = 1 - left - width;
  const right = 1 - left - width;
  const bottom = 1 - top - height;
  if (turned) {
    // Turned clockwise by 90°, the stored left edge is up and the stored bottom edge is at the left.
    const quarter = upright.turnedDeg === 90;
    return { left: quarter ? top : bottom, top: quarter ? right : left, width: height, height: width };
  }
  return upright.turnedDeg === 180 ? { left: right, top: bottom, width, height } : { left, top, width, height };
}

/** For stored-order output (x, y): the place in the upright output, as origin + x·perX + y·perY. */
function writeOrder(upright: Upright, outWidth: number, outHeight: number) {
  // Upright column and row as functions of the stored column x and row y.
  const last = { column: outWidth - 1, row: outHeight - 1 };
  let column = { origin: 0, perX: 1, perY: 0 };
  let row = { origin: 0, perX: 0, perY: 1 };
  if (upright.turnedDeg === 90) {
    column = { origin: last.column, perX: 0, perY: -1 };
    row = { origin: 0, perX: 1, perY: 0 };
  } else if (upright.turnedDeg === 180) {
    column = { origin: last.column, perX: -1, perY: 0 };
    row = { origin: last.row, perX: 0, perY: -1 };
  } else if (upright.turnedDeg === 270) {
    column = { origin: 0, perX: 0, perY: 1 };
    row = { origin: last.row, perX: -1, perY: 0 };
  }
  if (upright.flipped) column = { origin: last.column - column.origin, perX: -column.perX, perY: -column.perY };
  return {
    origin: column.origin + row.origin * outWidth,
    perX: column.perX + row.perX * outWidth,
    perY: column.perY + row.perY * outWidth,
  };
}

/** Which samples each output place averages along one axis, and with what weights. */
interface Taps {
  readonly first: Int32Array;
  readonly count: Int32Array;
  /** Weights of output i stand from i × most on. They add up to 1 less the part outside the picture. */
  readonly weights: Float32Array;
  readonly most: number;
  /** The part of each output that lies outside the picture, 0..1. */
  readonly outside: Float32Array;
  readonly low: number;
  readonly high: number;
}

function tapsFor(start: number, extent: number, sourceLength: number, outLength: number): Taps {
  const scale = extent / outLength;
  const reach = Math.max(1, scale);
  const most = Math.ceil(reach) + 1;
  const first = new Int32Array(outLength);
  const count = new Int32Array(outLength);
  const weights = new Float32Array(outLength * most);
  const outside = new Float32Array(outLength);
  let low = sourceLength;
  let high = 0;
  for (let i = 0; i < outLength; i++) {
    const centre = start + (i + 0.5) * scale;
    let from = centre - reach / 2;
    let to = centre + reach / 2;
    // At the very edge, enlarging would mix half a black pixel in: hold the edge while the centre is inside.
    if (scale < 1 && centre >= 0 && centre <= sourceLength) {
      from = Math.min(Math.max(from, 0), sourceLength - 1);
      to = from + 1;
    }
    const a = Math.max(0, Math.floor(from));
    const b = Math.min(sourceLength, Math.ceil(to));
    let sum = 0;
    first[i] = a;
    for (let k = a; k < b; k++) {
      const weight = Math.max(0, Math.min(k + 1, to) - Math.max(k, from)) / reach;
      weights[i * most + (k - a)] = weight;
      sum += weight;
    }
    count[i] = Math.max(0, b - a);
    outside[i] = Math.max(0, 1 - sum);
    if (b > a) {
      low = Math.min(low, a);
      high = Math.max(high, b);
    }
  }
  return { first, count, weights, most, outside, low, high };
}

/**
 * The plane's means on an outWidth × outHeight grid over `place`, in 8-bit units. Rows are added up first, since that
 * runs straight through memory; only the few rows that remain are averaged across.
 */
function meansOf(
  plane: Plane,
  place: Place,
  outWidth: number,
  outHeight: number,
  black: number,
  scale: number,
): Float32Array {
  const across = tapsFor(place.left * plane.width, place.width * plane.width, plane.width, outWidth);
  const down = tapsFor(place.top * plane.height, place.height * plane.height, plane.height, outHeight);
  const { data, step } = plane;
  const columns = Math.max(0, across.high - across.low);
  const row = new Float32Array(columns);
  const result = new Float32Array(outWidth * outHeight);
  for (let j = 0; j < outHeight; j++) {
    const dark = down.outside[j]! * black;
    row.fill(dark);
    const n = down.count[j]!;
    for (let k = 0; k < n; k++) {
      const weight = down.weights[j * down.most + k]! * scale;
      let at = plane.offset + (down.first[j]! + k) * plane.rowStep + across.low * step;
      for (let i = 0; i < columns; i++) {
        row[i]! += weight * data[at]!;
        at += step;
      }
    }
    averageAcross(row, across, black, result, j * outWidth, outWidth);
  }
  return result;
}

function averageAcross(
  row: Float32Array,
  across: Taps,
  black: number,
  result: Float32Array,
  target: number,
  outWidth: number,
): void {
  const { first, count, weights, most, outside, low } = across;
  for (let i = 0; i < outWidth; i++) {
    const n = count[i]!;
    const from = first[i]! - low;
    const weightAt = i * most;
    let sum = outside[i]! * black;
    for (let k = 0; k < n; k++) sum += row[from + k]! * weights[weightAt + k]!;
    result[target + i] = sum;
  }
}

/** Y'CbCr → R'G'B' for 8-bit values: R = (Y − offset)·gain + rCr·(Cr − 128), and so on. */
interface ToRgb {
  readonly offset: number;
  readonly gain: number;
  readonly rCr: number;
  readonly gCb: number;
  readonly gCr: number;
  readonly bCb: number;
}

/**
 * The coefficients from the luma weights Kr and Kb (ITU-R BT.601-7 §2.5.1: 0.299, 0.114; BT.709-6 §3.2: 0.2126, 0.0722;
 * BT.2020-2 table 4: 0.2627, 0.0593); narrow range is 16..235 for luma and 16..240 for chroma.
 */
function toRgb(matrix: YcbcrMatrix, fullRange: boolean): ToRgb {
  const [kr, kb] = matrix === 'bt709' ? [0.2126, 0.0722] : matrix === 'bt2020-ncl' ? [0.2627, 0.0593] : [0.299, 0.114];
  const kg = 1 - kr - kb;
  const chroma = fullRange ? 1 : 255 / 224;
  return {
    offset: fullRange ? 0 : 16,
    gain: fullRange ? 1 : 255 / 219,
    rCr: chroma * 2 * (1 - kr),
    gCb: (-chroma * 2 * kb * (1 - kb)) / kg,
    gCr: (-chroma * 2 * kr * (1 - kr)) / kg,
    bCb: chroma * 2 * (1 - kb),
  };
}
