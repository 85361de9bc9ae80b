import type { PyramidLevel } from './pyramid.ts';

/** How one window is matched on one level. */
export interface MatchOptions {
  /** Side of the square window, pixels of each level; odd. */
  readonly windowPx: number;
  /** Steps at most on each level. */
  readonly maxIterations: number;
  /** A level is done when a step is shorter than this, pixels of that level. */
  readonly epsilonPx: number;
  /**
   * Whether a window that became brighter or darker as a whole still matches: means are taken out of both windows and
   * of the gradients (least squares with an unknown constant).
   */
  readonly ignoreBrightness: boolean;
}

/**
 * A match is made on the part of the window that lies within both pictures; with less than this share of it there is
 * none. A point on the border has a little less than a half of its window inside, also on coarse levels; one in a corner
 * has a fifth, on which matches went astray.
 */
const leastInside = 0.3;

/** Below this share of the gradients' product the equations have no solution worth the name: edges of one direction. */
const leastDeterminant = 1e-6;

/**
 * Matches one window on one level of two pyramids; holds the window's memory, so that a point costs none.
 *
 * The first picture's window is sampled once, with its gradients g; each step samples the second picture J at the shifted
 * place and solves Σ g gᵀ · step = Σ g (I − J) (Lucas & Kanade 1981; gradients of the first picture serve for every step,
 * as in Bouguet 2000). Only the part of the window inside both pictures counts; it is a rectangle.
 */
export class WindowMatch {
  /** Shift found so far, pixels of the level that ran last. */
  dx = 0;
  dy = 0;
  /** Smaller eigenvalue of the mean of g gᵀ, (brightness / px)². NaN when too little of the window was inside. */
  minEigen = Number.NaN;
  /** Mean absolute difference of brightness where the match ended; see `measureResidual`. */
  residual = Number.NaN;

  readonly #options: MatchOptions;
  readonly #side: number;
  /** The first picture's window with one sample of margin all round, for gradients. Shape [row · (side + 2) + column]. */
  readonly #patch: Float32Array;
  /** Its gradients, and the difference after the match. Shape [row · side + column]. */
  readonly #gradX: Float32Array;
  readonly #gradY: Float32Array;
  readonly #difference: Float32Array;

  /** The part of the window whose gradients are known: columns left ≤ c < right, rows top ≤ r < bottom. */
  #known = { left: 0, right: 0, top: 0, bottom: 0 };
  /** The part of it that lies in the second picture, too, and over which the sums below are. */
  #shared = { left: 0, right: 0, top: 0, bottom: 0 };
  /** Where the window's first sample falls in the second picture: index, and the fraction to the next one. */
  #base = 0;
  #fractionX = 0;
  #fractionY = 0;
  /** Sums over the shared part: Σ g gᵀ, Σ g and Σ g I; the first and last about their means if brightness is ignored. */
  #xx = 0;
  #xy = 0;
  #yy = 0;
  #gx = 0;
  #gy = 0;
  #xI = 0;
  #yI = 0;
  /** The same for the second picture: Σ g J. */
  #xJ = 0;
  #yJ = 0;

  constructor(options: MatchOptions) {
    const side = options.windowPx;
    this.#options = options;
    this.#side = side;
    this.#patch = new Float32Array((side + 2) * (side + 2));
    this.#gradX = new Float32Array(side * side);
    this.#gradY = new Float32Array(side * side);
    this.#difference = new Float32Array(side * side);
  }

