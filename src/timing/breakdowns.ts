import type { Legs } from './keyPath.ts';
import type { PoseSamples } from './poseSamples.ts';

/** Finds the pose between poses that helps most. */
export interface Breakdowns {
  /** The sample that takes most off the error of going straight from pose to pose; null when none takes any off. */
  next(poses: readonly number[]): number | null;
}

/** Poses nearer than this have nothing between them: 4 frames at 24 fps. */
const nearestSec = 4 / 24;
/** Where between two poses a breakdown is looked for, as parts of the time. */
const places = [0.3, 0.4, 0.5, 0.6, 0.7];

/** Looks for breakdowns between poses given as rising samples. Splits are worked out once. */
export function breakdownsFor(samples: PoseSamples, legs: Legs): Breakdowns {
  const known = new Map<string, { sample: number; gain: number } | null>();
  const split = (from: number, to: number) => {
    const id = `${from} ${to}`;
    const before = known.get(id);
    if (before !== undefined) return before;
    let best: { sample: number; gain: number } | null = null;
    if ((to - from) * samples.stepSec >= 2 * nearestSec) {
      const whole = legs.leg(from, to).squares;
      for (const place of places) {
        const sample = Math.round(from + place * (to - from));
        const gain = whole - legs.leg(from, sample).squares - legs.leg(sample, to).squares;
        if (gain > (best?.gain ?? 0)) best = { sample, gain };
      }
    }
    known.set(id, best);
    return best;
  };
  return {
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
