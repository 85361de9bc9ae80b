import { describe, expect, it } from 'vitest';
import { detectedJoints } from '../../src/base/joints.ts';
import type { Correction } from '../../src/track/correction.ts';
import { fitTracks } from '../../src/track/fitTracks.ts';
import { cell, type Sightings } from '../../src/track/sighting.ts';
import { evenTimes, gaussian, type MadeMovement, makeSightings, pendulum, seeded } from '../make.ts';

const wrist = detectedJoints.indexOf('rightWrist');
const torsoPx = 115;

interface MadeSteps {
  readonly timesSec: Float64Array;
  /** Standard deviation of the steps' errors along one axis, pixels. */
  readonly stepNoisePx?: number;
  readonly noisePx?: number;
  readonly seed?: number;
}

/** A performer whose right wrist moves so, seen with noise, and followed by flow with less. */
function followed(movement: MadeMovement, made: MadeSteps): Sightings {
  const { timesSec, stepNoisePx = 0.1, noisePx = 2, seed = 3 } = made;
  const seen = makeSightings({ timesSec, joints: { rightWrist: movement }, noisePx, seed });
  const draw = gaussian(seeded(seed + 100));
  for (let i = 0; i + 1 < timesSec.length; i++) {
    const a = movement(timesSec[i]!);
    const b = movement(timesSec[i + 1]!);
    seen.onwardXPx[cell(i, wrist)] = b.x - a.x + stepNoisePx * draw();
    seen.onwardYPx[cell(i, wrist)] = b.y - a.y + stepNoisePx * draw();
    seen.onwardSdPx[cell(i, wrist)] = stepNoisePx;
  }
  return seen;
}

function withoutSteps(seen: Sightings): Sightings {
  const none = () => new Float32Array(seen.xPx.length).fill(Number.NaN);
  return { ...seen, onwardXPx: none(), onwardYPx: none(), onwardSdPx: none() };
}

/** Median error of the wrist's movement from one frame of a 24 fps shot to the next, pixels. */
function stepError(seen: Sightings, movement: MadeMovement, corrections: readonly Correction[] = []): number {
  const at = evenTimes(44, 24).map((t) => t + 0.05);
  const path = fitTracks(seen, corrections).at(at).paths.get('rightWrist')!;
  const errors = Array.from({ length: at.length - 1 }, (_, k) => {
    const a = movement(at[k]!);
    const b = movement(at[k + 1]!);
    return Math.hypot(path.xPx[k + 1]! - path.xPx[k]! - (b.x - a.x), path.yPx[k + 1]! - path.yPx[k]! - (b.y - a.y));
  }).sort((a, b) => a - b);
  return errors[errors.length >> 1]!;
}

const swing = pendulum(430, 300, 60, 1.3);

describe('steps measured by flow', () => {
  it('make increments at least three times as good', () => {
    const seen = followed(swing, { timesSec: evenTimes(60, 30) });
    const aided = stepError(seen, swing);
    expect(aided).toBeLessThan(stepError(withoutSteps(seen), swing) / 3);
    expect(aided).toBeLessThan(0.3);
  });

  it('go with the joint when its sides are exchanged', () => {
    const seen = followed(swing, { timesSec: evenTimes(60, 30) });
    const mirrored = fitTracks(seen, [], { mirrored: true }).at(evenTimes(60, 30)).paths.get('leftWrist')!;
    const plain = fitTracks(seen, []).at(evenTimes(60, 30)).paths.get('rightWrist')!;
    expect(Math.max(...mirrored.xPx.map((x, i) => Math.abs(x - plain.xPx[i]!)))).toBeLessThan(0.5);
  });

  it('that are wild are not believed', () => {
    const seen = followed(swing, { timesSec: evenTimes(60, 30) });
    for (const i of [12, 13, 31, 47]) seen.onwardXPx[cell(i, wrist)]! += 25;
    expect(stepError(seen, swing)).toBeLessThan(0.35);
  });

  it('say nothing where the animator calls the joint hidden', () => {
    const seen = followed(swing, { timesSec: evenTimes(60, 30) });
    // Something that covers the hand is followed instead of it.
    for (let i = 20; i < 30; i++) seen.onwardXPx[cell(i, wrist)] = 8;
    const hidden: Correction[] = [{ kind: 'hide', joint: 'rightWrist', startSec: 19.5 / 30, endSec: 30.5 / 30 }];
    expect(stepError(seen, swing, hidden)).toBeLessThan(stepError(seen, swing));
  });

  it('pass a joint placed between two pictures by', () => {
    const seen = followed(swing, { timesSec: evenTimes(60, 30) });
    const sec = 30.4 / 30;
    const place: Correction = {
      kind: 'place',
      joint: 'rightWrist',
      takeSec: sec,
      xPx: swing(sec).x,
      yPx: swing(sec).y,
      reachSec: 0,
    };
    expect(stepError(seen, swing, [place])).toBeLessThan(0.35);
  });
});

