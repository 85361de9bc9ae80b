import { isProp, type Joint } from '../base/joints.ts';
import type { JointMove } from './moveFit.ts';
import type { PoseSamples } from './poseSamples.ts';

/** One pose among its neighbours: samples of the pose before, of itself and of the pose after (null at the ends). */
export interface PoseAmong {
  readonly before: number | null;
  readonly at: number;
  readonly after: number | null;
  readonly into: readonly JointMove[] | null;
  readonly outOf: readonly JointMove[] | null;
  /** Kept long enough to register: then it is a pose of its own, not a step on the way to another. */
  readonly held: boolean;
}

/** "leftWrist" as animators say it: "left wrist". The nose stands for the head, an ankle for its foot. */
export function spoken(joint: Joint): string {
  if (joint === 'nose') return 'head';
  if (joint === 'leftAnkle') return 'left foot';
  if (joint === 'rightAnkle') return 'right foot';
  return joint.replace(/([A-Z])/g, ' $1').toLowerCase();
}

/** A part whose way is longer than this part of the body height is worth a word. */
const worthAWord = 0.02;
/** An anticipation or a settle goes at most this part of the main move's way. */
const smallShare = 0.5;
/** Ways within 60° of opposite count as turning back. */
const turningBack = -0.5;

/** Why a pose is a key, in animators' words; may be empty. */
export function reasonsFor(samples: PoseSamples, pose: PoseAmong): string[] {
  if (pose.before === null && pose.after === null) return ['only pose'];
  if (pose.before === null) return ['first pose'];
  if (pose.after === null) return ['last pose'];
  const reasons: string[] = [];
  for (const [foot, name] of [
    ['leftAnkle', 'left foot'],
    ['rightAnkle', 'right foot'],
  ] as const) {
    const j = samples.joints.findIndex((s) => s.joint === foot);
    const into = pose.into?.[j]?.distance ?? 0;
    const outOf = pose.outOf?.[j]?.distance ?? 0;
    if (into > 2 * worthAWord && outOf < worthAWord / 2) reasons.push(`${name} lands`);
    if (outOf > 2 * worthAWord && into < worthAWord / 2) reasons.push(`${name} lifts`);
  }
  let turn: { joint: Joint; size: number; into: number; outOf: number } | null = null;
  let stop: { joint: Joint; size: number } | null = null;
  for (const sampled of samples.joints) {
    const { joint } = sampled;
    if (sampled.weight < 1 || isProp(joint)) continue;
    const step = (a: number, b: number) => [
      (sampled.x[b] ?? 0) - (sampled.x[a] ?? 0),
      (sampled.y[b] ?? 0) - (sampled.y[a] ?? 0),
    ];
    const [ix = 0, iy = 0] = step(pose.before, pose.at);
    const [ox = 0, oy = 0] = step(pose.at, pose.after);
    const into = Math.hypot(ix, iy);
    const outOf = Math.hypot(ox, oy);
    const size = Math.min(into, outOf);
    const opposite = (ix * ox + iy * oy) / Math.max(1e-12, into * outOf) < turningBack;
    if (opposite && size > worthAWord / 2 && size > (turn?.size ?? 0)) turn = { joint, size, into, outOf };
    if (into > worthAWord && into > (stop?.size ?? 0)) stop = { joint, size: into };
  }
  if (turn) {
    if (!pose.held && turn.into < smallShare * turn.outOf) reasons.push('anticipation: furthest back');
    else if (!pose.held && turn.outOf < smallShare * turn.into) reasons.push('overshoot: furthest past the pose');
    else reasons.push(`${spoken(turn.joint)} turns`);
  } else if (stop && reasons.length === 0) reasons.push(`${spoken(stop.joint)} arrives`);
  return reasons;
}
