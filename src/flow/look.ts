import type { Pyramid } from './pyramid.ts';

/** Where a look was found in another picture. */
export interface FoundLook {
  /** Pixels from the top-left corner. */
  readonly xPx: number;
  readonly yPx: number;
  /** Turn and growth since it was remembered, as the complex number growth · e^(i · turn): turnX its real part. */
  readonly turnX: number;
  readonly turnY: number;
  /** Mean absolute difference of brightness after the match, mean difference taken out. */
  readonly residual: number;
  /**
   * Standard deviation of the place along one axis, pixels, if those differences were independent noise (the fit's
   * covariance). Large on a smooth round thing, which looks the same from a pixel beside.
   */
  readonly noisePx: number;
}

const mostSteps = 20;
/** Done when no pixel of the window is moved by more than about this, pixels. */
const epsilonPx = 0.01;
/** At least this share of the window must be in both pictures. */
const leastInside = 0.5;
/** Damping of turn and growth (Levenberg 1944), which a round spot leaves undetermined; it slows steps, not results. */
const damping = 0.01;
/** Mean absolute deviation to standard deviation of a normal distribution: √(π / 2). */
const sdPerMeanDeviation = Math.sqrt(Math.PI / 2);

/**
 * The surroundings of a point as they were in one picture, to be found again in others: shifted, turned and grown.
 *
 * A window's match by shift alone drifts when things turn, as it follows the heaviest texture and not the middle; so turn
 * and growth are fitted along (inverse compositional alignment: Baker & Matthews 2004, for shift, turn and growth, with
 * brightness free by a constant).
 */
export class Look {
  /** Mean absolute deviation of brightness. */
  readonly contrast: number;
  readonly #side: number;
  /** NaN = outside the picture. Shape [row · side + column], here and below. */
  readonly #luma: Float32Array;
  /** Change of brightness with shift, growth and turn, each per pixel at half a window from the middle. */
  readonly #slopes: readonly [Float32Array, Float32Array, Float32Array, Float32Array];

  /** Remembers the window of `windowPx` pixels (odd) about a place, with what of it is inside the picture. */
  constructor(picture: Pyramid, xPx: number, yPx: number, windowPx: number) {
    const side = windowPx;
    const half = side >> 1;
    const size = side * side;
    this.#side = side;
    this.#luma = new Float32Array(size);
    const slopes = [0, 1, 2, 3].map(() => new Float32Array(size)) as [
      Float32Array,
      Float32Array,
      Float32Array,
      Float32Array,
    ];
    this.#slopes = slopes;
    for (let row = 0; row < side; row++)
      for (let column = 0; column < side; column++) {
        const q = row * side + column;
        const [u, v] = [column - half, row - half];
        const [x, y] = [xPx + u, yPx + v];
        const gx = (brightness(picture, x + 1, y) - brightness(picture, x - 1, y)) / 2;
        const gy = (brightness(picture, x, y + 1) - brightness(picture, x, y - 1)) / 2;
        // Where a slope is unknown, at the border, the pixel does not count.
        this.#luma[q] = Number.isNaN(gx + gy) ? Number.NaN : brightness(picture, x, y);
        slopes[0][q] = gx;
        slopes[1][q] = gy;
        slopes[2][q] = (gx * u + gy * v) / half;
        slopes[3][q] = (gy * u - gx * v) / half;
      }
    const known = this.#luma.filter((v) => !Number.isNaN(v));
    const mean = known.reduce((a, b) => a + b, 0) / known.length;
    this.contrast = known.reduce((off, v) => off + Math.abs(v - mean), 0) / known.length;
  }

  /**
   * Finds the look in a picture, from a place, turn and growth that are nearly right (to a few pixels and degrees). Null
   * when too little of it is inside or there is no end to the search.
   */
  find(picture: Pyramid, xPx: number, yPx: number, turnX: number, turnY: number): FoundLook | null {
    const half = this.#side >> 1;
    let [x, y, mx, my] = [xPx, yPx, turnX, turnY];
    for (let i = 0; i < mostSteps; i++) {
      const step = this.#step(picture, x, y, mx, my);
      if (step === null) return null;
      const [dx, dy, grow, turn] = [step[0]!, step[1]!, step[2]! / half, step[3]! / half];
      // The step is one of the look, so its reverse goes under the way found so far: z → t + m (z − d) / (1 + g).
      const norm = (1 + grow) ** 2 + turn ** 2;
      [mx, my] = [(mx * (1 + grow) + my * turn) / norm, (my * (1 + grow) - mx * turn) / norm];
      x -= mx * dx - my * dy;
      y -= my * dx + mx * dy;
      if (!(Math.abs(x) < 1e6 && Math.abs(y) < 1e6)) return null;
      if (Math.max(...step.slice(0, 4).map(Math.abs)) < epsilonPx) {
        const residual = this.#residual(picture, x, y, mx, my);
        return { xPx: x, yPx: y, turnX: mx, turnY: my, residual, noisePx: sdPerMeanDeviation * residual * step[4]! };
      }
    }
    return null;
  }

