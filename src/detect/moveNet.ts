import { tensor3d } from '@tensorflow/tfjs-core';
import { createDetector, type PoseDetector, SupportedModels } from '@tensorflow-models/pose-detection';
import { ownModel } from './graphFiles.ts';
import { emptyEstimate, estimateStep, type FoundPerson, type PeopleFinder, type PoseModel } from './poseModel.ts';

const singles = {
  'movenet-lightning': { type: 'SinglePose.Lightning', inputSide: 192 },
  'movenet-thunder': { type: 'SinglePose.Thunder', inputSide: 256 },
} as const;

/** The longer side of the picture in which people are found. A multiple of 32, as the model wants. */
const finderSide = 256;

/** Loads a MoveNet on the current tfjs backend. @throws WorldFailure `model-unavailable`. */
export async function loadMoveNet(name: keyof typeof singles): Promise<PoseModel> {
  const { type, inputSide } = singles[name];
  const detector = await createDetector(SupportedModels.MoveNet, {
    modelType: type,
    modelUrl: ownModel(name),
    // Both would make an estimate depend on the pictures before it; smoothing is the tracks' business.
    enableSmoothing: false,
    // The library takes 0 for "not given" and would drop poor poses; low confidence is ours to judge.
    minPoseScore: 1e-6,
  });
  const pixels = new Int32Array(inputSide * inputSide * 3);
  return {
    name,
    inputSide,
    async estimate(rgba) {
      // The square is the whole input: without a reset the library would crop it by the pose before.
      detector.reset();
      const poses = await estimate(detector, rgba, pixels, inputSide, inputSide);
      const result = emptyEstimate();
      // Its keypoints are the COCO joints, which come first among ours, in the same order.
      for (const [j, point] of (poses[0]?.keypoints ?? []).entries())
        result.set([point.x / inputSide, point.y / inputSide, point.score ?? 0], estimateStep * j);
      return result;
    },
    dispose: () => detector.dispose(),
  };
}

/** Loads the MoveNet that sees several people at once. @throws WorldFailure `model-unavailable`. */
export async function loadPeopleFinder(): Promise<PeopleFinder> {
  const detector = await createDetector(SupportedModels.MoveNet, {
    modelType: 'MultiPose.Lightning',
    modelUrl: ownModel('movenet-multipose'),
    enableTracking: false,
    enableSmoothing: false,
    minPoseScore: 0.15,
    multiPoseMaxDimension: finderSide,
  });
  return {
    inputSide: finderSide,
    async find(rgba, width, height) {
      const poses = await estimate(detector, rgba, new Int32Array(width * height * 3), width, height);
      return poses.map(personOf(width, height)).sort((a, b) => b.score - a.score);
    },
    dispose: () => detector.dispose(),
  };
}

/** A keypoint of the library's, pixels of the picture it was given. */
interface Keypoint {
  readonly x: number;
  readonly y: number;
  readonly score?: number;
}

/** Keypoints below this are not believed. */
const believed = 0.15;

/** The box of a pose's believed keypoints: the model's own box is told in units of the padded picture. */
function personOf(width: number, height: number) {
  const boxOf = (points: readonly Keypoint[]) => {
    const xs = points.map((k) => k.x / width);
    const ys = points.map((k) => k.y / height);
    const x = Math.min(...xs);
    const y = Math.min(...ys);
    return { x, y, width: Math.max(...xs) - x, height: Math.max(...ys) - y };
  };
  return (pose: { score?: number; keypoints: readonly Keypoint[] }): FoundPerson => {
    const isSure = (k: Keypoint) => (k.score ?? 0) >= believed;
    const sure = pose.keypoints.filter(isSure);
    const corners = [5, 6, 11, 12].flatMap((j) => pose.keypoints[j] ?? []).filter(isSure);
    return {
      box: boxOf(sure.length >= 3 ? sure : pose.keypoints),
      trunk: corners.length === 4 ? boxOf(corners) : null,
      score: pose.score ?? 0,
    };
  };
}

async function estimate(
  detector: PoseDetector,
  rgba: Uint8ClampedArray,
  pixels: Int32Array,
  width: number,
  height: number,
) {
  for (let i = 0, from = 0, to = 0; i < width * height; i++, from += 4, to += 3) {
    pixels[to] = rgba[from]!;
    pixels[to + 1] = rgba[from + 1]!;
    pixels[to + 2] = rgba[from + 2]!;
  }
  const input = tensor3d(pixels, [height, width, 3], 'int32');
  try {
    return await detector.estimatePoses(input);
  } finally {
    input.dispose();
  }
}
