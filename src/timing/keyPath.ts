import { fitMove, type JointMove, strideOf, sumMisses } from './moveFit.ts';
import type { PoseSamples } from './poseSamples.ts';

/** What it costs to go from one pose straight to another, without a key between. */
export interface Leg {
  /** Significant misses, summed: see `significance`. */
  readonly cost: number;
  /** Sum over samples and joints of the squared distance, body heights². */
  readonly squares: number;
  /** The fitted way of each joint, in the order of `PoseSamples.joints`. */
  readonly moves: readonly JointMove[];
}

/** Cost and ways of legs between poses given as samples, worked out when first asked for. */
export interface Legs {
  leg(from: number, to: number): Leg;
}

/** A miss of this size, beyond what noise explains, counts 1 per joint and frame at 24 fps: 0.5 % of the body height. */
const significance = 0.005;
/** Misses within this many standard deviations are noise. */
const noiseSds = 1.5;
/** Costs are summed per frame at 24 fps, however fine the samples. */
const framesPerSec = 24;

/** Legs between any two poses. */
export function legsOf(samples: PoseSamples): Legs {
  const known = new Map<number, Leg>();
  return {
    leg(from, to) {
      const id = from * samples.count + to;
      const before = known.get(id);
      if (before) return before;
      const leg = walk(samples, from, to);
      known.set(id, leg);
      return leg;
    },
  };
}

function walk(samples: PoseSamples, from: number, to: number): Leg {
  const { joints, blur } = samples;
  let cost = 0;
  let squares = 0;
  const frames = strideOf(from, to) * samples.stepSec * framesPerSec;
  const waits = new Waits();
  for (const joint of joints) {
    const move = fitMove(joint, from, to, blur);
    waits.add(move, joint.sd[0] ?? 0);
    const sum = { squares: 0, beyond: 0 };
    sumMisses(joint, move, from, to, noiseSds, sum);
    squares += sum.squares;
    cost += (joint.weight * frames * sum.beyond) / significance ** 2;
  }
  let moves: readonly JointMove[] | null = null;
  return {
    cost: cost + waits.cost(samples.stepSec),
    squares,
    // Of a thousand legs that are weighed, the ways of a hundred are looked at.
    get moves() {
      moves ??= joints.map((joint) => fitMove(joint, from, to, blur));
      return moves;
    },
  };
}

/** A limb may start or stop this much beside the others (drag, overlap); more, and it makes a move of its own. */
const overlapSec = 5 / 24;
/** What each further frame of waiting costs, for a limb whose way is as long as `fullWay` or longer. */
const waitPrice = 8;
const fullWay = 0.03;

/** Sums up how long limbs wait for each other in a leg. */
class Waits {
  readonly #real: JointMove[] = [];

  add(move: JointMove, sd: number): void {
    if (move.distance > Math.max(fullWay / 2, 4 * sd)) this.#real.push(move);
  }

  cost(stepSec: number): number {
    if (this.#real.length < 2) return 0;
    let first = Number.POSITIVE_INFINITY;
    let last = Number.NEGATIVE_INFINITY;
    for (const m of this.#real) {
      first = Math.min(first, m.leaves);
      last = Math.max(last, m.arrives);
    }
    let longest = 0;
    for (const m of this.#real) {
      const late = Math.max(m.leaves - first, last - m.arrives) * stepSec - overlapSec;
      longest = Math.max(longest, late * Math.min(1, m.distance / fullWay));
    }
    return waitPrice * longest * framesPerSec;
  }
}

/** The best choice of poses for every number of poses. */
export interface KeyPaths {
  /** Fewest poses that the forced ones leave, and all there are. */
  readonly fewest: number;
  readonly most: number;
  /** Candidate indices of the best choice of `count` poses, and what it costs; empty and Infinity where there is none. */
  path(count: number): readonly number[];
  cost(count: number): number;
}

/** No leg spans more candidates than this: a move so long needs keys anyway, and long takes would grow with the square. */
const longestLeg = 16;

/**
 * Dynamic programming: for every number of poses the choice, from first to last candidate and through all forced ones, whose
 * legs cost least.
 * @param at the candidates' samples, rising.
 */
export function bestPaths(legs: Legs, at: readonly number[], forced: readonly boolean[]): KeyPaths {
  const n = at.length;
  const fewest = n === 1 ? 1 : forced.filter((f, i) => f && i > 0 && i < n - 1).length + 2;
  const top = n;
  // Row `count`, column candidate: what the best choice of `count` poses that ends there costs, and the pose before.
  const costs = new Float64Array((top + 1) * n).fill(Number.POSITIVE_INFINITY);
  const cameFrom = new Int32Array((top + 1) * n).fill(-1);
  costs[n] = 0;
  for (let to = 1; to < n; to++) {
    for (let from = to - 1; from >= Math.max(0, to - longestLeg); from--) {
      const { cost } = legs.leg(at[from] ?? 0, at[to] ?? 0);
      // So few poses do not reach `from`, and more there are not.
      const least = Math.ceil(from / longestLeg) + 2;
      for (let count = least; count <= Math.min(top, from + 2); count++) {
        const sum = (costs[(count - 1) * n + from] ?? 0) + cost;
        const cell = count * n + to;
        if (sum < (costs[cell] ?? 0)) {
          costs[cell] = sum;
          cameFrom[cell] = from;
        }
      }
      if (forced[from]) break;
    }
  }
  const costOf = (count: number) =>
    n === 0 ? Number.POSITIVE_INFINITY : (costs[count * n + n - 1] ?? Number.POSITIVE_INFINITY);
  return {
    fewest,
    most: top,
    cost: costOf,
    path(count) {
      const path: number[] = [];
      if (!Number.isFinite(costOf(count))) return path;
      for (let i = n - 1, left = count; i >= 0 && left > 0; left--) {
        path.push(i);
        i = cameFrom[left * n + i] ?? -1;
      }
      return path.reverse();
    },
  };
}

/** The poses, out of candidates given as rising samples, whose legs cost least at so much a pose. First and last are among them. */
export function cheapestPath(legs: Legs, at: readonly number[], price: number): number[] {
  const costs = new Float64Array(at.length).fill(Number.POSITIVE_INFINITY);
  const cameFrom = new Int32Array(at.length).fill(-1);
  costs[0] = 0;
  for (let to = 1; to < at.length; to++) {
    for (let from = to - 1; from >= Math.max(0, to - longestLeg); from--) {
      const before = (costs[from] ?? 0) + price;
      if (before >= (costs[to] ?? 0)) continue;
      const sum = before + legs.leg(at[from] ?? 0, at[to] ?? 0).cost;
      if (sum >= (costs[to] ?? 0)) continue;
      costs[to] = sum;
      cameFrom[to] = from;
    }
  }
  const path: number[] = [];
  for (let i = at.length - 1; i >= 0; i = cameFrom[i] ?? -1) path.push(at[i] ?? 0);
  return path.reverse();
}
