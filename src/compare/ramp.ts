/** Something that stays, goes somewhere else evenly, and stays there. */
export interface Ramp {
  /** The last entry before it goes, and the first one at which it has arrived. */
  readonly from: number;
  readonly to: number;
  /** How far it went. */
  readonly x: number;
  readonly y: number;
  /** Of the squares about the mean, the share that the ramp explains: 0..1. */
  readonly explained: number;
}

/** A shorter ramp that leaves no more than so many times what the best one leaves is as good. */
const asGood = 1.7;

/**
 * The ramp that fits best to a path, by trying all beginnings and ends (least squares). Null for fewer than four entries. NaN is not allowed.
 * @param isPush of those that are as good as the best, the shortest is likelier.
 */
export function fitRamp(x: ArrayLike<number>, y: ArrayLike<number>, isPush: boolean): Ramp | null {
  const n = x.length;
  if (n < 4) return null;
  const [px, py] = [aboutMean(x), aboutMean(y)];
  const about = squaresOf(px) + squaresOf(py);
  /** Of each ramp, at [from · n + to]. */
  const explained = new Float64Array(n * n);
  let most = 0;
  for (let from = 0; from < n - 1; from++) {
    // What rises: the sum of (i − from) times the place, before `to`; what has arrived: the sum of places from `to` on.
    let [risenX, risenY] = [0, 0];
    let [thereX, thereY] = [0, 0];
    for (let i = from + 1; i < n; i++) [thereX, thereY] = [thereX + px[i]!, thereY + py[i]!];
    for (let to = from + 1; to < n; to++) {
      const long = to - from;
      const [cx, cy] = [risenX / long + thereX, risenY / long + thereY];
      const share = about > 0 ? (cx * cx + cy * cy) / spreadOf(n, from, to) / about : 0;
      explained[from * n + to] = share;
      if (share > most) most = share;
      risenX += long * px[to]!;
      risenY += long * py[to]!;
      thereX -= px[to]!;
      thereY -= py[to]!;
    }
  }
  const least = most - Math.max(1e-9, isPush ? (asGood - 1) * (1 - most) : 0);
  for (let long = 1; long < n; long++) {
    let best = -1;
    for (let from = 0; from + long < n; from++) {
      const share = explained[from * n + from + long]!;
      if (share >= least && (best < 0 || share > explained[best * n + best + long]!)) best = from;
    }
    if (best >= 0) return rampAt(px, py, best, best + long, explained[best * n + best + long]!);
  }
  return null;
}

/** Sum of squares about its mean of a ramp from 0 to 1 over `n` entries. */
function spreadOf(n: number, from: number, to: number): number {
  const long = to - from;
  const there = n - to;
  const sum = (long - 1) / 2 + there;
  return ((long - 1) * (2 * long - 1)) / (6 * long) + there - (sum * sum) / n;
}

/** @param px about their mean, as `py`. */
function rampAt(px: Float64Array, py: Float64Array, from: number, to: number, explained: number): Ramp {
  let [cx, cy] = [0, 0];
  for (let i = from + 1; i < px.length; i++) {
    const r = Math.min(1, (i - from) / (to - from));
    cx += r * px[i]!;
    cy += r * py[i]!;
  }
  const spread = spreadOf(px.length, from, to);
  return { from, to, x: cx / spread, y: cy / spread, explained };
}

function aboutMean(values: ArrayLike<number>): Float64Array {
  const mean = Array.from(values).reduce((sum, v) => sum + v, 0) / values.length;
  return Float64Array.from(values, (v) => v - mean);
}

function squaresOf(values: Float64Array): number {
  return values.reduce((sum, v) => sum + v * v, 0);
}

/**
 * The middle of each entry and its two neighbours; at an end, of it, its neighbour and where the two next to it lead (Tukey's end rule,
 * from memory). What is wrong once is gone, what goes on evenly stays as it is.
 */
export function middleOfThree(values: ArrayLike<number>): number[] {
  const n = values.length;
  if (n < 3) return Array.from(values);
  const out = Array.from(values, (v, i) => (i === 0 || i === n - 1 ? v : middle(values[i - 1]!, v, values[i + 1]!)));
  out[0] = middle(values[0]!, out[1]!, 3 * out[1]! - 2 * (out[2] ?? out[1]!));
  out[n - 1] = middle(values[n - 1]!, out[n - 2]!, 3 * out[n - 2]! - 2 * (out[n - 3] ?? out[n - 2]!));
  return out;
}

function middle(a: number, b: number, c: number): number {
  return Math.max(Math.min(a, b), Math.min(Math.max(a, b), c));
}
