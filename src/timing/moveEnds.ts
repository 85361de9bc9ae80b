import { minimumJerk } from './ease.ts';
import type { JointMove } from './moveFit.ts';
import type { SampledPath } from './poseSamples.ts';

/** When a limb sets out and when it is there, as told by its whole way. Samples, may lie between two. */
export interface MoveEnds {
  readonly outset: number;
  readonly stop: number;
  /** How well these are known, sd in samples. */
  readonly outsetSd: number;
  readonly stopSd: number;
}

/** How a move begins and ends: softly at both ends, or at one end as if struck: fastest there. */
type Shape = 'soft' | 'deadStop' | 'deadStart';

/** So much of a move's duration beside it shows where the limb rests. */
const besideShare = 0.4;
/** Steps of Gauss and Newton; from the level crossings of `fitMove` three are enough. */
const mostSteps = 5;
/** Errors stay alike for about this long: so many samples count as one. */
const alikeSamples = 4;
/** A dead stop must explain what a soft one leaves this much better: the squares left fall to this part. */
const clearlyBetter = 0.45;
/** Misses up to this, body heights, are never taken for a wrong shape: 0.05 %. */
const leastMiss = 0.0005;
/** Variance of the minimum-jerk speed profile over its duration, see `moveFit.ts`. */
const spreadPerDuration = 1 / 28;
const leastSharp = 0.5;

/**
 * Fits the ends of a limb's move by least squares over all samples near it (variable projection, Golub & Pereyra 1973, with
 * Kaufman's simplification): the place it comes from, the way it goes and the two times are found together, so that neither a
 * single erring sample nor a threshold decides. A soft start has gone a hundredth of its way after a tenth of its time:
 * only the shape of the whole tells when it began.
 * @param first and `last`: samples in which nothing but this move happens.
 * @param blur see `PoseSamples.blur`.
 */
export function fitEnds(path: SampledPath, move: JointMove, first: number, last: number, blur: number): MoveEnds {
  const soft = fitShape(path, move, first, last, 'soft');
  let best = soft;
  if (soft.miss > leastMiss) {
    for (const shape of ['deadStop', 'deadStart'] as const) {
      const other = fitShape(path, move, first, last, shape);
      if (other.miss ** 2 < clearlyBetter * soft.miss ** 2 && other.miss < best.miss) best = other;
    }
  }
  if (best !== soft) return best;
  const duration = best.stop - best.outset;
  const sharp = Math.sqrt(Math.max(leastSharp ** 2 * duration ** 2, duration ** 2 - blur ** 2 / spreadPerDuration));
  const middle = (best.outset + best.stop) / 2;
  return { outset: middle - sharp / 2, stop: middle + sharp / 2, outsetSd: best.outsetSd, stopSd: best.stopSd };
}

interface Fitted extends MoveEnds {
  /** Root mean square miss, in the unit of x and y. */
  readonly miss: number;
}

function fitShape(path: SampledPath, move: JointMove, first: number, last: number, shape: Shape): Fitted {
  let outset = move.leaves;
  let stop = Math.max(move.arrives, outset + 1);
  const beside = besideShare * (stop - outset);
  const from = Math.max(first, Math.floor(outset - beside));
  const to = Math.min(last, Math.ceil(stop + beside));
  const limits = { from: from - (stop - outset), to: to + (stop - outset) };
  let now = project(path, move, from, to, outset, stop, shape);
  for (let step = 0; step < mostSteps; step++) {
    let scale = 1;
    let next = now;
    for (let half = 0; half < 4; half++, scale /= 2) {
      const o = Math.max(limits.from, outset + scale * now.dOutset);
      const s = Math.min(limits.to, Math.max(o + 1, stop + scale * now.dStop));
      const tried = project(path, move, from, to, o, s, shape);
      if (tried.squares < now.squares) {
        next = tried;
        outset = o;
        stop = s;
        break;
      }
    }
    if (next === now) break;
    const gained = now.squares - next.squares;
    now = next;
    if (gained < 1e-3 * now.squares) break;
  }
  const count = Math.max(1, to - from + 1);
  const variance = (now.squares / Math.max(1, 2 * count - 6)) * alikeSamples + 1e-14;
  return {
    outset,
    stop,
    outsetSd: Math.sqrt(variance * now.outsetVariance),
    stopSd: Math.sqrt(variance * now.stopVariance),
    miss: Math.sqrt(now.squares / count),
  };
}

interface Projected {
  readonly squares: number;
  /** The step of Gauss and Newton. */
  readonly dOutset: number;
  readonly dStop: number;
  /** Variances of the two times for unit variance along each axis. */
  readonly outsetVariance: number;
  readonly stopVariance: number;
}

/**
 * For given ends the place and the way follow by linear regression of p on z, both complex: p = a + c z, where z goes from 0
 * to 1 along an arc of the move's bulge.
 */
