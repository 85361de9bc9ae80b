import { isProp, type Joint, jointWords, type Part } from '../base/joints.ts';
import type { Prop } from '../track/prop.ts';
import type { Chain } from './timing.ts';

/** The body's own chains, from the end that usually leads. */
export const bodyChains: readonly Chain[] = [
  chain('leftArm', 'left arm', ['pelvis', 'leftShoulder', 'leftElbow', 'leftWrist', 'leftHand']),
  chain('rightArm', 'right arm', ['pelvis', 'rightShoulder', 'rightElbow', 'rightWrist', 'rightHand']),
  chain('head', 'head', ['pelvis', 'neck', 'nose']),
  chain('leftLeg', 'left leg', ['leftHip', 'leftKnee', 'leftAnkle', 'leftToe']),
  chain('rightLeg', 'right leg', ['rightHip', 'rightKnee', 'rightAnkle', 'rightToe']),
];

function chain(id: string, name: string, parts: readonly Joint[]): Chain {
  return { id, name, parts };
}

/** Pairs of parts that make up a piece of the body, with its name. */
const pieces: readonly (readonly [Part, Part, string])[] = [
  ['pelvis', 'neck', 'trunk'],
  ['pelvis', 'leftShoulder', 'trunk'],
  ['pelvis', 'rightShoulder', 'trunk'],
  ['neck', 'nose', 'head'],
  ['leftShoulder', 'leftElbow', 'left upper arm'],
  ['leftElbow', 'leftWrist', 'left forearm'],
  ['leftWrist', 'leftHand', 'left hand'],
  ['rightShoulder', 'rightElbow', 'right upper arm'],
  ['rightElbow', 'rightWrist', 'right forearm'],
  ['rightWrist', 'rightHand', 'right hand'],
  ['leftHip', 'leftKnee', 'left thigh'],
  ['leftKnee', 'leftAnkle', 'left lower leg'],
  ['leftAnkle', 'leftToe', 'left foot'],
  ['rightHip', 'rightKnee', 'right thigh'],
  ['rightKnee', 'rightAnkle', 'right lower leg'],
  ['rightAnkle', 'rightToe', 'right foot'],
];

/** What the stretch between two parts is called: "left forearm"; "left wrist to tip" where it is no piece of the body. */
export function segmentWords(from: Part, to: Part, wordsOf: (part: Part) => string = partWords): string {
  const piece = pieces.find(([a, b]) => a === from && b === to);
  return piece?.[2] ?? `${wordsOf(from)} to ${wordsOf(to)}`;
}

/** A part as animators say it: the nose stands for the head, the pelvis for the hips. */
export function partWords(part: Part): string {
  if (part === 'nose') return 'head';
  if (part === 'pelvis') return 'hips';
  if (part === 'leftAnkle') return 'left foot';
  if (part === 'rightAnkle') return 'right foot';
  return jointWords(part);
}

/** The same with the animator's names for marked points. */
export function partWordsWith(props: readonly Pick<Prop, 'id' | 'name'>[]): (part: Part) => string {
  return (part) => (isProp(part) ? (props.find((p) => p.id === part)?.name ?? partWords(part)) : partWords(part));
}

/** Large parts of the body, each of which leads or stops by itself. */
export type Region = 'head' | 'leftArm' | 'rightArm' | 'trunk' | 'leftLeg' | 'rightLeg' | 'other';

/** Which of them a part belongs to; marked points to none. */
export function regionOf(part: Part): Region {
  if (/^(nose|mouth|chin|leftEye|rightEye|leftEar|rightEar)$/.test(part)) return 'head';
  if (/^left(Elbow|Wrist|Hand)$/.test(part)) return 'leftArm';
  if (/^right(Elbow|Wrist|Hand)$/.test(part)) return 'rightArm';
  if (/^left(Knee|Ankle|Heel|Toe)$/.test(part)) return 'leftLeg';
  if (/^right(Knee|Ankle|Heel|Toe)$/.test(part)) return 'rightLeg';
  return /(Shoulder|Hip|neck|chest|pelvis)$/.test(part) ? 'trunk' : 'other';
}
