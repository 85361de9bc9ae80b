import { modelFiles } from 'virtual:model-files';
import { type io, tensor3d } from '@tensorflow/tfjs-core';
import { createDetector, type PoseDetector, SupportedModels } from '@tensorflow-models/pose-detection';
import { present } from '../base/assert.ts';
import { cocoJoints } from '../base/joints.ts';
import { WorldFailure } from '../ingest/worldFailure.ts';
import type { FoundPerson, ModelChoice, PeopleFinder, PoseModel } from './poseModel.ts';

const singles = {
  fast: { file: 'movenet-lightning', type: 'SinglePose.Lightning', inputSide: 192 },
  accurate: { file: 'movenet-thunder', type: 'SinglePose.Thunder', inputSide: 256 },
} as const;

/** The longer side of the picture in which people are found. A multiple of 32, as the model wants. */
const finderSide = 256;

/** Loads a MoveNet on the current tfjs backend. @throws WorldFailure `model-unavailable`. */
export async function loadMoveNet(choice: ModelChoice): Promise<PoseModel> {
  const { file, type, inputSide } = singles[choice];
  const detector = await createDetector(SupportedModels.MoveNet, {
    modelType: type,
    modelUrl: ownModel(file),
    // Both would make an estimate depend on the pictures before it; smoothing is the tracks' business.
    enableSmoothing: false,
    // The library takes 0 for "not given" and would drop poor poses; low confidence is ours to judge.
    minPoseScore: 1e-6,
  });
  const pixels = new Int32Array(inputSide * inputSide * 3);
  return {
    name: file,
    inputSide,
    async estimate(rgba) {
      // The square is the whole input: without a reset the library would crop it by the pose before.
      detector.reset();
      const poses = await estimate(detector, rgba, pixels, inputSide, inputSide);
      const result = new Float32Array(3 * cocoJoints.length);
      for (const [j, point] of (poses[0]?.keypoints ?? []).entries()) {
        result[3 * j] = point.x / inputSide;
        result[3 * j + 1] = point.y / inputSide;
        result[3 * j + 2] = point.score ?? 0;
      }
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

/** The box of a pose's believed keypoints: the model's own box is told in units of the padded picture. */
function personOf(width: number, height: number) {
  return (pose: { score?: number; keypoints: readonly { x: number; y: number; score?: number }[] }): FoundPerson => {
    const sure = pose.keypoints.filter((k) => (k.score ?? 0) >= 0.15);
    const points = sure.length >= 3 ? sure : pose.keypoints;
    const xs = points.map((k) => k.x / width);
    const ys = points.map((k) => k.y / height);
    const x = Math.min(...xs);
    const y = Math.min(...ys);
    const box = { x, y, width: Math.max(...xs) - x, height: Math.max(...ys) - y };
    return { box, score: pose.score ?? 0 };
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

/** Loads a graph and its weights from our own origin, whatever names the bundler gave the files. */
function ownModel(name: string): io.IOHandler {
  const files = present(modelFiles[name], `model ${name}`);
  return {
    async load() {
      const [graph, weights] = await Promise.all([fetchOwn(files.json), fetchOwn(files.bin)]);
      const json = (await graph.json()) as io.ModelJSON;
      return {
        modelTopology: json.modelTopology,
        weightSpecs: json.weightsManifest.flatMap((group) => group.weights),
        weightData: await weights.arrayBuffer(),
        ...(json.format === undefined ? {} : { format: json.format }),
      };
    },
  };
}

async function fetchOwn(address: string): Promise<Response> {
  const refusal = (why: string) =>
    new WorldFailure(
      'model-unavailable',
      `The pose model could not be loaded (${why}). Check that Nudgebook is still being served, then reload the page.`,
    );
  let response: Response;
  try {
    response = await fetch(address);
  } catch (error) {
    throw refusal(error instanceof Error ? error.message : 'no answer');
  }
  if (!response.ok) throw refusal(`the server said ${response.status}`);
  return response;
}