function project(
  path: SampledPath,
  move: JointMove,
  from: number,
  to: number,
  outset: number,
  stop: number,
  shape: Shape,
): Projected {
  const { x, y } = path;
  const n = to - from + 1;
  const round = Math.abs(move.bulge) > 0.01;
  const angle = 4 * Math.atan(2 * move.bulge);
  const chord = 2 * Math.sin(angle / 2);
  const rise = Math.cos(angle / 2);
  const perSample = 1 / (stop - outset);
  // Per sample: z, and its changes with outset and stop.
  const column = columns(6 * n);
  let sumZx = 0;
  let sumZy = 0;
  let sumX = 0;
  let sumY = 0;
  for (let i = 0; i < n; i++) {
    const u = Math.min(1, Math.max(0, (from + i - outset) * perSample));
    const e = eased(u, shape);
    const slope = u > 0 && u < 1 ? slopeOf(u, shape) : 0;
    let zx = e;
    let zy = 0;
    let tx = slope;
    let ty = 0;
    if (round) {
      const turn = angle * (e - 0.5);
      const sin = Math.sin(turn);
      const cos = Math.cos(turn);
      zx = 0.5 + sin / chord;
      zy = (cos - rise) / chord;
      tx = (slope * angle * cos) / chord;
      ty = (-slope * angle * sin) / chord;
    }
    const at = 6 * i;
    column[at] = zx;
    column[at + 1] = zy;
    const byOutset = (u - 1) * perSample;
    const byStop = -u * perSample;
    column[at + 2] = tx * byOutset;
    column[at + 3] = ty * byOutset;
    column[at + 4] = tx * byStop;
    column[at + 5] = ty * byStop;
    sumZx += zx;
    sumZy += zy;
    sumX += x[from + i] ?? 0;
    sumY += y[from + i] ?? 0;
  }
  const mzx = sumZx / n;
  const mzy = sumZy / n;
  const mx = sumX / n;
  const my = sumY / n;
  // c = Σ conj(z) p / Σ |z|², everything about its mean; the same for both derivatives, which are taken off along 1 and z.
  let zz = 0;
  let cx = 0;
  let cy = 0;
  const mean = [0, 0, 0, 0];
  for (let i = 0; i < n; i++) {
    const at = 6 * i;
    const zx = (column[at] ?? 0) - mzx;
    const zy = (column[at + 1] ?? 0) - mzy;
    const px = (x[from + i] ?? 0) - mx;
    const py = (y[from + i] ?? 0) - my;
    zz += zx * zx + zy * zy;
    cx += zx * px + zy * py;
    cy += zx * py - zy * px;
    for (let k = 0; k < 4; k++) mean[k] = (mean[k] ?? 0) + (column[at + 2 + k] ?? 0) / n;
  }
  if (zz < 1e-12) return { squares: Infinity, dOutset: 0, dStop: 0, outsetVariance: Infinity, stopVariance: Infinity };
  cx /= zz;
  cy /= zz;
  const [mox = 0, moy = 0, msx = 0, msy = 0] = mean;
  let gox = 0;
  let goy = 0;
  let gsx = 0;
  let gsy = 0;
  for (let i = 0; i < n; i++) {
    const at = 6 * i;
    const zx = (column[at] ?? 0) - mzx;
    const zy = (column[at + 1] ?? 0) - mzy;
    const ox = (column[at + 2] ?? 0) - mox;
    const oy = (column[at + 3] ?? 0) - moy;
    const sx = (column[at + 4] ?? 0) - msx;
    const sy = (column[at + 5] ?? 0) - msy;
    gox += zx * ox + zy * oy;
    goy += zx * oy - zy * ox;
    gsx += zx * sx + zy * sy;
    gsy += zx * sy - zy * sx;
  }
  gox /= zz;
  goy /= zz;
  gsx /= zz;
  gsy /= zz;
  let squares = 0;
  let oo = 0;
  let os = 0;
  let ss = 0;
  let or = 0;
  let sr = 0;
  for (let i = 0; i < n; i++) {
    const at = 6 * i;
    const zx = (column[at] ?? 0) - mzx;
    const zy = (column[at + 1] ?? 0) - mzy;
    const rx = (x[from + i] ?? 0) - mx - (cx * zx - cy * zy);
    const ry = (y[from + i] ?? 0) - my - (cx * zy + cy * zx);
    squares += rx * rx + ry * ry;
    const ox = (column[at + 2] ?? 0) - mox - (gox * zx - goy * zy);
    const oy = (column[at + 3] ?? 0) - moy - (gox * zy + goy * zx);
    const sx = (column[at + 4] ?? 0) - msx - (gsx * zx - gsy * zy);
    const sy = (column[at + 5] ?? 0) - msy - (gsx * zy + gsy * zx);
    const jox = cx * ox - cy * oy;
    const joy = cx * oy + cy * ox;
    const jsx = cx * sx - cy * sy;
    const jsy = cx * sy + cy * sx;
    oo += jox * jox + joy * joy;
    os += jox * jsx + joy * jsy;
    ss += jsx * jsx + jsy * jsy;
    or += jox * rx + joy * ry;
    sr += jsx * rx + jsy * ry;
  }
  // A little damping (Levenberg) keeps ends that lie outside the samples where they are.
  const damp = 1e-4 * (oo + ss) + 1e-18;
  const a = oo + damp;
  const b = ss + damp;
  const det = a * b - os * os;
  return {
    squares,
    dOutset: (b * or - os * sr) / det,
    dStop: (a * sr - os * or) / det,
    outsetVariance: b / det,
    stopVariance: a / det,
  };
}

let scratch = new Float64Array(0);
function columns(length: number): Float64Array {
  if (scratch.length < length) scratch = new Float64Array(2 * length);
  return scratch;
}

function eased(u: number, shape: Shape): number {
  if (shape === 'soft') return minimumJerk(u);
  return shape === 'deadStop' ? 2 * minimumJerk(u / 2) : 1 - 2 * minimumJerk((1 - u) / 2);
}

function slopeOf(u: number, shape: Shape): number {
  const v = shape === 'soft' ? u : shape === 'deadStop' ? u / 2 : (1 - u) / 2;
  return 30 * v * v * (1 - v) * (1 - v);
}
