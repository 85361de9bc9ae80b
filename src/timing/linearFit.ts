/** Small weighted least-squares problems with their covariance. */

/** The answer of a linear fit. */
export interface LinearFit {
  /** Shape [unknown]. */
  readonly values: Float64Array;
  /** Inverse of the normal matrix: the covariance for weights that are 1 / variance. Shape [unknown × unknown]. */
  readonly covariance: Float64Array;
}

/** Gathers equations row · values = right, each with its weight, and solves them in the least-squares sense. */
export class LinearSystem {
  readonly #size: number;
  readonly #normal: Float64Array;
  readonly #right: Float64Array;

  constructor(size: number) {
    this.#size = size;
    this.#normal = new Float64Array(size * size);
    this.#right = new Float64Array(size);
  }

  /** Adds an equation: `places` are the unknowns it holds, `factors` what they are multiplied by. */
  add(places: readonly number[], factors: readonly number[], right: number, weight: number): void {
    for (let a = 0; a < places.length; a++) {
      const i = places[a]!;
      const wa = weight * factors[a]!;
      this.#right[i]! += wa * right;
      for (let b = 0; b < places.length; b++) this.#normal[i * this.#size + places[b]!]! += wa * factors[b]!;
    }
  }

  /** The solution, by elimination with the normal matrix inverted along; null when the equations do not determine it. */
  solve(): LinearFit | null {
    const n = this.#size;
    const m = this.#normal.slice();
    const inverse = new Float64Array(n * n);
    for (let i = 0; i < n; i++) inverse[i * n + i] = 1;
    for (let k = 0; k < n; k++) {
      // Positive definite in all sound cases, so without pivots.
      const pivot = m[k * n + k]!;
      if (!(pivot > 1e-12 * Math.abs(this.#normal[k * n + k]!)) || !(pivot > 0)) return null;
      for (let c = 0; c < n; c++) {
        m[k * n + c]! /= pivot;
        inverse[k * n + c]! /= pivot;
      }
      for (let r = 0; r < n; r++) {
        if (r === k) continue;
        const f = m[r * n + k]!;
        if (f === 0) continue;
        for (let c = 0; c < n; c++) {
          m[r * n + c]! -= f * m[k * n + c]!;
          inverse[r * n + c]! -= f * inverse[k * n + c]!;
        }
      }
    }
    const values = new Float64Array(n);
    for (let r = 0; r < n; r++) for (let c = 0; c < n; c++) values[r]! += inverse[r * n + c]! * this.#right[c]!;
    return { values, covariance: inverse };
  }
}
