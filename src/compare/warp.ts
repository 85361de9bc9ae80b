import { assert } from '../base/assert.ts';

/** A pair of places in two sequences, from 0: this one of the first goes with that one of the second. */
export type WarpPair = readonly [first: number, second: number];

/** How two sequences go together. */
export interface Warp {
  /** Sum of the costs of all pairs. */
  readonly cost: number;
  /** Both rise, by 0 or 1 from pair to pair; from the beginnings to the ends. */
  readonly pairs: readonly WarpPair[];
}

/** What a warp must keep to. */
export interface WarpOptions {
  /** Pairs that it must pass, rising in both. */
  readonly anchors?: readonly WarpPair[];
  /** So far at most the second may be from where the diagonal of its stretch has it; absent = anywhere. */
  readonly window?: number;
}

/**
 * Dynamic time warping: the way through all pairs with the least sum of costs, in steps (1,0), (0,1) and (1,1) of weight 1 (Sakoe &
 * Chiba 1978, their symmetric form without slope weights; from memory).
 * @param cost of a pair, 0 or more; asked at most once for each.
 */
export function warpSequences(
  firstCount: number,
  secondCount: number,
  cost: (first: number, second: number) => number,
  { anchors = [], window = Number.POSITIVE_INFINITY }: WarpOptions = {},
): Warp {
  assert(firstCount > 0 && secondCount > 0, `warp of ${firstCount} and ${secondCount}`);
  const stops: WarpPair[] = [[0, 0]];
  for (const anchor of [...anchors, [firstCount - 1, secondCount - 1] as const]) {
    const [i, j] = stops.at(-1)!;
    assert(
      anchor[0] >= i && anchor[1] >= j && anchor[0] < firstCount && anchor[1] < secondCount,
      `anchor ${anchor[0]}, ${anchor[1]}`,
    );
    if (anchor[0] > i || anchor[1] > j) stops.push(anchor);
  }
  const pairs: WarpPair[] = [[0, 0]];
  let sum = cost(0, 0);
  for (let s = 1; s < stops.length; s++) {
    const leg = warpLeg(stops[s - 1]!, stops[s]!, cost, window);
    sum += leg.cost;
    pairs.push(...leg.pairs);
  }
  return { cost: sum, pairs };
}

/** From one pair, which does not count again, to another. */
function warpLeg(
  [i0, j0]: WarpPair,
  [i1, j1]: WarpPair,
  cost: (first: number, second: number) => number,
  window: number,
): { cost: number; pairs: WarpPair[] } {
  const [n, m] = [i1 - i0 + 1, j1 - j0 + 1];
  const sums = new Float64Array(n * m).fill(Number.POSITIVE_INFINITY);
  const from = new Uint8Array(n * m);
  sums[0] = 0;
  const slope = n > 1 ? (m - 1) / (n - 1) : 0;
  // A window narrower than a step of the diagonal would leave no way through.
  const half = Math.max(window, slope, 1);
  for (let i = 0; i < n; i++) {
    const [low, high] = n === 1 ? [0, m - 1] : [i * slope - half, i * slope + half];
    for (let j = Math.max(0, Math.ceil(low)); j <= Math.min(m - 1, high); j++) {
      if (i + j === 0) continue;
      const at = i * m + j;
      const diagonal = i > 0 && j > 0 ? sums[at - m - 1]! : Number.POSITIVE_INFINITY;
      const down = i > 0 ? sums[at - m]! : Number.POSITIVE_INFINITY;
      const across = j > 0 ? sums[at - 1]! : Number.POSITIVE_INFINITY;
      const least = Math.min(diagonal, down, across);
      if (least === Number.POSITIVE_INFINITY) continue;
      sums[at] = least + cost(i0 + i, j0 + j);
      from[at] = least === diagonal ? 0 : least === down ? 1 : 2;
    }
  }
  const pairs: WarpPair[] = [];
  for (let i = n - 1, j = m - 1; i > 0 || j > 0; ) {
    pairs.push([i0 + i, j0 + j]);
    const step = from[i * m + j]!;
    if (step !== 2) i--;
    if (step !== 1) j--;
  }
  return { cost: sums[n * m - 1]!, pairs: pairs.reverse() };
}

/** For each place in the first sequence, the mean of the places in the second that go with it. Shape [first]. */
export function partnersOf({ pairs }: Warp, firstCount: number): Float64Array {
  const [sums, counts] = [new Float64Array(firstCount), new Float64Array(firstCount)];
  for (const [i, j] of pairs) {
    sums[i]! += j;
    counts[i]! += 1;
  }
  return sums.map((sum, i) => sum / counts[i]!);
}
