import type { Joint } from '../base/joints.ts';
import type { Doubt, DoubtCode } from './motion.ts';

/** All spans of one kind of doubt about one joint: one line on the screen. */
export interface DoubtGroup<D extends Doubt = Doubt> {
  readonly code: DoubtCode;
  /** Null when it concerns the whole body. */
  readonly joint: Joint | null;
  readonly headline: string;
  /** The span that matters most: its sentence stands for the group. */
  readonly worst: D;
  /** In order of time; never empty. */
  readonly spans: readonly D[];
  /** Σ worth × length of all spans, torso lengths × seconds: for ranking only. */
  readonly weight: number;
}

/** In which order groups stand: by what they may cost, or by where they begin. */
export type DoubtOrder = 'worst' | 'time';

/** A doubt of a single picture still counts for about one picture's time, seconds. */
const leastLengthSec = 0.04;

/** The doubts by joint and kind, worst first or in order of time. */
export function groupDoubts<D extends Doubt>(doubts: readonly D[], order: DoubtOrder): DoubtGroup<D>[] {
  const byKind = new Map<string, D[]>();
  for (const doubt of doubts) {
    // The headline too: one joint may be never seen in one take and hard to see in another.
    const key = `${doubt.code} ${doubt.joint} ${doubt.headline}`;
    const spans = byKind.get(key);
    if (spans) spans.push(doubt);
    else byKind.set(key, [doubt]);
  }
  const groups = [...byKind.values()].map((all): DoubtGroup<D> => {
    const spans = all.toSorted((a, b) => a.startSec - b.startSec);
    const worst = spans.reduce((a, b) => (cost(b) > cost(a) ? b : a));
    const { code, joint, headline } = worst;
    return { code, joint, headline, worst, spans, weight: spans.reduce((sum, d) => sum + cost(d), 0) };
  });
  return order === 'worst'
    ? groups.sort((a, b) => b.weight - a.weight)
    : groups.sort((a, b) => a.spans[0]!.startSec - b.spans[0]!.startSec);
}

/** What one doubt may cost: how far off, for how long. */
function cost(doubt: Doubt): number {
  return doubt.worth * Math.max(leastLengthSec, doubt.endSec - doubt.startSec);
}
