import { isFollowable, joinedBox, type SeenPose } from './crop.ts';

/** The crops of a whole take, in upright pixels. Shape [picture] each; NaN in all three = nobody is to be seen there. */
export interface CropPath {
  readonly centreX: Float64Array;
  readonly centreY: Float64Array;
  /** Of the square. */
  readonly side: Float64Array;
}

/**
 * A square's side over the longer side of the believed joints' box, measured from the square's centre. Of 1.25 and 1.15,
 * tried with Thunder on takes of known joints, the closer one gave 2.51 % of the torso instead of 2.70, and fewer changed sides.
 */
const margin = 1.15;
/** ... and at least so many torso lengths, so that a limb that was not believed still lies inside. */
const leastTorsos = 3;
/** A single wrong pose must not move the crop: edges are medians over this to both sides, seconds. */
const medianReachSec = 0.1;
/** The crop's centre is a Gaussian mean of this width, seconds: it must not shake, or the model's noise follows it. */
const centreSigmaSec = 0.3;
/**
 * Its side is the largest need within this to both sides, then smoothed over as much (three standard deviations), seconds:
 * so it is never below the need.
 */
const sideReachSec = 0.3;
/** Where the actor is lost, a crop is laid up to this far from the nearest picture with the actor, seconds. */
const fillReachSec = 0.6;

/**
 * Lays a crop for every picture of a take by all of its poses, so that a crop depends on what comes after as well as on
 * what came before: edges of the joints' box are cleaned of outliers, filled where the actor is lost, and smoothed.
 * @param poses shape [picture], null or a pose that cannot be followed = lost.
 * @param timesSec shape [picture], rising.
 */
export function layCrops(
  poses: readonly (SeenPose | null)[],
  timesSec: Float64Array,
  widthPx: number,
  heightPx: number,
): CropPath {
  const n = timesSec.length;
  const empty = () => new Float64Array(n).fill(Number.NaN);
  const path = { centreX: empty(), centreY: empty(), side: empty() };
  const seen: number[] = [];
  const edges: Record<'left' | 'right' | 'top' | 'bottom' | 'torso', number[]> = {
    left: [],
    right: [],
    top: [],
    bottom: [],
    torso: [],
  };
  for (let i = 0; i < n; i++) {
    const pose = poses[i];
    if (!pose || !isFollowable(pose, widthPx, heightPx)) continue;
    const box = joinedBox(pose);
    if (!box) continue;
    seen.push(i);
    for (const name of ['left', 'right', 'top', 'bottom', 'torso'] as const) edges[name].push(box[name]);
  }
  if (seen.length === 0) return path;
  const seenSec = Float64Array.from(seen, (i) => timesSec[i]!);
  const filled = (values: readonly number[]) => fillBetween(seenSec, runningMedian(seenSec, values), timesSec);
  const left = filled(edges.left);
  const right = filled(edges.right);
  const top = filled(edges.top);
  const bottom = filled(edges.bottom);
  const torso = filled(edges.torso);
  const middle = (a: Float64Array, b: Float64Array) => a.map((v, i) => (v + b[i]!) / 2);
  const centreX = gaussian(timesSec, middle(left, right), centreSigmaSec);
  const centreY = gaussian(timesSec, middle(top, bottom), centreSigmaSec);
  const need = Float64Array.from(timesSec, (_, i) => {
    const across = Math.max(right[i]! - centreX[i]!, centreX[i]! - left[i]!);
    const down = Math.max(bottom[i]! - centreY[i]!, centreY[i]! - top[i]!);
    return Math.max(2 * margin * Math.max(across, down), leastTorsos * torso[i]!, 16);
  });
  const side = gaussian(timesSec, runningMax(timesSec, need), sideReachSec / 3);
  let next = 0;
  for (let i = 0; i < n; i++) {
    while (next < seen.length - 1 && seen[next + 1]! <= i) next++;
    const near = Math.min(
      Math.abs(seenSec[next]! - timesSec[i]!),
      Math.abs((seenSec[next + 1] ?? seenSec[next]!) - timesSec[i]!),
    );
    if (near > fillReachSec) continue;
    path.centreX[i] = centreX[i]!;
    path.centreY[i] = centreY[i]!;
    path.side[i] = side[i]!;
  }
  return path;
}

function runningMedian(timesSec: Float64Array, values: readonly number[]): number[] {
  return values.map((_, i) => {
    const near: number[] = [];
    for (let k = i; k >= 0 && timesSec[i]! - timesSec[k]! <= medianReachSec; k--) near.push(values[k]!);
    for (let k = i + 1; k < values.length && timesSec[k]! - timesSec[i]! <= medianReachSec; k++) near.push(values[k]!);
    near.sort((a, b) => a - b);
    const half = near.length >> 1;
    return near.length % 2 === 1 ? near[half]! : (near[half - 1]! + near[half]!) / 2;
  });
}

/** Linear in time between the pictures that have a value; the first and last are held. */
function fillBetween(knownSec: Float64Array, known: readonly number[], timesSec: Float64Array): Float64Array {
  let k = 0;
  return timesSec.map((t) => {
    while (k < knownSec.length - 1 && knownSec[k + 1]! <= t) k++;
    const a = knownSec[k]!;
    const b = knownSec[k + 1];
    if (t <= a || b === undefined) return known[k]!;
    return known[k]! + ((t - a) / (b - a)) * (known[k + 1]! - known[k]!);
  });
}

function runningMax(timesSec: Float64Array, values: Float64Array): Float64Array {
  let from = 0;
  return values.map((_, i) => {
    while (timesSec[i]! - timesSec[from]! > sideReachSec) from++;
    let most = 0;
    for (let k = from; k < values.length && timesSec[k]! - timesSec[i]! <= sideReachSec; k++)
      most = Math.max(most, values[k]!);
    return most;
  });
}

/** Gaussian mean over three standard deviations; near the ends over what there is. */
function gaussian(timesSec: Float64Array, values: Float64Array, sigmaSec: number): Float64Array {
  let from = 0;
  return values.map((_, i) => {
    while (timesSec[i]! - timesSec[from]! > 3 * sigmaSec) from++;
    let sum = 0;
    let weights = 0;
    for (let k = from; k < values.length && timesSec[k]! - timesSec[i]! <= 3 * sigmaSec; k++) {
      const z = (timesSec[k]! - timesSec[i]!) / sigmaSec;
      const weight = Math.exp(-0.5 * z * z);
      sum += weight * values[k]!;
      weights += weight;
    }
    return sum / weights;
  });
}