  /**
   * Least-squares step in shift, growth and turn of the look, brightness free by a constant; and last the shift's standard
   * deviation along one axis for noise of sd 1.
   */
  #step(picture: Pyramid, x: number, y: number, mx: number, my: number): number[] | null {
    const side = this.#side;
    const half = side >> 1;
    const slopes = this.#slopes;
    // Rows: the four slopes and a constant. Columns: the same, then the difference.
    const m = Array.from({ length: 5 }, () => new Float64Array(6));
    const s = new Float64Array(6);
    let count = 0;
    for (let q = 0; q < side * side; q++) {
      const u = (q % side) - half;
      const v = Math.floor(q / side) - half;
      const difference = brightness(picture, x + mx * u - my * v, y + my * u + mx * v) - this.#luma[q]!;
      if (Number.isNaN(difference)) continue;
      count++;
      for (let k = 0; k < 4; k++) s[k] = slopes[k]![q]!;
      s[4] = 1;
      s[5] = difference;
      for (let k = 0; k < 5; k++) for (let l = k; l < 6; l++) m[k]![l]! += s[k]! * s[l]!;
    }
    if (count < leastInside * side * side) return null;
    for (const k of [2, 3]) m[k]![k]! += damping * (m[0]![0]! + m[1]![1]!);
    const right = m.map((row) => row[5]!);
    const step = solveSymmetric(m, right);
    const ofX = solveSymmetric(m, [1, 0, 0, 0, 0]);
    const ofY = solveSymmetric(m, [0, 1, 0, 0, 0]);
    if (!step || !ofX || !ofY) return null;
    return [...step.slice(0, 4), Math.sqrt((ofX[0]! + ofY[1]!) / 2)];
  }

  #residual(picture: Pyramid, x: number, y: number, mx: number, my: number): number {
    const side = this.#side;
    const half = side >> 1;
    const differences: number[] = [];
    for (let q = 0; q < side * side; q++) {
      const u = (q % side) - half;
      const v = Math.floor(q / side) - half;
      const d = brightness(picture, x + mx * u - my * v, y + my * u + mx * v) - this.#luma[q]!;
      if (!Number.isNaN(d)) differences.push(d);
    }
    const mean = differences.reduce((a, b) => a + b, 0) / differences.length;
    return differences.reduce((off, d) => off + Math.abs(d - mean), 0) / differences.length;
  }
}

/** Brightness at a place of the full-size picture, linear between pixel centres; NaN beyond the outermost centres. */
function brightness(picture: Pyramid, xPx: number, yPx: number): number {
  const { width, height, luma } = picture.levels[0]!;
  const x = xPx - 0.5;
  const y = yPx - 0.5;
  if (!(x >= 0 && y >= 0 && x <= width - 1 && y <= height - 1)) return Number.NaN;
  const x0 = Math.min(Math.floor(x), width - 2);
  const y0 = Math.min(Math.floor(y), height - 2);
  const at = y0 * width + x0;
  const above = luma[at]! + (x - x0) * (luma[at + 1]! - luma[at]!);
  const below = luma[at + width]! + (x - x0) * (luma[at + width + 1]! - luma[at + width]!);
  return above + (y - y0) * (below - above);
}

/**
 * Solves M z = b for a symmetric M given by its upper half, by elimination; M is positive definite in all sound cases, so
 * without pivots. Null when it is not.
 */
function solveSymmetric(upper: readonly Float64Array[], b: readonly number[]): number[] | null {
  const n = b.length;
  const m = upper.map((row) => row.slice(0, n));
  const z = [...b];
  for (let k = 0; k < n; k++) {
    const pivot = m[k]![k]!;
    if (!(pivot > 1e-9 * upper[k]![k]!)) return null;
    for (let r = k + 1; r < n; r++) {
      const f = m[k]![r]! / pivot;
      for (let c = r; c < n; c++) m[r]![c]! -= f * m[k]![c]!;
      z[r]! -= f * z[k]!;
    }
  }
  for (let k = n - 1; k >= 0; k--) {
    for (let c = k + 1; c < n; c++) z[k]! -= m[k]![c]! * z[c]!;
    z[k]! /= m[k]![k]!;
  }
  return z;
}
