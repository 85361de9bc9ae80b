/**
 * Made movements with known answers, and sightings as a detector would report them: for tests of every room that starts
 * from tracks. Nothing random without a seed.
 */
import { type CocoJoint, cocoJoints, type DetectedJoint } from '../src/base/joints.ts';
import { cell, emptySightingColumns, jointsPerPicture, type Sightings } from '../src/track/sighting.ts';

/** Where something is and how fast it moves, at a time. */
export interface MadePoint {
  readonly x: number;
  readonly y: number;
  readonly vx: number;
  readonly vy: number;
}

/** A movement known at every time, pixels and seconds. */
export type MadeMovement = (sec: number) => MadePoint;

/** A random source with a seed, 0 ≤ r < 1 (mulberry32, public domain). */
export function seeded(seed: number): () => number {
  let s = seed >>> 0;
  return () => {
    s = (s + 0x6d2b79f5) >>> 0;
    let t = Math.imul(s ^ (s >>> 15), s | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** Draws from the standard normal distribution (Box & Muller 1958). */
export function gaussian(random: () => number): () => number {
  return () => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
}

/** Stays where it is. */
export const hold =
  (x: number, y: number): MadeMovement =>
  () => ({ x, y, vx: 0, vy: 0 });

/** Straight on at a constant speed; at (x, y) when the time is 0. */
export const straight =
  (x: number, y: number, vx: number, vy: number): MadeMovement =>
  (t) => ({ x: x + vx * t, y: y + vy * t, vx, vy });

/** Small swings of a pendulum: x = x0 + amplitude · cos(2π t / period), y flat. */
export const pendulum =
  (x0: number, y0: number, amplitude: number, periodSec: number): MadeMovement =>
  (t) => {
    const w = (2 * Math.PI) / periodSec;
    return { x: x0 + amplitude * Math.cos(w * t), y: y0, vx: -amplitude * w * Math.sin(w * t), vy: 0 };
  };

/**
 * From one place to another along a straight line with least jerk, at rest before and after:
 * share of the way = 10u³ − 15u⁴ + 6u⁵ (Flash & Hogan 1985).
 */
export const minimumJerk =
  (
    from: readonly [number, number],
    to: readonly [number, number],
    startSec: number,
    durationSec: number,
  ): MadeMovement =>
  (t) => {
    const u = Math.min(1, Math.max(0, (t - startSec) / durationSec));
    const s = u ** 3 * (10 - 15 * u + 6 * u * u);
    const v = (30 * u * u * (1 - u) ** 2) / durationSec;
    const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
    return { x: from[0] + dx * s, y: from[1] + dy * s, vx: dx * v, vy: dy * v };
  };

/** Constant speed until `stopSec`, then stands dead: the sharpest stop there is. */
export const deadStop =
  (x: number, y: number, vx: number, vy: number, stopSec: number): MadeMovement =>
  (t) => {
    const moving = t < stopSec;
    const s = Math.min(t, stopSec);
    return { x: x + vx * s, y: y + vy * s, vx: moving ? vx : 0, vy: moving ? vy : 0 };
  };

/** Falls freely from rest at `startSec`; `gravity` in px/s². */
export const fall =
  (x: number, y: number, startSec: number, gravity: number): MadeMovement =>
  (t) => {
    const s = Math.max(0, t - startSec);
    return { x, y: y + 0.5 * gravity * s * s, vx: 0, vy: gravity * s };
  };

/** `movement`, carried along by another. */
export const carried =
  (movement: MadeMovement, by: MadeMovement): MadeMovement =>
  (t) => {
    const a = movement(t);
    const b = by(t);
    return { x: a.x + b.x, y: a.y + b.y, vx: a.vx + b.vx, vy: a.vy + b.vy };
  };

/** Evenly spaced picture times from 0 on. */
export function evenTimes(count: number, fps: number): Float64Array {
  return Float64Array.from({ length: count }, (_, i) => i / fps);
}

/** Picture times as a phone makes them: each up to `jitter` of an interval late, every tenth picture dropped. */
export function unevenTimes(count: number, fps: number, jitter = 0.3, seed = 1): Float64Array {
  const random = seeded(seed);
  const kept = Array.from({ length: count }, (_, i) => i).filter((i) => i === 0 || i % 10 !== 7);
  return Float64Array.from(kept, (i) => (i + (i === 0 ? 0 : jitter * random())) / fps);
}

/**
 * A performer standing upright, arms down, face to the lens, 400 px tall from vertex to sole: offsets from mid-hip,
 * pixels, y down (proportions: Drillis & Contini 1966 as in Winter, from memory). The performer's left is on the right of
 * the picture.
 */
export const standing: Readonly<Record<CocoJoint, readonly [number, number]>> = {
  nose: [0, -150],
  leftEye: [7, -158],
  rightEye: [-7, -158],
  leftEar: [14, -152],
  rightEar: [-14, -152],
  leftShoulder: [40, -115],
  rightShoulder: [-40, -115],
  leftElbow: [46, -41],
  rightElbow: [-46, -41],
  leftWrist: [48, 17],
  rightWrist: [-48, 17],
  leftHip: [20, 0],
  rightHip: [-20, 0],
  leftKnee: [21, 98],
  rightKnee: [-21, 98],
  leftAnkle: [22, 196],
  rightAnkle: [-22, 196],
};

/** How `makeSightings` sees. Everything has a default: a perfect detector at 30 pictures a second for 2 s. */
export interface MadeSightings {
  readonly timesSec?: Float64Array;
  /** Movement of mid-hip; every joint not in `joints` keeps its place in `standing` relative to it. */
  readonly body?: MadeMovement;
  /** Movements of single joints, in the picture. */
  readonly joints?: Partial<Record<DetectedJoint, MadeMovement>>;
  /** Standard deviation of independent errors along each axis, pixels. */
  readonly noisePx?: number;
  readonly seed?: number;
  readonly confidence?: number;
  readonly widthPx?: number;
  readonly heightPx?: number;
}

/** Sightings of a made performer. */
export function makeSightings(made: MadeSightings = {}): Sightings {
  const timesSec = made.timesSec ?? evenTimes(60, 30);
  const body = made.body ?? hold(480, 280);
  const draw = gaussian(seeded(made.seed ?? 1));
  const n = timesSec.length;
  const xPx = new Float32Array(n * jointsPerPicture);
  const yPx = new Float32Array(n * jointsPerPicture);
  for (let i = 0; i < n; i++)
    cocoJoints.forEach((joint, j) => {
      const [ox, oy] = standing[joint];
      const at = made.joints?.[joint]?.(timesSec[i]!) ?? carried(hold(ox, oy), body)(timesSec[i]!);
      xPx[cell(i, j)] = at.x + (made.noisePx ? made.noisePx * draw() : 0);
      yPx[cell(i, j)] = at.y + (made.noisePx ? made.noisePx * draw() : 0);
    });
  return {
    detector: { model: 'made', backend: 'none', millisecondsPerFrame: Number.NaN, readSeconds: Number.NaN },
    widthPx: made.widthPx ?? 960,
    heightPx: made.heightPx ?? 540,
    timesSec,
    ...emptySightingColumns(n),
    xPx,
    yPx,
    confidence: Float32Array.from({ length: n * jointsPerPicture }, (_, at) =>
      at % jointsPerPicture < cocoJoints.length ? (made.confidence ?? 0.8) : 0,
    ),
    readCount: n,
    peopleSeen: [],
  };
}

/** A copy of sightings whose columns may be written into. */
export function editable(s: Sightings): Sightings {
  return { ...s, xPx: s.xPx.slice(), yPx: s.yPx.slice(), confidence: s.confidence.slice() };
}
