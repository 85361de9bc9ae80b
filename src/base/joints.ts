/** The 17 joints of the COCO keypoint set, in its order (source: cocodataset/cocoapi; left and right are the performer's own). */
export const cocoJoints = [
  'nose',
  'leftEye',
  'rightEye',
  'leftEar',
  'rightEar',
  'leftShoulder',
  'rightShoulder',
  'leftElbow',
  'rightElbow',
  'leftWrist',
  'rightWrist',
  'leftHip',
  'rightHip',
  'leftKnee',
  'rightKnee',
  'leftAnkle',
  'rightAnkle',
] as const;

/**
 * Joints beyond the COCO set that only some models report. mouth = middle of its corners; hand = middle of the knuckles of
 * index and little finger; heel and toe (tip of the big toe's side) = where the foot stands.
 */
export const furtherJoints = [
  'mouth',
  'leftHand',
  'rightHand',
  'leftHeel',
  'rightHeel',
  'leftToe',
  'rightToe',
] as const;

/** Every joint that a pose model may report, in the order in which sightings hold them. */
export const detectedJoints = [...cocoJoints, ...furtherJoints] as const;

/** Joints that follow from the detected ones by construction (see `track/constructed.ts`). */
export const constructedJoints = ['chin', 'neck', 'chest', 'pelvis'] as const;

/** A joint of the COCO set. */
export type CocoJoint = (typeof cocoJoints)[number];
/** A joint that a pose model reports. */
export type DetectedJoint = (typeof detectedJoints)[number];
/** A joint that Nudgebook tracks: detected or constructed. */
export type Joint = DetectedJoint | (typeof constructedJoints)[number];

/** A marked point that is followed through the take and is no joint: on a prop, a ball, a tail, an edge of cloth. */
export type PropId = `prop:${string}`;
/** Whatever has a path: a joint of the performer or a marked point. */
export type Part = Joint | PropId;

/** Every joint, detected ones first. */
export const joints: readonly Joint[] = [...detectedJoints, ...constructedJoints];

/** Is this part a marked point rather than a joint? */
export function isProp(part: Part): part is PropId {
  return part.startsWith('prop:');
}

/** The joint as an animator says it: "left wrist"; a marked point as its id says it. */
export function jointWords(joint: Part): string {
  if (isProp(joint)) return joint.slice('prop:'.length);
  return joint.replace(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`);
}

/** Left/right partners in the COCO set; what hangs on a limb's end (`sideFollowers`) changes sides with it. */
export const sidePairs: readonly (readonly [CocoJoint, CocoJoint])[] = [
  ['leftEye', 'rightEye'],
  ['leftEar', 'rightEar'],
  ['leftShoulder', 'rightShoulder'],
  ['leftElbow', 'rightElbow'],
  ['leftWrist', 'rightWrist'],
  ['leftHip', 'rightHip'],
  ['leftKnee', 'rightKnee'],
  ['leftAnkle', 'rightAnkle'],
];

/** The same joint of the other side; a joint in the middle is its own. */
export function otherSide(joint: Joint): Joint {
  const side = /^(left|right)/.exec(joint)?.[1];
  if (!side) return joint;
  return `${side === 'left' ? 'right' : 'left'}${joint.slice(side.length)}` as Joint;
}

/** Further pairs that belong to a pair of `sidePairs`: hands to wrists, heels and toes to ankles. */
export const sideFollowers: readonly {
  readonly of: DetectedJoint;
  readonly pair: readonly [DetectedJoint, DetectedJoint];
}[] = [
  { of: 'leftWrist', pair: ['leftHand', 'rightHand'] },
  { of: 'leftAnkle', pair: ['leftHeel', 'rightHeel'] },
  { of: 'leftAnkle', pair: ['leftToe', 'rightToe'] },
];

/** A straight part of the body between two joints, for drawing and for limb lengths. */
export interface Bone {
  readonly from: Joint;
  readonly to: Joint;
  readonly side: 'left' | 'right' | 'middle';
}

/** The bones that are drawn. Shoulder and hip lines count as middle. */
export const bones: readonly Bone[] = [
  { from: 'leftShoulder', to: 'rightShoulder', side: 'middle' },
  { from: 'leftHip', to: 'rightHip', side: 'middle' },
  { from: 'neck', to: 'pelvis', side: 'middle' },
  { from: 'neck', to: 'nose', side: 'middle' },
  { from: 'leftShoulder', to: 'leftElbow', side: 'left' },
  { from: 'leftElbow', to: 'leftWrist', side: 'left' },
  { from: 'rightShoulder', to: 'rightElbow', side: 'right' },
  { from: 'rightElbow', to: 'rightWrist', side: 'right' },
  { from: 'leftHip', to: 'leftKnee', side: 'left' },
  { from: 'leftKnee', to: 'leftAnkle', side: 'left' },
  { from: 'rightHip', to: 'rightKnee', side: 'right' },
  { from: 'rightKnee', to: 'rightAnkle', side: 'right' },
  // Where a model sees hands and feet.
  { from: 'leftWrist', to: 'leftHand', side: 'left' },
  { from: 'rightWrist', to: 'rightHand', side: 'right' },
  { from: 'leftAnkle', to: 'leftHeel', side: 'left' },
  { from: 'leftHeel', to: 'leftToe', side: 'left' },
  { from: 'rightAnkle', to: 'rightHeel', side: 'right' },
  { from: 'rightHeel', to: 'rightToe', side: 'right' },
];

/** A hinge whose angle is printed: the angle at `at` between the directions to `a` and to `b`. */
export interface Hinge {
  readonly name: string;
  readonly a: Joint;
  readonly at: Joint;
  readonly b: Joint;
}

/** Hinges reported in plan.json, as seen from the camera. */
export const hinges: readonly Hinge[] = [
  { name: 'leftElbow', a: 'leftShoulder', at: 'leftElbow', b: 'leftWrist' },
  { name: 'rightElbow', a: 'rightShoulder', at: 'rightElbow', b: 'rightWrist' },
  { name: 'leftShoulder', a: 'leftHip', at: 'leftShoulder', b: 'leftElbow' },
  { name: 'rightShoulder', a: 'rightHip', at: 'rightShoulder', b: 'rightElbow' },
  { name: 'leftHip', a: 'leftShoulder', at: 'leftHip', b: 'leftKnee' },
  { name: 'rightHip', a: 'rightShoulder', at: 'rightHip', b: 'rightKnee' },
  { name: 'leftKnee', a: 'leftHip', at: 'leftKnee', b: 'leftAnkle' },
  { name: 'rightKnee', a: 'rightHip', at: 'rightKnee', b: 'rightAnkle' },
];
