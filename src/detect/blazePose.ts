import { loadGraphModel } from '@tensorflow/tfjs-converter';
import { type Tensor, tensor4d } from '@tensorflow/tfjs-core';
import { assert } from '../base/assert.ts';
import { type DetectedJoint, detectedJoints } from '../base/joints.ts';
import { ownModel } from './graphFiles.ts';
import { type Estimate, emptyEstimate, estimateStep, type PoseModel } from './poseModel.ts';

/** Side of the square that the landmark graphs take, pixels. */
const inputSide = 256;
/** Numbers per landmark: x, y, z in input pixels, then the logits of "visible" and "inside the picture". */
const landmarkStep = 5;
/** Body landmarks; the graph's six further ones serve its own cropping. */
const landmarks = 33;

/**
 * Which of the 33 landmarks make a joint; of two the mean. (Order of the landmarks: Bazarevsky et al. 2020, "BlazePose",
 * fig. 3: 0 nose, 1–6 eyes, 7–8 ears, 9–10 mouth, 11–16 arms, 17–22 hands, 23–28 legs, 29–32 feet, left before right.)
 */
const sources: Readonly<Record<DetectedJoint, readonly number[]>> = {
  nose: [0],
  leftEye: [2],
  rightEye: [5],
  leftEar: [7],
  rightEar: [8],
  leftShoulder: [11],
  rightShoulder: [12],
  leftElbow: [13],
  rightElbow: [14],
  leftWrist: [15],
  rightWrist: [16],
  leftHip: [23],
  rightHip: [24],
  leftKnee: [25],
  rightKnee: [26],
  leftAnkle: [27],
  rightAnkle: [28],
  mouth: [9, 10],
  leftHand: [17, 19],
  rightHand: [18, 20],
  leftHeel: [29],
  rightHeel: [30],
  leftToe: [31],
  rightToe: [32],
};

/**
 * Loads a BlazePose landmark graph on the current tfjs backend. Only the graph: cropping is ours, so that pictures are
 * independent of one another. @throws WorldFailure `model-unavailable`.
 */
export async function loadBlazePose(name: 'blazepose-full' | 'blazepose-heavy'): Promise<PoseModel> {
  const graph = await loadGraphModel(ownModel(name));
  const pixels = new Float32Array(inputSide * inputSide * 3);
  return {
    name,
    inputSide,
    async estimate(rgba) {
      for (let from = 0, to = 0; to < pixels.length; from += 4, to += 3) {
        pixels[to] = rgba[from]! / 255;
        pixels[to + 1] = rgba[from + 1]! / 255;
        pixels[to + 2] = rgba[from + 2]! / 255;
      }
      const input = tensor4d(pixels, [1, inputSide, inputSide, 3]);
      let outputs: Tensor[] = [];
      try {
        outputs = graph.execute(input, ['ld_3d', 'output_poseflag']) as Tensor[];
        const [seen, flag] = await Promise.all(outputs.map((tensor) => tensor.data()));
        return jointsOf(seen as Float32Array, (flag as Float32Array)[0]!);
      } finally {
        input.dispose();
        for (const tensor of outputs) tensor.dispose();
      }
    },
    dispose: () => graph.dispose(),
  };
}

/** @param flag how sure the graph is that the square holds a person, 0..1. */
function jointsOf(seen: Float32Array, flag: number): Estimate {
  assert(seen.length >= landmarks * landmarkStep, `BlazePose: ${seen.length} numbers`);
  const estimate = emptyEstimate();
  for (const [j, joint] of detectedJoints.entries()) {
    const from = sources[joint];
    const mean = (part: (at: number) => number) =>
      from.reduce((sum, landmark) => sum + part(landmark * landmarkStep), 0) / from.length;
    const to = estimateStep * j;
    estimate[to] = mean((at) => seen[at]!) / inputSide;
    estimate[to + 1] = mean((at) => seen[at + 1]!) / inputSide;
    estimate[to + 2] = flag * mean((at) => logistic(seen[at + 3]!) * logistic(seen[at + 4]!));
    estimate[to + 3] = mean((at) => seen[at + 2]!) / inputSide;
  }
  return estimate;
}

function logistic(x: number): number {
  return 1 / (1 + Math.exp(-x));
}
