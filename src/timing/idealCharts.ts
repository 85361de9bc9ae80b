import { minimumJerk } from './ease.ts';

/** A spacing that animators draw on paper, or the smoothest reach. */
export type ChartName = 'even' | 'halves' | 'halvesToLast' | 'halvesFromFirst' | 'thirds' | 'minimumJerk';

/** Charts as an animator says them. */
export const chartWords: Readonly<Record<ChartName, string>> = {
  even: 'even spacing',
  halves: 'halves to both ends',
  halvesToLast: 'halves into the last pose',
  halvesFromFirst: 'halves out of the first pose',
  thirds: 'thirds, halved to both ends',
  minimumJerk: 'the smoothest reach',
};

/** How far a spacing is from a chart. */
export interface ChartDistance {
  readonly chart: ChartName;
  /** Root mean square over the in-betweens, fraction of the path. */
  readonly distance: number;
  /** Where the chart would have each tick, 0..1. Shape [tick]. */
  readonly fractions: readonly number[];
}

/**
 * A chart for `steps` steps, by the trade's halving: the middle (halves) or both thirds first, then halfway to an end again and
 * again; what is over goes to the last pose. Halves into the last pose are 1/2, 3/4, 7/8 …. Charts count poses; the smoothest reach
 * (Flash & Hogan 1985) counts time.
 * @param times of the ticks, 0..1 of the move. Shape [tick].
 * @returns Shape [tick], from 0 to 1.
 */
export function idealFractions(chart: ChartName, times: readonly number[]): number[] {
  const steps = times.length - 1;
  const between = steps - 1;
  switch (chart) {
    case 'even':
      return times.map((_, i) => i / steps);
    case 'minimumJerk':
      return times.map(minimumJerk);
    case 'halvesToLast':
      return [0, ...count(between).map((i) => 1 - 0.5 ** (i + 1)), 1];
    case 'halvesFromFirst':
      return [0, ...count(between).map((i) => 0.5 ** (between - i)), 1];
    case 'halves':
      return bothEnds(between, 0.5, 0.5, 1);
    case 'thirds':
      return bothEnds(between, 1 / 3, 2 / 3, 2);
  }
}

/** In-betweens at `low` and `high` (one and the same where `middle` is 1) and by halves from there to either end. */
function bothEnds(between: number, low: number, high: number, middle: 1 | 2): number[] {
  if (between < middle) return between === 0 ? [0, 1] : [0, 0.5, 1];
  const before = Math.floor((between - middle) / 2);
  const after = between - middle - before;
  const first = count(before).map((i) => low * 0.5 ** (before - i));
  const last = count(after).map((i) => 1 - (1 - high) * 0.5 ** (i + 1));
  return [0, ...first, ...(middle === 1 ? [low] : [low, high]), ...last, 1];
}

function count(n: number): number[] {
  return Array.from({ length: n }, (_, i) => i);
}

const charts: readonly ChartName[] = ['even', 'halves', 'halvesToLast', 'halvesFromFirst', 'thirds', 'minimumJerk'];

/** How far a spacing is from each chart, nearest first. Two steps have one in-between only, and several charts agree. */
export function distancesToCharts(
  ticks: readonly { readonly time: number; readonly fraction: number }[],
): ChartDistance[] {
  const times = ticks.map((t) => t.time);
  const between = Math.max(1, ticks.length - 2);
  return charts
    .map((chart) => {
      const fractions = idealFractions(chart, times);
      const squares = ticks.reduce((sum, t, i) => sum + (t.fraction - fractions[i]!) ** 2, 0);
      return { chart, distance: Math.sqrt(squares / between), fractions };
    })
    .sort((a, b) => a.distance - b.distance);
}
