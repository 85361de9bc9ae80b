import { type Joint, jointWords } from '../../base/joints.ts';

/** Joints that are asked for one after the other, to be pressed in the shot's picture. */
export interface MarkingRun {
  /** Never empty. */
  readonly joints: readonly Joint[];
  /** Which of them is asked for now, from 0. */
  readonly at: number;
}

/** The run's first question; null where there is nothing to ask for. */
export function runOver(joints: readonly Joint[]): MarkingRun | null {
  return joints.length > 0 ? { joints, at: 0 } : null;
}

/** The joint that is asked for. */
export function askedJoint({ joints, at }: MarkingRun): Joint {
  return joints[at]!;
}

/** On to the next joint; null = it was the last one. */
export function onInRun({ joints, at }: MarkingRun): MarkingRun | null {
  return at + 1 < joints.length ? { joints, at: at + 1 } : null;
}

/** Back to the joint before; the first one stays asked for. */
export function backInRun({ joints, at }: MarkingRun): MarkingRun {
  return { joints, at: Math.max(0, at - 1) };
}

/** What is asked for now: "Press the left wrist: 1 of 4"; the number does not break over two lines. */
export function askWords(run: MarkingRun): string {
  const { joints, at } = run;
  const press = `Press the ${jointWords(askedJoint(run))}`;
  return joints.length > 1 ? `${press}: ${at + 1}\u00a0of\u00a0${joints.length}` : press;
}

/** Says whose sides are meant; "" where the joint has none. @param isMirrored the camera sees the puppet mirrored. */
export function sideWords(joint: Joint, isMirrored: boolean): string {
  const side = /^(left|right)/.exec(joint)?.[1];
  if (!side) return '';
  return `The puppet’s own ${side}${isMirrored ? ', though the picture is mirrored' : ''}.`;
}
