/** Falls as physics has them, without air: for checking a scale, and for planning a ball that was never filmed. */
import { assert } from '../base/assert.ts';

/** Standard gravity, m/s²: 9.80665 exactly (3rd General Conference on Weights and Measures, 1901). */
export const standardGravityMps2 = 9.80665;

/** Frames (fractional) that a thing let go from rest needs to fall so far. @param heightM metres. */
export function framesToFall(heightM: number, fps: number, gravityMps2 = standardGravityMps2): number {
  return Math.sqrt((2 * heightM) / gravityMps2) * fps;
}

/** How far a thing let go from rest has fallen after so many frames, metres. */
export function fallenM(frames: number, fps: number, gravityMps2 = standardGravityMps2): number {
  return (gravityMps2 * (frames / fps) ** 2) / 2;
}

/** Speed after a bounce ÷ speed before it, from how high it was dropped and how high it came back: e = √(h_up / h_down). */
export function restitutionOf(dropHeight: number, reboundHeight: number): number {
  return Math.sqrt(reboundHeight / dropHeight);
}

/** A ball let go at rest. */
export interface IdealBall {
  /** Of its lowest point over the floor, metres. */
  readonly dropHeightM: number;
  /** Speed after a bounce ÷ speed before it, 0 ≤ e < 1. */
  readonly restitution: number;
}

/** One meeting with the floor. */
export interface IdealBounce {
  /** Since it was let go. */
  readonly sec: number;
  /** How high it rises after it, metres. */
  readonly peakM: number;
}

/** A bounce lower than this, metres, is none to be seen: the ball lies. */
const lyingM = 0.001;

/** Its bounces until it lies, at most `most`. Contact intervals fall by e, heights by e². */
export function bouncesOf(ball: IdealBall, most = 50, gravityMps2 = standardGravityMps2): IdealBounce[] {
  const { dropHeightM, restitution } = ball;
  assert(dropHeightM > 0 && restitution >= 0 && restitution < 1, `ball from ${dropHeightM} m, e = ${restitution}`);
  const bounces: IdealBounce[] = [];
  let sec = Math.sqrt((2 * dropHeightM) / gravityMps2);
  let peakM = dropHeightM;
  while (bounces.length < most) {
    peakM *= restitution ** 2;
    bounces.push({ sec, peakM });
    if (peakM < lyingM) break;
    sec += 2 * Math.sqrt((2 * peakM) / gravityMps2);
  }
  return bounces;
}

/** Height of its lowest point over the floor at a time since it was let go, metres; 0 once it lies. */
export function heightAt(ball: IdealBall, sec: number, gravityMps2 = standardGravityMps2): number {
  if (sec <= 0) return ball.dropHeightM;
  const past = bouncesOf(ball, 50, gravityMps2).filter((bounce) => bounce.sec <= sec);
  const last = past[past.length - 1];
  if (!last) return ball.dropHeightM - (gravityMps2 * sec * sec) / 2;
  if (last.peakM < lyingM) return 0;
  const since = sec - last.sec;
  return Math.max(0, Math.sqrt(2 * gravityMps2 * last.peakM) * since - (gravityMps2 * since * since) / 2);
}