/** Moves at even speed along x, then stops dead. */
const stopsDead =
  (stopSec: number, speed: number): MadeMovement =>
  (sec) => ({ x: 500 + speed * Math.min(sec, stopSec), y: 300, vx: sec < stopSec ? speed : 0, vy: 0 });

describe('a dead stop', () => {
  it.each([24, 25, 30, 60])(
    'at %i pictures a second is not rounded off: below a tenth of the peak two frames later',
    (fps) => {
      // Between two pictures, where it is hardest.
      const stopSec = 1 + 0.37 / fps;
      const movement = stopsDead(stopSec, 6 * torsoPx);
      const seen = followed(movement, { timesSec: evenTimes(2 * fps, fps) });
      const at = Float64Array.from({ length: 40 }, (_, k) => stopSec - 0.5 + k / 40);
      const path = fitTracks(seen, []).at(at).paths.get('rightWrist')!;
      const peak = Math.max(...path.vxPx.map(Math.abs));
      const after = fitTracks(seen, [])
        .at(Float64Array.of(stopSec + 2 / 24))
        .paths.get('rightWrist')!;
      expect(Math.hypot(after.vxPx[0]!, after.vyPx[0]!)).toBeLessThan(0.1 * peak);
      expect(peak).toBeGreaterThan(0.85 * 6 * torsoPx);
    },
  );
});

describe('a hold of 12 frames', () => {
  it('between two moves does not wander by more than 0.7 % of the torso', () => {
    const from = 0.75;
    const to = 0.75 + 12 / 24;
    const ease = (u: number) => u * u * u * (10 - 15 * u + 6 * u * u);
    const clamp = (v: number) => Math.min(1, Math.max(0, v));
    const movement: MadeMovement = (sec) => ({
      x: 400 + 120 * ease(clamp((sec - from + 0.4) / 0.4)) - 90 * ease(clamp((sec - to) / 0.4)),
      y: 300,
      vx: 0,
      vy: 0,
    });
    // A point's step errs by 0.05 to 0.07 px under strong sensor noise, the mean of a patch by less.
    for (const seed of [1, 2, 3, 4, 5]) {
      const seen = followed(movement, {
        timesSec: evenTimes(60, 30),
        seed,
        noisePx: 0.014 * torsoPx,
        stepNoisePx: 0.05,
      });
      const path = fitTracks(seen, [])
        .at(Float64Array.from({ length: 12 }, (_, k) => from + (k + 0.5) / 24))
        .paths.get('rightWrist')!;
      const spread = (column: Float64Array) => Math.max(...column) - Math.min(...column);
      expect(Math.hypot(spread(path.xPx), spread(path.yPx))).toBeLessThan(0.007 * torsoPx);
    }
  });
});