  /**
   * Improves dx, dy on one level, starting from what they are. (cx, cy) is the window's middle, in samples of the level.
   * @returns false when too little of the window is inside or it has no texture; dx and dy are then as they were.
   */
  run(from: PyramidLevel, to: PyramidLevel, cx: number, cy: number): boolean {
    this.minEigen = Number.NaN;
    if (!this.#sampleFirst(from, cx, cy)) return false;
    const startX = this.dx;
    const startY = this.dy;
    const { maxIterations, epsilonPx } = this.#options;
    let lastX = 0;
    let lastY = 0;
    for (let i = 0; i < maxIterations; i++) {
      const det = this.#place(to, cx + this.dx, cy + this.dy) ? this.#xx * this.#yy - this.#xy * this.#xy : Number.NaN;
      if (!(det > leastDeterminant * this.#xx * this.#yy)) {
        this.dx = startX;
        this.dy = startY;
        return false;
      }
      this.#sumSecond(to);
      const bx = this.#xI - this.#xJ;
      const by = this.#yI - this.#yJ;
      const stepX = (this.#yy * bx - this.#xy * by) / det;
      const stepY = (this.#xx * by - this.#xy * bx) / det;
      this.dx += stepX;
      this.dy += stepY;
      if (stepX * stepX + stepY * stepY <= epsilonPx * epsilonPx) break;
      // Swinging to and fro about the place: stop in the middle.
      if (i > 0 && Math.abs(stepX + lastX) < epsilonPx && Math.abs(stepY + lastY) < epsilonPx) {
        this.dx -= stepX / 2;
        this.dy -= stepY / 2;
        break;
      }
      lastX = stepX;
      lastY = stepY;
    }
    return true;
  }

  /**
   * Sets `residual` for the place where the last `run` ended, over the part of the window inside both pictures; the mean
   * difference is taken out first if brightness is ignored. NaN when too little is inside.
   */
  measureResidual(to: PyramidLevel, cx: number, cy: number): void {
    this.residual = Number.NaN;
    if (!this.#place(to, cx + this.dx, cy + this.dy)) return;
    const { left, right, top, bottom } = this.#shared;
    const side = this.#side;
    const difference = this.#difference;
    const [fx, fy] = [this.#fractionX, this.#fractionY];
    const { luma, width } = to;
    let sum = 0;
    for (let row = top; row < bottom; row++) {
      for (let col = left; col < right; col++) {
        const at = this.#base + row * width + col;
        const above = luma[at]! + fx * (luma[at + 1]! - luma[at]!);
        const below = luma[at + width]! + fx * (luma[at + width + 1]! - luma[at + width]!);
        const d = above + fy * (below - above) - this.#patch[(row + 1) * (side + 2) + col + 1]!;
        difference[row * side + col] = d;
        sum += d;
      }
    }
    const count = (right - left) * (bottom - top);
    const mean = this.#options.ignoreBrightness ? sum / count : 0;
    let off = 0;
    for (let row = top; row < bottom; row++)
      for (let q = row * side + left; q < row * side + right; q++) off += Math.abs(difference[q]! - mean);
    this.residual = off / count;
  }

  /** Samples the first picture's window and its gradients. False when too little of it is inside. */
  #sampleFirst(from: PyramidLevel, cx: number, cy: number): boolean {
    const { width, height, luma } = from;
    const side = this.#side;
    const x0 = Math.floor(cx) - (side >> 1);
    const y0 = Math.floor(cy) - (side >> 1);
    // A place between samples needs the next sample, and a gradient the places all round.
    const left = Math.max(0, 1 - x0);
    const right = Math.min(side, width - 2 - x0);
    const top = Math.max(0, 1 - y0);
    const bottom = Math.min(side, height - 2 - y0);
    if (!this.#isEnough(left, right, top, bottom)) return false;
    this.#known = { left, right, top, bottom };
    // Empty, so that the first `#place` makes the sums.
    this.#shared = { left: 0, right: 0, top: 0, bottom: 0 };

    const fx = cx - Math.floor(cx);
    const fy = cy - Math.floor(cy);
    const [w00, w10, w01, w11] = [(1 - fx) * (1 - fy), fx * (1 - fy), (1 - fx) * fy, fx * fy];
    const wide = side + 2;
    const patch = this.#patch;
    // The patch's column c is the window's column c − 1.
    for (let row = top; row < bottom + 2; row++) {
      let at = (y0 + row - 1) * width + x0 + left - 1;
      let a = luma[at]!;
      let c = luma[at + width]!;
      for (let p = row * wide + left; p < row * wide + right + 2; p++) {
        at++;
        const b = luma[at]!;
        const d = luma[at + width]!;
        patch[p] = w00 * a + w10 * b + w01 * c + w11 * d;
        a = b;
        c = d;
      }
    }
    const gradX = this.#gradX;
    const gradY = this.#gradY;
    for (let row = top; row < bottom; row++) {
      for (let col = left; col < right; col++) {
        const p = (row + 1) * wide + col + 1;
        const q = row * side + col;
        const falling = patch[p + wide + 1]! - patch[p - wide - 1]!;
        const rising = patch[p - wide + 1]! - patch[p + wide - 1]!;
        // Scharr's kernel 3 10 3: a slope is the same whatever the edge's direction.
        gradX[q] = (3 * (falling + rising) + 10 * (patch[p + 1]! - patch[p - 1]!)) / 32;
        gradY[q] = (3 * (falling - rising) + 10 * (patch[p + wide]! - patch[p - wide]!)) / 32;
      }
    }
    return true;
  }

  #isEnough(left: number, right: number, top: number, bottom: number): boolean {
    return right > left && bottom > top && (right - left) * (bottom - top) >= leastInside * this.#side * this.#side;
  }

  /** Lays the window's middle on a place of the second picture. False when too little of it is inside. */
  #place(to: PyramidLevel, x: number, y: number): boolean {
    const u0 = Math.floor(x) - (this.#side >> 1);
    const v0 = Math.floor(y) - (this.#side >> 1);
    const left = Math.max(this.#known.left, -u0);
    const right = Math.min(this.#known.right, to.width - 1 - u0);
    const top = Math.max(this.#known.top, -v0);
    const bottom = Math.min(this.#known.bottom, to.height - 1 - v0);
    // Also false for a shift that is not a number.
    if (!this.#isEnough(left, right, top, bottom)) return false;
    this.#base = v0 * to.width + u0;
    this.#fractionX = x - Math.floor(x);
    this.#fractionY = y - Math.floor(y);
    const shared = this.#shared;
    if (left !== shared.left || right !== shared.right || top !== shared.top || bottom !== shared.bottom) {
      this.#shared = { left, right, top, bottom };
      this.#sumFirst();
    }
    return true;
  }

  #sumFirst(): void {
    const { left, right, top, bottom } = this.#shared;
    const side = this.#side;
    const gradX = this.#gradX;
    const gradY = this.#gradY;
    let [xx, xy, yy, gx, gy, xI, yI, sumI] = [0, 0, 0, 0, 0, 0, 0, 0];
    for (let row = top; row < bottom; row++) {
      for (let col = left; col < right; col++) {
        const x = gradX[row * side + col]!;
        const y = gradY[row * side + col]!;
        const i = this.#patch[(row + 1) * (side + 2) + col + 1]!;
        xx += x * x;
        xy += x * y;
        yy += y * y;
        gx += x;
        gy += y;
        xI += x * i;
        yI += y * i;
        sumI += i;
      }
    }
    const count = (right - left) * (bottom - top);
    if (this.#options.ignoreBrightness) {
      xx -= (gx * gx) / count;
      xy -= (gx * gy) / count;
      yy -= (gy * gy) / count;
      xI -= (gx * sumI) / count;
      yI -= (gy * sumI) / count;
    }
    this.#xx = xx;
    this.#xy = xy;
    this.#yy = yy;
    this.#gx = gx;
    this.#gy = gy;
    this.#xI = xI;
    this.#yI = yI;
    this.minEigen = (xx + yy - Math.hypot(xx - yy, 2 * xy)) / (2 * count);
  }

  /** The innermost loop: everything it touches is in local names. */
  #sumSecond(to: PyramidLevel): void {
    const { luma, width } = to;
    const { left, right, top, bottom } = this.#shared;
    const side = this.#side;
    const base = this.#base;
    const fx = this.#fractionX;
    const fy = this.#fractionY;
    const w00 = (1 - fx) * (1 - fy);
    const w10 = fx * (1 - fy);
    const w01 = (1 - fx) * fy;
    const w11 = fx * fy;
    const gradX = this.#gradX;
    const gradY = this.#gradY;
    let xJ = 0;
    let yJ = 0;
    let sumJ = 0;
    for (let row = top; row < bottom; row++) {
      let at = base + row * width + left;
      let a = luma[at]!;
      let c = luma[at + width]!;
      const end = row * side + right;
      for (let q = row * side + left; q < end; q++) {
        at++;
        const b = luma[at]!;
        const d = luma[at + width]!;
        const j = w00 * a + w10 * b + w01 * c + w11 * d;
        xJ += gradX[q]! * j;
        yJ += gradY[q]! * j;
        sumJ += j;
        a = b;
        c = d;
      }
    }
    if (this.#options.ignoreBrightness) {
      const count = (right - left) * (bottom - top);
      xJ -= (this.#gx * sumJ) / count;
      yJ -= (this.#gy * sumJ) / count;
    }
    this.#xJ = xJ;
    this.#yJ = yJ;
  }
}
