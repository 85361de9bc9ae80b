import type { Leg, Legs } from './keyPath.ts';
import type { PoseSamples } from './poseSamples.ts';

/** Finds the pose between poses that helps most. */
export interface Breakdowns {
  /**
   * The sample that takes most off the error of going straight from pose to pose. Where none takes any off, one in the widest
   * move. Null when the poses stand too close for another.
   */
  next(poses: readonly number[]): number | null;
  /** How much the best pose between two takes off, and which it is; null when they stand too close. */
  between(from: number, to: number): { readonly sample: number; readonly gain: number } | null;
}

/** A breakdown stands at least this far from the poses beside it: 3 frames at 24 fps. */
const nearestSec = 3 / 24;
/** Share of its squared distance by which a move is preferred where no breakdown gains anything: only to break ties. */
const tieBreak = 1e-6;
/** Where between two poses a breakdown is looked for, as parts of the time. */
const places = [0.3, 0.4, 0.5, 0.6, 0.7];

/**
 * Looks for breakdowns between poses given as rising samples. Splits are worked out once.
 * @param errorOf what a breakdown is to take off.
 */
export function breakdownsFor(samples: PoseSamples, legs: Legs, errorOf: (leg: Leg) => number): Breakdowns {
  const known = new Map<string, { sample: number; gain: number } | null>();
  const split = (from: number, to: number) => {
    const id = `${from} ${to}`;
    const before = known.get(id);
    if (before !== undefined) return before;
    let best: { sample: number; gain: number } | null = null;
    if ((to - from) * samples.stepSec >= 2 * nearestSec) {
      const whole = legs.leg(from, to);
      const width = whole.moves.reduce((sum, m) => sum + m.distance ** 2, 0);
      for (const place of places) {
        const sample = Math.round(from + place * (to - from));
        if (Math.min(sample - from, to - sample) * samples.stepSec < nearestSec - 1e-9) continue;
        const saved = errorOf(whole) - errorOf(legs.leg(from, sample)) - errorOf(legs.leg(sample, to));
        const gain = Math.max(0, saved) + tieBreak * width * place * (1 - place);
        if (gain > (best?.gain ?? 0)) best = { sample, gain };
      }
    }
    known.set(id, best);
    return best;
  };
  return {
    between: split,
    next(poses) {
      let best: { sample: number; gain: number } | null = null;
      for (let i = 1; i < poses.length; i++) {
        const here = split(poses[i - 1] ?? 0, poses[i] ?? 0);
        if (here && here.gain > (best?.gain ?? 0)) best = here;
      }
      return best?.sample ?? null;
    },
  };
}
