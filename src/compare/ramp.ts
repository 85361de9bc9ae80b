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

/** A shorter ramp that leaves no more than so many times what the best one leaves is as good, and likelier: what went was a push. */
const asGood = 1.7;

/**
 * The ramp that fits best to a path, by trying all beginnings and ends (least squares); of those that are as good, the shortest.
 * Null for fewer than four entries. NaN is not allowed.
 */
export function fitRamp(x: ArrayLike<number>, y: ArrayLike<number>): Ramp | null {
  const n = x.length;
  if (n < 4) return null;
  const about = squaresAbout(x) + squaresAbout(y);
  const ramps: Ramp[] = [];
  for (let from = 0; from < n - 1; from++) {
    for (let to = from + 1; to < n; to++) {
      let [sr, srr, srx, sry, sx, sy] = [0, 0, 0, 0, 0, 0];
      for (let i = 0; i < n; i++) {
        const r = Math.min(1, Math.max(0, (i - from) / (to - from)));
        sr += r;
        srr += r * r;
        srx += r * x[i]!;
        sry += r * y[i]!;
        sx += x[i]!;
        sy += y[i]!;
      }
      const spread = srr - (sr * sr) / n;
      const [cx, cy] = [srx - (sr * sx) / n, sry - (sr * sy) / n];
      const explained = about > 0 ? (cx * cx + cy * cy) / spread / about : 0;
      ramps.push({ from, to, x: cx / spread, y: cy / spread, explained });
    }
  }
  const most = Math.max(...ramps.map((r) => r.explained));
  const good = ramps.filter((r) => 1 - r.explained <= Math.max(1e-9, asGood * (1 - most)));
  return good.reduce((a, b) => {
    const [p, q] = [a.to - a.from, b.to - b.from];
    return q < p || (q === p && b.explained > a.explained) ? b : a;
  });
}

function squaresAbout(values: ArrayLike<number>): number {
  const n = values.length;
  const mean = Array.from(values).reduce((sum, v) => sum + v, 0) / n;
  return Array.from(values).reduce((sum, v) => sum + (v - mean) ** 2, 0);
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
