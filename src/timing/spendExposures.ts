import { assert, present } from '../base/assert.ts';
import type { Exposure } from './timing.ts';
import type { RunErrors } from './visibleError.ts';

/** One point of the curve "so many exposures leave so much visible error". */
export interface BudgetPoint {
  readonly exposures: number;
  /** Root mean square over frames and parts, body heights; see `visibleError`. */
  readonly error: number;
}

/** How exposures can be spent: the curve over all numbers that are possible, and the best choice for each. */
export interface Budget {
  /** Rising by exposures; the error never rises. */
  readonly curve: readonly BudgetPoint[];
  /** The best choice of so many exposures (kept within what is possible). They tile the shot. */
  spend(exposures: number): Exposure[];
}

/** A pose may stay this long: half a second at 24 fps. Longer rests are several exposures, shot in one go. */
export const longestRun = 12;
/** A span without a frame that must be exposed is cut where the body moves least, to keep the work small: 4 s at 24 fps. */
const longestSpan = 96;
/**
 * A change of run length reads as a stutter (1-2-1-2); so each must save more than this part of what a run of two costs on average.
 * Small: what it guards against is a change that brings nothing.
 */
const changePrice = 0.2;

interface Span {
  readonly first: number;
  readonly frames: number;
  /** [exposures − 1] → least error of that many, with the price of changes; Infinity where impossible. */
  readonly cost: Float64Array;
  /** The error alone. */
  readonly error: Float64Array;
  runs(exposures: number): number[];
}

/**
 * Spends exposures where they count. Dynamic programming within the spans between frames that must be exposed (keys, contacts,
 * locked frames), for every number of exposures; then over the spans. With all numbers at hand the curve comes for nothing.
 * @param forced frames that must be exposed; 0 always is.
 * @param fixed runs chosen by hand, by their first frame: these spans are laid as they are.
 */
export function budgetOf(errors: RunErrors, forced: readonly number[], fixed: ReadonlyMap<number, Exposure>): Budget {
  const { frameCount } = errors;
  let onTwos = 0;
  for (let k = 0; k + 2 <= frameCount; k++) onTwos += errors.of(k, 2);
  const price = (changePrice * onTwos) / Math.max(1, frameCount);
  const spans = cutSpans(errors, forced, fixed).map(([first, end]): Span => {
    const hand = fixed.get(first);
    return hand && hand.frames === end - first ? fixedSpan(errors, hand) : solveSpan(errors, first, end, price);
  });
  const total = combine(spans, frameCount);
  const points = Math.max(1, frameCount * errors.partCount);
  const curve: BudgetPoint[] = [];
  let least = Number.POSITIVE_INFINITY;
  total.error.forEach((error, i) => {
    if (!Number.isFinite(total.cost[i] ?? Number.POSITIVE_INFINITY)) return;
    // With one more, the animator may always shoot a pose twice: the error cannot rise.
    least = Math.min(least, Math.sqrt(error / points));
    curve.push({ exposures: i, error: least });
  });
  const [fewest, most] = [curve[0]?.exposures ?? 1, curve.at(-1)?.exposures ?? 1];
  return {
    curve,
    spend(exposures) {
      const counts = total.counts(Math.max(fewest, Math.min(most, Math.round(exposures))));
      return spans.flatMap((span, i) => {
        let firstFrame = span.first;
        return span.runs(present(counts[i], 'exposures of a span')).map((frames) => {
          const run = { firstFrame, frames };
          firstFrame += frames;
          return run;
        });
      });
    },
  };
}

/** [first, end) of the spans between forced frames, long ones cut where least moves. */
function cutSpans(
  errors: RunErrors,
  forced: readonly number[],
  fixed: ReadonlyMap<number, Exposure>,
): [number, number][] {
  const { frameCount } = errors;
  const corners = new Set([0, frameCount, ...forced.filter((f) => f > 0 && f < frameCount)]);
  for (const { firstFrame, frames } of fixed.values()) {
    corners.add(firstFrame);
    corners.add(Math.min(frameCount, firstFrame + frames));
  }
  const rising = [...corners].sort((a, b) => a - b);
  const spans: [number, number][] = [];
  const cut = (first: number, end: number): void => {
    if (end - first <= longestSpan || fixed.has(first)) {
      spans.push([first, end]);
      return;
    }
    // In the middle half, so that the pieces become much smaller.
    const from = first + ((end - first) >> 2);
    const to = end - ((end - first) >> 2);
    let best = from;
    for (let k = from; k < to; k++) if (errors.of(k, 2) < errors.of(best, 2)) best = k;
    cut(first, best);
    cut(best, end);
  };
  rising.slice(1).forEach((end, i) => {
    cut(present(rising[i], 'corner'), end);
  });
  return spans;
}

