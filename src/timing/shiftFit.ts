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
  const costs = new Float64Array(2 * most + 1);
  let best = 0;
  let total = 0;
  for (let k = 0; k < costs.length; k++) {
    const fit = regress(leader, follower, from, to, k - most);
    if (!fit) return null;
    costs[k] = fit.cost;
    total = fit.followerSquares;
    if (fit.cost < (costs[best] ?? 0)) best = k;
  }
  const at = regress(leader, follower, from, to, best - most);
  if (!at || total <= 0) return null;
  const atEdge = best === 0 || best === costs.length - 1;
  const a = costs[best - 1] ?? 0;
  const b = costs[best] ?? 0;
  const c = costs[best + 1] ?? 0;
  const bend = a - 2 * b + c;
  const shift = best - most + (atEdge || bend <= 0 ? 0 : (a - c) / (2 * bend));
  const count = (to - from + 1) * follower.length;
  const rms = Math.sqrt(Math.max(0, b) / count);
  // Moving the shift by δ costs δ² Σ (b · leader′)²; neighbouring samples err alike.
  const steep = at.ratio ** 2 * slopeSquares(leader, from, to, best - most);
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

function regress(
  leader: readonly Float64Array[],
  follower: readonly Float64Array[],
  from: number,
  to: number,
  shift: number,
): { cost: number; ratio: number; followerSquares: number } | null {
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
