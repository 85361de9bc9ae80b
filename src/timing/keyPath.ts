import { eachMiss, fitMove, type JointMove, strideOf } from './moveFit.ts';
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
  const moves: JointMove[] = [];
  let cost = 0;
  let squares = 0;
  const stride = strideOf(from, to);
  const frames = stride * samples.stepSec * framesPerSec;
  for (const joint of samples.joints) {
    const move = fitMove(joint, from, to, samples.blur);
    moves.push(move);
    const { sd, weight } = joint;
    eachMiss(joint, move, from, to, (k, square) => {
      squares += square * stride;
      const noise = noiseSds * (sd[k] ?? 0);
      if (square <= noise * noise) return;
      const beyond = (Math.sqrt(square) - noise) / significance;
      cost += weight * beyond * beyond * frames;
    });
  }
  return { cost: cost + waits(samples, moves), squares, moves };
}

/** A limb may start or stop this much beside the others (drag, overlap); more, and it makes a move of its own. */
const overlapSec = 5 / 24;
/** What each further frame of waiting costs, for a limb whose way is as long as `fullWay` or longer. */
const waitPrice = 8;
const fullWay = 0.03;

function waits(samples: PoseSamples, moves: readonly JointMove[]): number {
  const real = moves.filter((m, j) => m.distance > Math.max(fullWay / 2, 4 * (samples.joints[j]?.sd[0] ?? 0)));
  if (real.length < 2) return 0;
  const first = Math.min(...real.map((m) => m.leaves));
  const last = Math.max(...real.map((m) => m.arrives));
  let longest = 0;
  for (const m of real) {
    const late = Math.max(m.leaves - first, last - m.arrives) * samples.stepSec - overlapSec;
    longest = Math.max(longest, late * Math.min(1, m.distance / fullWay));
  }
  return waitPrice * longest * framesPerSec;
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
  const costs: Float64Array[] = [];
  const cameFrom: Int32Array[] = [];
  for (let count = 0; count <= top; count++) {
    costs.push(new Float64Array(n).fill(Number.POSITIVE_INFINITY));
    cameFrom.push(new Int32Array(n).fill(-1));
  }
  const first = costs[1];
  if (first) first[0] = 0;
  for (let to = 1; to < n; to++) {
    for (let from = to - 1; from >= Math.max(0, to - longestLeg); from--) {
      const { cost } = legs.leg(at[from] ?? 0, at[to] ?? 0);
      for (let count = 2; count <= Math.min(top, to + 1); count++) {
        const sum = (costs[count - 1]?.[from] ?? Number.POSITIVE_INFINITY) + cost;
        const row = costs[count];
        const back = cameFrom[count];
        if (row && back && sum < (row[to] ?? 0)) {
          row[to] = sum;
          back[to] = from;
        }
      }
      if (forced[from]) break;
    }
  }
  return {
    fewest,
    most: top,
    cost: (count) => costs[count]?.[n - 1] ?? Number.POSITIVE_INFINITY,
    path(count) {
      const path: number[] = [];
      if (!Number.isFinite(this.cost(count))) return path;
      for (let i = n - 1, left = count; i >= 0 && left > 0; left--) {
        path.push(i);
        i = cameFrom[left]?.[i] ?? -1;
      }
      return path.reverse();
    },
  };
}
