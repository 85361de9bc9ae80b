/**
 * Slopes of the monotone piecewise cubic through points with rising `x`: inside, the weighted harmonic mean of the secants
 * (Fritsch & Butland 1984, in the three-point form of Brodlie); at the ends the three-point formula, cut back so that the curve does not
 * turn. Where neighbouring secants differ in sign or one is 0, the slope is 0. Two points give the secant, one gives 0. Shape [point].
 */
export function pchipSlopes(x: ArrayLike<number>, y: ArrayLike<number>): Float64Array {
  const n = x.length;
  const slopes = new Float64Array(n);
  if (n < 2) return slopes;
  const h = (i: number) => x[i + 1]! - x[i]!;
  const secant = (i: number) => (y[i + 1]! - y[i]!) / h(i);
  if (n === 2) return slopes.fill(secant(0));
  for (let i = 1; i < n - 1; i++) {
    const [a, b] = [secant(i - 1), secant(i)];
    if (a * b <= 0) continue;
    const wa = 2 * h(i) + h(i - 1);
    const wb = h(i) + 2 * h(i - 1);
    slopes[i] = (wa + wb) / (wa / a + wb / b);
  }
  slopes[0] = endSlope(h(0), h(1), secant(0), secant(1));
  slopes[n - 1] = endSlope(h(n - 2), h(n - 3), secant(n - 2), secant(n - 3));
  return slopes;
}

/** Slope at an end from the two secants next to it, the nearer first. */
function endSlope(h: number, hNext: number, secant: number, secantNext: number): number {
  const slope = ((2 * h + hNext) * secant - h * secantNext) / (h + hNext);
  if (slope * secant <= 0) return 0;
  return secant * secantNext <= 0 && Math.abs(slope) > 3 * Math.abs(secant) ? 3 * secant : slope;
}

/** The cubic between two points with given slopes at `u` = 0..1 of the way from `x0` to `x0 + h`. */
export function hermite(h: number, y0: number, y1: number, slope0: number, slope1: number, u: number): number {
  const d = y1 - y0;
  const [a, b] = [slope0 * h, slope1 * h];
  return y0 + u * (a + u * (3 * d - 2 * a - b + u * (a + b - 2 * d)));
}

/** Its slope there. */
export function hermiteSlope(h: number, y0: number, y1: number, slope0: number, slope1: number, u: number): number {
  const d = y1 - y0;
  const [a, b] = [slope0 * h, slope1 * h];
  return (a + u * (2 * (3 * d - 2 * a - b) + 3 * u * (a + b - 2 * d))) / h;
}
