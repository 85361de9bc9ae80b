import type { Joint } from '../base/joints.ts';
import type { PoseSamples, SampledJoint } from './poseSamples.ts';

/** A joint landed when it slows below the first of these and had gone faster than the second. Body heights per second. */
const landedSpeed = 0.12;
const flyingSpeed = 0.5;
/** A joint's way before and after its turn is at least this long, body heights. */
const leastWay = 0.04;
/** A turn is a slowing to less than this part of the speed before and after. */
const slowing = 0.4;
/** Two such moments nearer than this are one pose: 3 frames at 24 fps. */
const nearestSec = 3 / 24;

/**
 * Moments between two samples at which a single part of the body lands, turns or stops, though the body as a whole goes on: a
 * walk never slows, yet its contacts are its keys. Rising samples, well apart from each other and from both ends; where two
 * come too close a landing goes before a turn, and a wide turn before a narrow one.
 */
export function limbTurns(samples: PoseSamples, from: number, to: number): number[] {
  const found: { at: number; rank: number }[] = [];
  for (const joint of samples.joints) {
    if (joint.weight < 1) continue;
    const speed = speedsBetween(samples, joint, from, to);
    if (isFoot(joint)) for (const i of landings(speed)) found.push({ at: from + i, rank: 1 });
    for (const i of stops(speed)) {
      const way = Math.min(distance(joint, from, from + i), distance(joint, from + i, to));
      if (way >= leastWay) found.push({ at: from + i, rank: Math.min(0.99, way) });
    }
  }
  const gap = nearestSec / samples.stepSec;
  const kept: number[] = [];
  for (const { at } of found.sort((a, b) => b.rank - a.rank)) {
    if ([from, to, ...kept].every((other) => Math.abs(other - at) >= gap)) kept.push(at);
  }
  return kept.sort((a, b) => a - b);
}

/** The feet's landings between two samples, rising for each foot. */
export function landingsOf(samples: PoseSamples, from: number, to: number): { joint: Joint; at: number }[] {
  return samples.joints.flatMap((joint) => {
    if (!isFoot(joint)) return [];
    return landings(speedsBetween(samples, joint, from, to)).map((i) => ({ joint: joint.joint, at: from + i }));
  });
}

function isFoot(joint: SampledJoint): joint is SampledJoint & { readonly joint: 'leftAnkle' | 'rightAnkle' } {
  return joint.joint === 'leftAnkle' || joint.joint === 'rightAnkle';
}

function distance(joint: SampledJoint, a: number, b: number): number {
  return Math.hypot((joint.x[b] ?? 0) - (joint.x[a] ?? 0), (joint.y[b] ?? 0) - (joint.y[a] ?? 0));
}

/** Body heights per second over four samples around each sample of the span. */
function speedsBetween(samples: PoseSamples, joint: SampledJoint, from: number, to: number): Float64Array {
  return Float64Array.from({ length: to - from + 1 }, (_, i) => {
    const a = Math.max(0, from + i - 2);
    const b = Math.min(samples.count - 1, from + i + 2);
    return distance(joint, a, b) / ((b - a) * samples.stepSec);
  });
}

function landings(speed: Float64Array): number[] {
  const found: number[] = [];
  let flying = false;
  speed.forEach((v, i) => {
    if (v > flyingSpeed) flying = true;
    else if (v < landedSpeed && flying) {
      found.push(i);
      flying = false;
    }
  });
  return found;
}

function stops(speed: Float64Array): number[] {
  const found: number[] = [];
  for (let i = 1; i + 1 < speed.length; i++) {
    const here = speed[i] ?? 0;
    if ((speed[i - 1] ?? 0) < here || (speed[i + 1] ?? 0) <= here) continue;
    let left = here;
    for (let k = i - 1; k >= 0 && (speed[k] ?? 0) >= here; k--) left = Math.max(left, speed[k] ?? 0);
    let right = here;
    for (let k = i + 1; k < speed.length && (speed[k] ?? 0) >= here; k++) right = Math.max(right, speed[k] ?? 0);
    if (here < slowing * Math.min(left, right)) found.push(i);
  }
  return found;
}
