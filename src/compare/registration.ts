import type { Joint } from '../base/joints.ts';
import type { FrameRun } from '../puppet/puppetMotion.ts';
import { median } from '../track/quantile.ts';
import { columnAt, type JointPlaces, mapPlaces } from './places.ts';
import { posePieces } from './poseFeatures.ts';
import {
  applySimilarity,
  fitSimilarity,
  invertSimilarity,
  type Similarity,
  type SimilarityFit,
  sdThere,
} from './similarity.ts';

/** How the picture of the shot is brought onto the set's millimetres. */
export type RegistrationChoice =
  /** Size, direction and place from the joints themselves. */
  | {
      readonly kind: 'similarity';
      /** Joints that count; null = those of trunk and limbs. */
      readonly joints: readonly Joint[] | null;
      /** Frames that count; null = all. */
      readonly frames: FrameRun | null;
      /** The shot is seen through a mirror. */
      readonly mirror: boolean;
    }
  /** Size from a ruler in the picture, direction and place from the joints. */
  | {
      readonly kind: 'ruler';
      readonly mmPerPx: number;
      readonly joints: readonly Joint[] | null;
      readonly frames: FrameRun | null;
      readonly mirror: boolean;
    }
  /** Both bodies set upright on their hips, pose by pose: what is left are angles, and places as against the trunk. */
  | { readonly kind: 'none' };

/** What is asked for unless something else is. */
export const usualRegistration = {
  kind: 'similarity',
  joints: null,
  frames: null,
  mirror: false,
} as const satisfies RegistrationChoice;

/** A shot laid over its plan. */
export interface Registration {
  readonly kind: RegistrationChoice['kind'];
  /** From the picture's pixels to the set's millimetres (y down), for each exposure. */
  readonly toMm: readonly Similarity[];
  readonly mmPerPx: number;
  /** From the plan's millimetres to pixels; null for 'none'. */
  readonly fit: SimilarityFit | null;
  /** The measured joints, millimetres, y down, with what the registration errs by in their standard deviations. Shape [exposure]. */
  readonly places: JointPlaces;
  /** The plan to hold them against, millimetres, y down: on the set, or for 'none' upright on its hips, too. Shape [frame]. */
  readonly planned: JointPlaces;
}

/** Joints by which bodies are laid over each other: those that detectors place well. */
export const usualJoints: readonly Joint[] = [
  'leftShoulder',
  'rightShoulder',
  'leftHip',
  'rightHip',
  'leftKnee',
  'rightKnee',
  'leftAnkle',
  'rightAnkle',
  'leftElbow',
  'rightElbow',
  'leftWrist',
  'rightWrist',
  'nose',
  'neck',
  'pelvis',
];

/**
 * Lays a shot over its plan.
 * @param shot pixels. Shape [exposure].
 * @param planned millimetres, y down. Shape [frame].
 * @param planFrame which frame of the plan each exposure shows, fractions of frames too.
 * @param frames first frame of each exposure.
 * @returns null where there are too few joints.
 */
