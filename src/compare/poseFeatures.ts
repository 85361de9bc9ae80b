import type { Joint } from '../base/joints.ts';
import type { JointPlaces } from './places.ts';

/** Pieces of the body whose direction tells a pose, each from its near to its far end, and how much each says of it. */
export const posePieces: readonly { readonly from: Joint; readonly to: Joint; readonly weight: number }[] = [
  { from: 'pelvis', to: 'neck', weight: 2 },
  { from: 'neck', to: 'nose', weight: 1 },
  { from: 'leftShoulder', to: 'leftElbow', weight: 1 },
  { from: 'leftElbow', to: 'leftWrist', weight: 1 },
  { from: 'rightShoulder', to: 'rightElbow', weight: 1 },
  { from: 'rightElbow', to: 'rightWrist', weight: 1 },
  { from: 'leftHip', to: 'leftKnee', weight: 1 },
  { from: 'leftKnee', to: 'leftAnkle', weight: 1 },
  { from: 'rightHip', to: 'rightKnee', weight: 1 },
  { from: 'rightKnee', to: 'rightAnkle', weight: 1 },
];

/**
 * Directions of body pieces in the picture, which need no registration: size and place of the body do not matter. Shape
 * [pose · pieces + piece], pieces in the order of `posePieces`.
 */
export interface PoseFeatures {
  readonly count: number;
  /** Unit vectors, y down. NaN = the piece is not known. */
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Standard deviation of the direction, radians; a piece that points at the lens has hardly any direction. */
  readonly sdRad: Float64Array;
}

/** What directions are told against: the picture, or the trunk, for a camera that is turned. */
export type Against = 'picture' | 'trunk';

/** Reads the features of all poses. */
export function poseFeatures(places: JointPlaces, against: Against = 'picture'): PoseFeatures {
  const pieces = posePieces.length;
  const unknown = () => new Float64Array(places.count * pieces).fill(Number.NaN);
  const features = { count: places.count, x: unknown(), y: unknown(), sdRad: unknown() };
  const [pelvis, neck] = [places.at.get('pelvis'), places.at.get('neck')];
  posePieces.forEach(({ from, to }, p) => {
    const [a, b] = [places.at.get(from), places.at.get(to)];
    if (!a || !b) return;
    for (let k = 0; k < places.count; k++) {
      let [dx, dy] = [b.x[k]! - a.x[k]!, b.y[k]! - a.y[k]!];
      const long = Math.hypot(dx, dy);
      if (!(long > 0)) continue;
      let sd = Math.hypot(a.sd[k]!, b.sd[k]!) / long;
      if (against === 'trunk') {
        if (!pelvis || !neck) continue;
        const [tx, ty] = [neck.x[k]! - pelvis.x[k]!, neck.y[k]! - pelvis.y[k]!];
        const trunk = Math.hypot(tx, ty);
        [dx, dy] = [(dx * tx + dy * ty) / trunk, (dy * tx - dx * ty) / trunk];
        sd = Math.hypot(sd, Math.hypot(pelvis.sd[k]!, neck.sd[k]!) / trunk);
      }
      const at = k * pieces + p;
      [features.x[at], features.y[at], features.sdRad[at]] = [dx / long, dy / long, sd];
    }
  });
  return features;
}

/** Two bodies in the same pose differ by so much in a piece's direction even where both are seen exactly, radians: 5 degrees. */
const alikeRad = 0.09;
/** A piece that is further off than this, in standard deviations, is rather seen wrongly: it does not weigh more than so. */
const mostSds = 6;

/**
 * How far one pose is from another: mean square of the pieces' differences of direction, in standard deviations (with what two bodies
 * differ by anyway); 0 = the same pose. A piece that either does not show is left out; NaN where none is left.
 */
export function poseDistance(a: PoseFeatures, i: number, b: PoseFeatures, j: number): number {
  const pieces = posePieces.length;
  let [sum, weights] = [0, 0];
  for (let p = 0; p < pieces; p++) {
    const [m, n] = [i * pieces + p, j * pieces + p];
    const square = (a.x[m]! - b.x[n]!) ** 2 + (a.y[m]! - b.y[n]!) ** 2;
    const variance = a.sdRad[m]! ** 2 + b.sdRad[n]! ** 2 + alikeRad ** 2;
    if (!(square >= 0) || !(variance > 0)) continue;
    // A piece of an uncertain direction says less.
    const weight = posePieces[p]!.weight * (alikeRad ** 2 / variance);
    sum += weight * Math.min(mostSds ** 2, square / variance);
    weights += weight;
  }
  return weights > 0 ? sum / weights : Number.NaN;
}