function fixedSpan(errors: RunErrors, { firstFrame, frames }: Exposure): Span {
  const error = Float64Array.of(frames <= errors.longest ? errors.of(firstFrame, frames) : 0);
  return { first: firstFrame, frames, cost: error, error, runs: () => [frames] };
}

/** The best runs within a span for every number of them, the length of the run before being part of the state. */
function solveSpan(errors: RunErrors, first: number, end: number, price: number): Span {
  const n = end - first;
  const longest = Math.min(longestRun, errors.longest, n);
  const width = longest + 1;
  // State: frames done × exposures spent × length of the last run (1 .. longest).
  const at = (done: number, spent: number, last: number) => (done * (n + 1) + spent) * width + last;
  const cost = new Float64Array((n + 1) * (n + 1) * width).fill(Number.POSITIVE_INFINITY);
  const error = new Float64Array(cost.length);
  const before = new Uint8Array(cost.length);
  cost[at(0, 0, 0)] = 0;
  const runs = new Float64Array(n * width);
  for (let done = 0; done < n; done++)
    for (let frames = 1; frames <= Math.min(longest, n - done); frames++)
      runs[done * width + frames] = errors.of(first + done, frames);
  for (let done = 0; done < n; done++) {
    const most = Math.min(longest, n - done);
    for (let spent = Math.ceil(done / longest); spent <= done; spent++) {
      // A change costs the same whatever the lengths: of all runs that may have come before only the cheapest counts, and the
      // one of equal length.
      let cheapest = 0;
      let least = Number.POSITIVE_INFINITY;
      for (let last = 0; last <= longest; last++) {
        const soFar = cost[at(done, spent, last)]!;
        if (soFar >= least) continue;
        least = soFar;
        cheapest = last;
      }
      if (least === Number.POSITIVE_INFINITY) continue;
      const changed = least + (cheapest === 0 ? 0 : price);
      for (let frames = 1; frames <= most; frames++) {
        const same = cost[at(done, spent, frames)]!;
        const last = same <= changed ? frames : cheapest;
        const run = runs[done * width + frames]!;
        const next = at(done + frames, spent + 1, frames);
        cost[next] = Math.min(same, changed) + run;
        error[next] = error[at(done, spent, last)]! + run;
        before[next] = last;
      }
    }
  }
  const best = new Uint8Array(n);
  const leastCost = new Float64Array(n).fill(Number.POSITIVE_INFINITY);
  const leastError = new Float64Array(n);
  for (let spent = 1; spent <= n; spent++) {
    for (let last = 1; last <= longest; last++) {
      const state = at(n, spent, last);
      if (cost[state]! >= leastCost[spent - 1]!) continue;
      leastCost[spent - 1] = cost[state]!;
      leastError[spent - 1] = error[state]!;
      best[spent - 1] = last;
    }
  }
  return {
    first,
    frames: n,
    cost: leastCost,
    error: leastError,
    runs(exposures) {
      const taken: number[] = [];
      let done = n;
      let spent = exposures;
      let last = best[exposures - 1] ?? 0;
      while (done > 0) {
        assert(last > 0, `no way to lay ${exposures} exposures over ${n} frames`);
        taken.push(last);
        const earlier = before[at(done, spent, last)]!;
        done -= last;
        spent--;
        last = earlier;
      }
      return taken.reverse();
    },
  };
}

/** The best sharing of every number of exposures among the spans. Arrays have shape [exposures]. */
function combine(spans: readonly Span[], frameCount: number) {
  let cost: Float64Array = new Float64Array(frameCount + 1).fill(Number.POSITIVE_INFINITY);
  let error: Float64Array = new Float64Array(frameCount + 1);
  cost[0] = 0;
  const taken: Uint16Array[] = [];
  let reach = 0;
  for (const span of spans) {
    const nextCost = new Float64Array(frameCount + 1).fill(Number.POSITIVE_INFINITY);
    const nextError = new Float64Array(frameCount + 1);
    const take = new Uint16Array(frameCount + 1);
    for (let before = 0; before <= reach; before++) {
      const soFar = cost[before]!;
      if (soFar === Number.POSITIVE_INFINITY) continue;
      for (let m = 1; m <= span.cost.length; m++) {
        const sum = soFar + span.cost[m - 1]!;
        if (sum >= nextCost[before + m]!) continue;
        nextCost[before + m] = sum;
        nextError[before + m] = error[before]! + span.error[m - 1]!;
        take[before + m] = m;
      }
    }
    taken.push(take);
    reach += span.cost.length;
    cost = nextCost;
    error = nextError;
  }
  return {
    cost,
    error,
    counts(exposures: number): number[] {
      const counts: number[] = [];
      let left = exposures;
      for (let i = taken.length - 1; i >= 0; i--) {
        const m = taken[i]![left] ?? 0;
        counts.push(m);
        left -= m;
      }
      return counts.reverse();
    },
  };
}
