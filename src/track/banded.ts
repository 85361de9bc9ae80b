/**
 * A symmetric positive definite matrix that is zero away from its diagonal, stored by rows of its lower half: entry
 * (i, i−k) stands at `i·(halfWidth+1) + k`, k = 0..halfWidth. Entries that would lie left of column 0 are unused.
 */
export interface BandMatrix {
  readonly size: number;
  /** How many diagonals below the main one may be filled. */
  readonly halfWidth: number;
  readonly entries: Float64Array;
}

/** An empty (all-zero) band matrix. */
export function makeBand(size: number, halfWidth: number): BandMatrix {
  return { size, halfWidth, entries: new Float64Array(size * (halfWidth + 1)) };
}

/**
 * Replaces the matrix by its Cholesky factor L (A = L·Lᵀ), in place. Cost: size × halfWidth².
 * A pivot that is not positive (rounding in a badly fixed unknown) is raised to a tiny positive one, so that the unknown
 * comes out near zero with a large variance instead of as NaN.
 */
export function factorBand(a: BandMatrix): void {
  const { size, halfWidth, entries: e } = a;
  const w = halfWidth + 1;
  for (let i = 0; i < size; i++) {
    const rowI = i * w;
    const first = Math.max(0, i - halfWidth);
    for (let j = first; j < i; j++) {
      const rowJ = j * w;
      let sum = e[rowI + i - j]!;
      for (let m = first; m < j; m++) sum -= e[rowI + i - m]! * e[rowJ + j - m]!;
      e[rowI + i - j] = sum / e[rowJ]!;
    }
    let pivot = e[rowI]!;
    for (let m = first; m < i; m++) pivot -= e[rowI + i - m]! ** 2;
    // Also when it is NaN.
    if (!(pivot > 1e-12)) pivot = 1e-12;
    e[rowI] = Math.sqrt(pivot);
  }
}

/** Solves A·x = b in place of `b`, given A's factor. */
export function solveBand(factor: BandMatrix, b: Float64Array): void {
  const { size, halfWidth, entries: e } = factor;
  const w = halfWidth + 1;
  for (let i = 0; i < size; i++) {
    let sum = b[i]!;
    const first = Math.max(0, i - halfWidth);
    for (let m = first; m < i; m++) sum -= e[i * w + i - m]! * b[m]!;
    b[i] = sum / e[i * w]!;
  }
  for (let i = size - 1; i >= 0; i--) {
    let sum = b[i]!;
    const last = Math.min(size - 1, i + halfWidth);
    for (let m = i + 1; m <= last; m++) sum -= e[m * w + m - i]! * b[m]!;
    b[i] = sum / e[i * w]!;
  }
}

/**
 * The entries of A⁻¹ inside A's band, given A's factor: what is needed of a covariance when neighbours alone matter.
 * (Takahashi, Fagan & Chin 1973, "Formation of a sparse bus impedance matrix"; recursion from memory, checked against a
 * dense inverse in the tests.)
 */
export function invertInBand(factor: BandMatrix, into: BandMatrix): void {
  const { size, halfWidth, entries: e } = factor;
  const z = into.entries;
  const w = halfWidth + 1;
  for (let j = size - 1; j >= 0; j--) {
    const last = Math.min(size - 1, j + halfWidth);
    const inverse = 1 / e[j * w]!;
    for (let i = last; i > j; i--) {
      let sum = 0;
      for (let k = j + 1; k <= last; k++) {
        const zik = i >= k ? z[i * w + i - k]! : z[k * w + k - i]!;
        sum += e[k * w + k - j]! * zik;
      }
      z[i * w + i - j] = -sum * inverse;
    }
    let sum = 0;
    for (let k = j + 1; k <= last; k++) sum += e[k * w + k - j]! * z[k * w + k - j]!;
    z[j * w] = inverse * (inverse - sum);
  }
}