describe('the doubt of a movement', () => {
  const times = evenTimes(60, 30);

  it('is nothing for no time, and both places’ doubts together over a long time', () => {
    const motion = fitTracks(withoutSteps(followed(swing, { timesSec: times })), []).at(times);
    const sd = motion.paths.get('rightWrist')!.sdPx;
    expect(motion.stepSdPx!('rightWrist', 20, 20)).toBe(0);
    const apart = motion.stepSdPx!('rightWrist', 5, 55);
    // The places' own deviations carry a factor for how fast the joint moves.
    expect(apart).toBeGreaterThan(0.6 * Math.hypot(sd[5]!, sd[55]!));
    expect(apart).toBeLessThan(1.6 * Math.hypot(sd[5]!, sd[55]!));
    expect(motion.stepSdPx!('rightWrist', 20, 21)).toBeLessThan(0.5 * apart);
    expect(motion.stepSdPx!('rightWrist', 21, 20)).toBe(motion.stepSdPx!('rightWrist', 20, 21));
  });

  it('is far smaller where flow has followed the joint, and the errors keep to it', () => {
    const at = evenTimes(44, 24).map((t) => t + 0.05);
    let within = 0;
    let all = 0;
    for (let seed = 1; seed <= 12; seed++) {
      const seen = followed(swing, { timesSec: times, seed, stepNoisePx: 0.5 });
      const motion = fitTracks(seen, []).at(at);
      const path = motion.paths.get('rightWrist')!;
      for (let k = 0; k + 2 < at.length; k++) {
        const error = path.xPx[k + 2]! - path.xPx[k]! - (swing(at[k + 2]!).x - swing(at[k]!).x);
        all++;
        if (Math.abs(error) <= 2 * motion.stepSdPx!('rightWrist', k, k + 2)) within++;
      }
      const plain = fitTracks(withoutSteps(seen), []).at(at);
      expect(motion.stepSdPx!('rightWrist', 10, 11)).toBeLessThan(plain.stepSdPx!('rightWrist', 10, 11));
    }
    expect(within / all).toBeGreaterThan(0.92);
  });

  it('of a middle is less than that of either side', () => {
    const motion = fitTracks(followed(swing, { timesSec: times }), []).at(times);
    expect(motion.stepSdPx!('pelvis', 10, 12)).toBeLessThan(motion.stepSdPx!('leftHip', 10, 12));
    expect(motion.stepSdPx!('pelvis', 10, 12)).toBeGreaterThan(0.5 * motion.stepSdPx!('leftHip', 10, 12));
    expect(motion.stepSdPx!('leftHand', 10, 12)).toBeNaN();
  });
});

describe('poses that a hand placed', () => {
  const times = evenTimes(48, 24);
  const poses = { byHand: true };
  const wristOf = (seen: Sightings, options = poses) => fitTracks(seen, [], options).at(times).paths.get('rightWrist')!;
  /** Held, but for one pose that lies beside the others by 12 pixels. */
  const oneOff: MadeMovement = (sec) => ({
    x: 430 + (Math.round(sec * 24) === 20 ? 12 : 0),
    y: 300,
    vx: 0,
    vy: 0,
    confidence: 0.75,
  });

  it('are where they are, one that is off, too, though nothing is believed of a path', () => {
    const path = wristOf(followed(oneOff, { timesSec: times, noisePx: 1.5 }));
    const beside = path.xPx[20]! - (path.xPx[19]! + path.xPx[21]!) / 2;
    expect(Math.abs(beside - 12)).toBeLessThan(0.5);
    const smoothed = wristOf(withoutSteps(followed(oneOff, { timesSec: times, noisePx: 1.5 })), { byHand: false });
    expect(smoothed.xPx[20]! - (smoothed.xPx[19]! + smoothed.xPx[21]!) / 2).toBeLessThan(9);
  });

  it('stand still where the picture does, however the detector leaps', () => {
    const seen = followed(pendulum(430, 300, 0, 1), { timesSec: times, noisePx: 2 });
    for (const i of [15, 16, 33]) seen.xPx[cell(i, wrist)]! += 20;
    const apart = (path: { readonly xPx: Float64Array }) =>
      Math.max(...path.xPx.subarray(1).map((x, i) => Math.abs(x - path.xPx[i]!)));
    expect(apart(wristOf(seen))).toBeLessThan(1);
    expect(apart(wristOf(withoutSteps(seen)))).toBeGreaterThan(10);
  });

  it('say how sure a step is: not as sure as poses that were followed where they were not', () => {
    const seen = followed(swing, { timesSec: times });
    for (const i of [20, 21]) seen.onwardSdPx[cell(i, wrist)] = Number.NaN;
    const { stepSdPx } = fitTracks(seen, [], poses).at(times);
    expect(stepSdPx!('rightWrist', 20, 21)).toBeGreaterThan(3 * stepSdPx!('rightWrist', 30, 31));
  });

  it('are the less sure the less the detector is: it knows no puppets', () => {
    const sdAt = (confidence: number) => {
      const made = withoutSteps(followed(swing, { timesSec: times }));
      for (let i = 0; i < times.length; i++) made.confidence[cell(i, wrist)] = confidence;
      return wristOf(made).sdPx[24]!;
    };
    expect(sdAt(0.25) / sdAt(0.75)).toBeGreaterThan(7);
  });
});