export function register(
  shot: JointPlaces,
  planned: JointPlaces,
  planFrame: ArrayLike<number>,
  frames: readonly number[],
  choice: RegistrationChoice,
): Registration | null {
  if (choice.kind === 'none') return onBodies(shot, planned, planFrame);
  const [x, y, u, v, sd] = [[], [], [], [], []] as number[][] as [number[], number[], number[], number[], number[]];
  const run = choice.frames;
  for (const joint of choice.joints ?? usualJoints) {
    const [seen, plan] = [shot.at.get(joint), planned.at.get(joint)];
    if (!seen || !plan) continue;
    for (let i = 0; i < shot.count; i++) {
      if (run && !(frames[i]! >= run.firstFrame && frames[i]! < run.firstFrame + run.frames)) continue;
      x.push(columnAt(plan.x, planFrame[i]!));
      y.push(columnAt(plan.y, planFrame[i]!));
      u.push(seen.x[i]!);
      v.push(seen.y[i]!);
      sd.push(Math.max(leastSdPx, seen.sd[i]!));
    }
  }
  const scale = choice.kind === 'ruler' ? { scale: 1 / choice.mmPerPx } : {};
  const fit = fitSimilarity({ x, y }, { x: u, y: v }, { mirror: choice.mirror, sd, ...scale });
  if (!fit) return null;
  const back = invertSimilarity(fit.similarity);
  // A joint's errors go together over about so many poses, so that as many fewer are independent.
  const together = Math.sqrt(errorsTogether);
  const places = mapPlaces(shot, (_, px, py, sdPx) => {
    const [mmX, mmY] = applySimilarity(back, px, py);
    return [mmX, mmY, back.scale * Math.hypot(sdPx, together * sdThere(fit, mmX, mmY))];
  });
  return { kind: choice.kind, toMm: Array.from(frames, () => back), mmPerPx: back.scale, fit, places, planned };
}

/** Nothing is placed better than this, pixels: joints clicked by hand come with a deviation of 0. */
const leastSdPx = 0.25;
const errorsTogether = 6;

/** Bodies upright on their hips, at one size for all poses: the ratio of lengths of pieces as they are seen. */
function onBodies(shot: JointPlaces, planned: JointPlaces, planFrame: ArrayLike<number>): Registration | null {
  const ratios: number[] = [];
  for (const { from, to } of posePieces) {
    const [a, b, p, q] = [shot.at.get(from), shot.at.get(to), planned.at.get(from), planned.at.get(to)];
    if (!a || !b || !p || !q) continue;
    for (let i = 0; i < shot.count; i++) {
      const px = Math.hypot(b.x[i]! - a.x[i]!, b.y[i]! - a.y[i]!);
      const at = (column: Float64Array) => columnAt(column, planFrame[i]!);
      const mm = Math.hypot(at(q.x) - at(p.x), at(q.y) - at(p.y));
      // A short piece in the picture points at the lens: its length says little.
      if (px > 0 && mm > 0 && px > 10 * Math.hypot(a.sd[i]!, b.sd[i]!)) ratios.push(mm / px);
    }
  }
  const scale = median(ratios);
  if (!(scale > 0)) return null;
  const [own, upright] = [onHips(shot, scale), onHips(planned, 1)];
  if (!own || !upright) return null;
  return { kind: 'none', toMm: own.to, mmPerPx: scale, fit: null, places: own.places, planned: upright.places };
}

/** Each pose with its hips in the middle and its trunk upright. Null where hips or neck are not known at all. */
function onHips(places: JointPlaces, scale: number): { to: Similarity[]; places: JointPlaces } | null {
  const [hips, neck] = [places.at.get('pelvis'), places.at.get('neck')];
  if (!hips || !neck) return null;
  const turnSd = new Float64Array(places.count);
  const to = Array.from(turnSd, (_, i): Similarity => {
    const [px, py] = [neck.x[i]! - hips.x[i]!, neck.y[i]! - hips.y[i]!];
    turnSd[i] = Math.hypot(hips.sd[i]!, neck.sd[i]!) / Math.hypot(px, py);
    const rotationDeg = -90 - (Math.atan2(py, px) * 180) / Math.PI;
    const s: Similarity = { scale, rotationDeg, shiftX: 0, shiftY: 0, isMirrored: false };
    const [x, y] = applySimilarity(s, hips.x[i]!, hips.y[i]!);
    return { ...s, shiftX: -x, shiftY: -y };
  });
  const moved = mapPlaces(places, (i, px, py, sd) => {
    const [x, y] = applySimilarity(to[i]!, px, py);
    const away = Math.hypot(px - hips.x[i]!, py - hips.y[i]!);
    return [x, y, scale * Math.hypot(sd, hips.sd[i]!, away * turnSd[i]!)];
  });
  return { to, places: moved };
}
