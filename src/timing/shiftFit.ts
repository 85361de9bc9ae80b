/** How much later one curve is than another, and how well a shift explains it. */
export interface ShiftFit {
  /** Samples, fractional; positive = the follower is later. */
  readonly shift: number;
  /** Follower's size over the leader's, signed. */
  readonly ratio: number;
  /** Share of the follower's variance that the shifted leader explains, 0..1. */
  readonly explained: number;
  /** Root mean square of what is left, in the follower's unit. */
  readonly rms: number;
  /** Standard deviation of the shift, samples, for each unit that the follower errs by (errors stay alike for a while). */
  readonly sdPerError: number;
  /** True where the best shift is the furthest that was tried: the real one may lie beyond. */
  readonly atEdge: boolean;
}

/** The first search goes in strides of so many samples: one frame at 24 fps where there are 96 samples a second. */
const stride = 4;

/** What is left over from moment to moment is alike for about this long in tracks, seconds. */
const alikeSec = 0.1;

/**
 * The shift τ that makes a + b · leader(t − τ) fit the follower best in least squares over samples `from` to `to` (inclusive),
 * a and b free: of what was tried on authored moves (also the normalised cross-correlation of speeds, with and without sign)
 * the way least troubled by noise, since it reads positions and takes no derivative. Curves may have several components
 * (x and y of a point): they share τ and b. Costs are taken at whole samples and the best is refined by a parabola.
 * Null where the leader or the follower does not change at all.
 * @param most the furthest shift that is tried, samples.
 * @param stepSec seconds between two samples.
 */
export function fitShift(
  leader: readonly Float64Array[],
  follower: readonly Float64Array[],
  from: number,
  to: number,
  most: number,
  stepSec: number,
): ShiftFit | null {
  const tried = new Map<number, Regression>();
  const cost = (shift: number): number => {
    const fit = tried.get(shift) ?? regress(leader, follower, from, to, shift);
    if (!fit) return Number.NaN;
    tried.set(shift, fit);
    return fit.cost;
  };
  let best = 0;
  if (Number.isNaN(cost(0))) return null;
  // In large strides first: curves that can be told apart from noise do not change within one.
  for (let shift = -most; shift <= most; shift += stride) if (cost(shift) < cost(best)) best = shift;
  const [low, high] = [Math.max(-most, best - stride), Math.min(most, best + stride)];
  for (let shift = low; shift <= high; shift++) if (cost(shift) < cost(best)) best = shift;
  const at = tried.get(best);
  const total = at?.followerSquares ?? 0;
  if (!at || total <= 0) return null;
  const atEdge = Math.abs(best) === most;
  const a = atEdge ? 0 : cost(best - 1);
  const b = at.cost;
  const c = atEdge ? 0 : cost(best + 1);
  const bend = a - 2 * b + c;
  const shift = best + (atEdge || bend <= 0 ? 0 : (a - c) / (2 * bend));
  const count = (to - from + 1) * follower.length;
  const rms = Math.sqrt(Math.max(0, b) / count);
  // Moving the shift by δ costs δ² Σ (b · leader′)²; neighbouring samples err alike.
  const steep = at.ratio ** 2 * slopeSquares(leader, from, to, best);
  const alike = Math.max(1, alikeSec / stepSec);
  return {
    shift,
    ratio: at.ratio,
    explained: Math.max(0, 1 - b / total),
    rms,
    sdPerError: steep > 0 ? Math.sqrt(alike / steep) : Number.POSITIVE_INFINITY,
    atEdge,
  };
}

interface Regression {
  /** Squares that are left over. */
  readonly cost: number;
  readonly ratio: number;
  readonly followerSquares: number;
}

function regress(
  leader: readonly Float64Array[],
  follower: readonly Float64Array[],
  from: number,
  to: number,
  shift: number,
): Regression | null {
  const n = to - from + 1;
  let pp = 0;
  let pc = 0;
  let cc = 0;
  for (let d = 0; d < leader.length; d++) {
    const lead = leader[d]!;
    const follow = follower[d]!;
    let sp = 0;
    let sc = 0;
    for (let k = from; k <= to; k++) {
      sp += at(lead, k - shift);
      sc += at(follow, k);
    }
    const mp = sp / n;
    const mc = sc / n;
    for (let k = from; k <= to; k++) {
      const p = at(lead, k - shift) - mp;
      const c = at(follow, k) - mc;
      pp += p * p;
      pc += p * c;
      cc += c * c;
    }
  }
  if (!(n > 3) || !(cc > 0)) return null;
  // A leader that rests throughout explains nothing.
  if (!(pp > 0)) return { cost: cc, ratio: 0, followerSquares: cc };
  return { cost: cc - (pc * pc) / pp, ratio: pc / pp, followerSquares: cc };
}

function slopeSquares(leader: readonly Float64Array[], from: number, to: number, shift: number): number {
  let sum = 0;
  for (const lead of leader) {
    for (let k = from; k <= to; k++) {
      const slope = (at(lead, k - shift + 1) - at(lead, k - shift - 1)) / 2;
      sum += slope * slope;
    }
  }
  return sum;
}

/** Beyond the ends a curve keeps its end value. */
function at(values: Float64Array, k: number): number {
  return values[Math.min(values.length - 1, Math.max(0, k))] ?? 0;
}
