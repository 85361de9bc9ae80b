import type { Region } from '../ingest/pixels.ts';

/** What a single-person model saw in one picture, in upright picture pixels. Shape [joint] each, as `detectedJoints`. */
export interface SeenPose {
  readonly xPx: Float32Array;
  readonly yPx: Float32Array;
  /** 0..1 as the model says. */
  readonly confidence: Float32Array;
}

/** A pose with the depth that `Sightings` hold. */
export interface SeenRow extends SeenPose {
  readonly depthPx: Float32Array;
}

/** A square region of the picture, by its centre. */
export interface Crop {
  readonly centreX: number;
  readonly centreY: number;
  readonly side: number;
}

/** Joints below this are not believed when the next crop is laid (the value that MoveNet's own cropping uses: 0.2). */
const believed = 0.2;

// Places in `cocoJoints`.
const shoulders = [5, 6] as const;
const hips = [11, 12] as const;

/** The whole picture, letterboxed into a square. */
export function wholeCrop(widthPx: number, heightPx: number): Crop {
  return { centreX: widthPx / 2, centreY: heightPx / 2, side: Math.max(widthPx, heightPx) };
}

/** The crop as a region to be sampled. */
export function regionOf(crop: Crop): Region {
  return { x: crop.centreX - crop.side / 2, y: crop.centreY - crop.side / 2, width: crop.side, height: crop.side };
}

/**
 * Whether the pose is good enough to lay the next crop by: a shoulder and a hip are believed, or eight joints are, and
 * at least half of the believed joints lie inside the picture.
 */
export function isFollowable(pose: SeenPose, widthPx: number, heightPx: number): boolean {
  let count = 0;
  let inside = 0;
  for (let j = 0; j < pose.confidence.length; j++) {
    if (pose.confidence[j]! < believed) continue;
    count++;
    const x = pose.xPx[j]!;
    const y = pose.yPx[j]!;
    if (x >= 0 && y >= 0 && x <= widthPx && y <= heightPx) inside++;
  }
  const torso =
    shoulders.some((j) => pose.confidence[j]! >= believed) && hips.some((j) => pose.confidence[j]! >= believed);
  return (torso || count >= 8) && count >= 5 && inside * 2 >= count;
}

/** The box of the believed joints, upright pixels, and the length of the torso (0 when it is not seen). */
export interface JoinedBox {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
  readonly torso: number;
}

/** Null when no joint is believed. */
export function joinedBox(pose: SeenPose): JoinedBox | null {
  let left = Number.POSITIVE_INFINITY;
  let right = Number.NEGATIVE_INFINITY;
  let top = Number.POSITIVE_INFINITY;
  let bottom = Number.NEGATIVE_INFINITY;
  for (let j = 0; j < pose.confidence.length; j++) {
    if (pose.confidence[j]! < believed) continue;
    left = Math.min(left, pose.xPx[j]!);
    right = Math.max(right, pose.xPx[j]!);
    top = Math.min(top, pose.yPx[j]!);
    bottom = Math.max(bottom, pose.yPx[j]!);
  }
  return right >= left ? { left, right, top, bottom, torso: torsoLength(pose) } : null;
}

/**
 * The square that holds the believed joints with room to move: 1.25 times the longer side of their box, at least three
 * torso lengths (a crouching actor may stand up), centred on the box. Null when no joint is believed.
 */
export function cropAround(pose: SeenPose): Crop | null {
  const box = joinedBox(pose);
  if (!box) return null;
  const { left, right, top, bottom, torso } = box;
  const side = Math.max(1.25 * Math.max(right - left, bottom - top), 3 * torso, 16);
  return { centreX: (left + right) / 2, centreY: (top + bottom) / 2, side };
}

/**
 * The next picture's crop: moved part of the way from the last one, so that the detector's noise does not shake it, and
 * faster when the wanted square would not fit inside the last one.
 */
export function followCrop(last: Crop, wanted: Crop): Crop {
  const reach = Math.max(
    Math.abs(wanted.centreX - last.centreX) + wanted.side / 2,
    Math.abs(wanted.centreY - last.centreY) + wanted.side / 2,
  );
  const leaves = reach > 0.55 * last.side;
  const share = leaves ? 0.7 : 0.25;
  const mix = (a: number, b: number) => a + share * (b - a);
  return {
    centreX: mix(last.centreX, wanted.centreX),
    centreY: mix(last.centreY, wanted.centreY),
    side: Math.exp(mix(Math.log(last.side), Math.log(wanted.side))),
  };
}

/** A person's box as a square crop with a margin for limbs that the box cuts off. */
export function cropOfBox(box: Region): Crop {
  return {
    centreX: box.x + box.width / 2,
    centreY: box.y + box.height / 2,
    side: Math.max(1.3 * Math.max(box.width, box.height), 16),
  };
}

function torsoLength(pose: SeenPose): number {
  const middle = (pair: readonly [number, number]) => {
    const sure = pair.filter((j) => pose.confidence[j]! >= believed);
    if (sure.length === 0) return null;
    const mean = (values: Float32Array) => sure.reduce((sum, j) => sum + values[j]!, 0) / sure.length;
    return { x: mean(pose.xPx), y: mean(pose.yPx) };
  };
  const upper = middle(shoulders);
  const lower = middle(hips);
  return upper && lower ? Math.hypot(upper.x - lower.x, upper.y - lower.y) : 0;
}
