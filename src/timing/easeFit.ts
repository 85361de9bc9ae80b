/** How softly a move leaves its first pose and comes to its last, fitted to its spacing. */
export interface EaseFit {
  /**
   * 0 = at full speed at once, 1 = as in the smoothest reach (minimum jerk), more = more small steps still. At most 3.
   */
  readonly leaving: number;
  readonly arriving: number;
  /** Root mean square distance of the spacing from the fitted curve, fraction of the path. */
  readonly misfit: number;
}

/** The strongest ease told: a move of 16 frames then has 5 whose steps are below a hundredth of the way. */
export const strongestEase = 3;

/**
 * How far a move has come with given eases at its ends, 0..1: speed as u^(2 · leaving) · (1 − u)^(2 · arriving), the
 * incomplete beta function. Even spacing is (0, 0); (1, 1) is minimum jerk exactly (10u³ − 15u⁴ + 6u⁵ is that function for 3, 3).
 */
export function easedProgress(u: number, leaving: number, arriving: number): number {
  return incompleteBeta(u, 2 * leaving + 1, 2 * arriving + 1);
}

/**
 * The eases that come nearest to a spacing (least squares).
 * @param times 0..1 of the move and `fractions` of the path behind each. Shape [tick].
 */
export function fitEase(times: readonly number[], fractions: readonly number[]): EaseFit {
  const squares = (leaving: number, arriving: number) =>
    times.reduce((sum, u, i) => sum + (easedProgress(u, leaving, arriving) - fractions[i]!) ** 2, 0);
  let best = { leaving: 1, arriving: 1, sum: squares(1, 1) };
  const attempt = (leaving: number, arriving: number): boolean => {
    const [a, b] = [leaving, arriving].map((v) => Math.min(strongestEase, Math.max(0, v)));
    const sum = squares(a!, b!);
    if (!(sum < best.sum)) return false;
    best = { leaving: a!, arriving: b!, sum };
    return true;
  };
  // The sum has one valley in these two, so walking downhill with halving steps finds its bottom.
  for (let step = 0.8; step > 0.004; step /= 2) {
    let moved = true;
    while (moved) {
      const { leaving: a, arriving: b } = best;
      moved = false;
      for (const [da, db] of walk) if (attempt(a + da * step, b + db * step)) moved = true;
    }
  }
  const between = Math.max(1, times.length - 2);
  return { leaving: best.leaving, arriving: best.arriving, misfit: Math.sqrt(best.sum / between) };
}

const walk = [
  [1, 0],
  [-1, 0],
  [0, 1],
  [0, -1],
  [1, 1],
  [-1, -1],
  [1, -1],
  [-1, 1],
] as const;

/** Strengths below these are said so; from the last on it is a strong cushion. */
const words = [
  { below: 0.2, leaving: 'starts at full speed', arriving: 'stops dead' },
  { below: 0.65, leaving: 'starts a little softly', arriving: 'stops a little softly' },
  { below: 1.5, leaving: 'eases out', arriving: 'eases in' },
  { below: Number.POSITIVE_INFINITY, leaving: 'creeps out', arriving: 'creeps in' },
] as const;

/** The eases as an animator says them: out of the first pose, into the last. */
export function easeWords(ease: EaseFit): { readonly leaving: string; readonly arriving: string } {
  const pick = (strength: number) => words.find((w) => strength < w.below) ?? words[3];
  return { leaving: pick(ease.leaving).leaving, arriving: pick(ease.arriving).arriving };
}

/** Regularised incomplete beta function I_x(a, b), by its continued fraction (DLMF 8.17.22) after Lentz. */
function incompleteBeta(x: number, a: number, b: number): number {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  // The fraction converges fast on the left of the mean only; on the right its mirror image does.
  return x > (a + 1) / (a + b + 2) ? 1 - betaFraction(1 - x, b, a) : betaFraction(x, a, b);
}

function betaFraction(x: number, a: number, b: number): number {
  const front = Math.exp(a * Math.log(x) + b * Math.log(1 - x) - logBeta(a, b)) / a;
  let f = 1;
  let c = 1;
  let d = 0;
  for (let i = 0; i < 200; i++) {
    const m = i >> 1;
    let term = 1;
    if (i > 0)
      term =
        i % 2 === 0
          ? (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m))
          : -((a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 / (1 + term * d || 1e-300);
    c = 1 + term / c || 1e-300;
    f *= c * d;
    if (Math.abs(1 - c * d) < 1e-12) break;
  }
  // The first factor stands for the leading 1 of the fraction's numerator.
  return front * (f - 1);
}

function logBeta(a: number, b: number): number {
  return logGamma(a) + logGamma(b) - logGamma(a + b);
}

/** Logarithm of the gamma function for x ≥ 1, by Stirling's series (DLMF 5.11.1) from 10 on. */
function logGamma(x: number): number {
  let shift = 0;
  let z = x;
  while (z < 10) {
    shift -= Math.log(z);
    z++;
  }
  const q = 1 / (z * z);
  const series = (1 / 12 - q * (1 / 360 - q * (1 / 1260 - q / 1680))) / z;
  return shift + (z - 0.5) * Math.log(z) - z + 0.5 * Math.log(2 * Math.PI) + series;
}
