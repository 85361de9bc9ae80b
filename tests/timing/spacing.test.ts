import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { frameStartSec, rateLabelled, shotRates } from '../../src/base/frameRate.ts';
import { arcOf } from '../../src/timing/arcs.ts';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import { minimumJerk, minimumJerkTime } from '../../src/timing/ease.ts';
import { resample } from '../../src/timing/resample.ts';
import { stepsOf } from '../../src/timing/spacing.ts';
import { authoredMotion, tracksThrough } from './authored.ts';
import { choicesFor, oneJoint } from './choices.ts';

describe('resampling', () => {
  test('12 poses a second out of 29.97 pictures fall where exact rationals say', () => {
    const rate = rateLabelled('12')!;
    const take = rateLabelled('29.97')!;
    // k/12 × 30000/1001.
    const places = [0, 2.4975, 4.995, 7.4925, 9.99, 12.4875, 14.985, 17.4825, 19.98];
    places.forEach((place, k) => {
      expect((frameStartSec(rate, k) * take.frames) / take.seconds).toBeCloseTo(place, 4);
    });
    const timesSec = Float64Array.from({ length: 40 }, (_, i) => frameStartSec(take, i));
    const picture = timesSec.map((_, i) => 100 + 10 * i);
    const tracks = tracksThrough({ timesSec, places: new Map([['nose', { x: picture, y: picture }]]) }, 400, 0);
    const { motion } = resample(tracks, choicesFor(40 * (1001 / 30000), { rate }));
    places.forEach((place, k) => {
      expect((motion.paths.get('nose')!.xPx[k]! - 100) / 10).toBeCloseTo(place, 3);
    });
  });

  test('at the pictures’ own times nothing changes', () => {
    fc.assert(
      fc.property(fc.constantFrom(...shotRates), fc.integer({ min: 1, max: 30 }), (rate, seed) => {
        const made = authoredMotion(seed).places(30);
        const timesSec = made.timesSec.map((_, i) => frameStartSec(rate, i));
        const tracks = tracksThrough({ timesSec, places: made.places }, 400, 0);
        const endSec = frameStartSec(rate, timesSec.length);
        const { grid, motion } = resample(tracks, choicesFor(endSec, { rate }));
        expect(grid.frameCount).toBe(timesSec.length);
        for (const [joint, { x }] of made.places) {
          x.forEach((v, k) => {
            expect(motion.paths.get(joint)!.xPx[k]).toBeCloseTo(v, 6);
          });
        }
      }),
      { numRuns: 10 },
    );
  });

  test('frames after the last picture, before it leaves the screen, hold its pose', () => {
    const tracks = oneJoint(
      'nose',
      24,
      1,
      400,
      (t) => 100 * t,
      () => 0,
    );
    const { grid, motion } = resample(tracks, choicesFor(1, { rate: { frames: 60, seconds: 1 } }));
    expect(grid.frameCount).toBe(60);
    expect(motion.paths.get('nose')!.xPx[59]).toBeCloseTo((100 * 23) / 24, 9);
  });
});

test('the minimum-jerk ease has its published profile', () => {
  // Flash & Hogan 1985: 10u³ − 15u⁴ + 6u⁵; peak speed 1.875 at the middle (socsci.ru.nl/wilberth/physics/smooth.html).
  const twelfths = [0, 0.005088, 0.035494, 0.103516, 0.209877, 0.346619, 0.5];
  twelfths.forEach((value, k) => {
    expect(minimumJerk(k / 12)).toBeCloseTo(value, 6);
    expect(minimumJerk(1 - k / 12)).toBeCloseTo(1 - value, 6);
    expect(minimumJerkTime(value)).toBeCloseTo(k / 12, 4);
  });
  expect((minimumJerk(0.5 + 1e-5) - minimumJerk(0.5 - 1e-5)) / 2e-5).toBeCloseTo(1.875, 6);
});

describe('spacing', () => {
  // A ball let go at 0 s: 4000 px/s² at 4000 / 9.80665 px per metre.
  const fall = oneJoint(
    'nose',
    60,
    0.5,
    400,
    () => 100,
    (t) => 2000 * t * t,
  );
  const perMetre = 4000 / 9.80665;

  test('a falling thing obeys the odd rule and the animators’ table, on ones', () => {
    const steps = stepsOf(computeTiming(fall, choicesFor(0.5, { onFrames: 1 })), 'nose');
    // Steps in mm at 24 fps from ½ g t² with g = 9.80665 m/s² (3rd CGPM 1901): 1 : 3 : 5 : 7.
    [8.51, 25.54, 42.56, 59.59, 76.61, 93.64].forEach((mm, i) => {
      expect((steps[i]!.dyPx / perMetre) * 1000).toBeCloseTo(mm, 1);
    });
    // Fallen after 1/24, 1/12, 1/8 and 1/6 s: 1/3, 1 1/3, 3 and 5 1/3 in (A. L. Garcia, Physics of Timing & Spacing, 2011),
    // rounded there by up to 1 %.
    let fallen = 0;
    [1 / 3, 4 / 3, 3, 16 / 3].forEach((inches, i) => {
      fallen += (steps[i]!.dyPx / perMetre) * 1000;
      expect(Math.abs(fallen / 25.4 / inches - 1)).toBeLessThan(0.011);
    });
  });

  test('on twos the rule holds from pose to pose', () => {
    const timing = computeTiming(fall, choicesFor(0.5));
    const even = timing.exposures.slice(0, 5);
    expect(even.map((e) => e.firstFrame)).toEqual([0, 2, 4, 6, 8]);
    const steps = stepsOf(timing, 'nose');
    [34.05, 102.15, 170.25, 238.36].forEach((mm, i) => {
      expect((steps[i]!.dyPx / perMetre) * 1000).toBeCloseTo(mm, 1);
    });
  });

  test('is told in body heights and in the puppet’s millimetres', () => {
    const tracks = oneJoint(
      'nose',
      24,
      1,
      500,
      (t) => 240 * t,
      () => 0,
    );
    const [step] = stepsOf(computeTiming(tracks, choicesFor(1)), 'nose');
    expect(step!.distance).toBeCloseTo(20 / 500, 9);
    expect(step!.distanceMm).toBeCloseTo(10, 9);
  });

  test('doubles with the picture’s movement and not with the picture’s size', () => {
    const made = authoredMotion(7);
    const places = made.places(30);
    const grown = new Map(
      [...places.places].map(([j, p]) => [j, { x: p.x.map((v) => 2 * v), y: p.y.map((v) => 2 * v) }]),
    );
    const end = choicesFor(made.truth.durationSec);
    const one = computeTiming(tracksThrough(places, 400, 0), end);
    const two = computeTiming(tracksThrough({ ...places, places: grown }, 400, 0), end);
    const same = computeTiming(tracksThrough({ ...places, places: grown }, 800, 0), end);
    const sum = (timing: typeof one) => stepsOf(timing, 'leftWrist').reduce((s, e) => s + e.distance, 0);
    expect(sum(same)).toBeCloseTo(sum(one), 9);
    expect(sum(two)).toBeGreaterThan(1.9 * sum(one));
    expect(same.keys.map((k) => k.frameIndex)).toEqual(one.keys.map((k) => k.frameIndex));
  });
});

describe('arcs', () => {
  const made = authoredMotion(3);
  const timing = computeTiming(tracksThrough(made.places(30), 400, 2), choicesFor(made.truth.durationSec));

  test('a relative arc lies over the anchor frame’s picture and has both joints’ doubt', () => {
    const arc = arcOf(timing, 'leftWrist', 'leftShoulder', 10);
    const wrist = timing.motion.paths.get('leftWrist')!;
    expect(arc.xPx[10]).toBeCloseTo(wrist.xPx[10]!, 9);
    expect(arc.sdPx[0]).toBeCloseTo(2 * Math.SQRT2, 9);
    expect(arc.tickFrames).toEqual(timing.exposures.map((e) => e.firstFrame));
  });

  test('what both joints share is not in a relative arc', () => {
    const places = made.places(30);
    const carried = new Map(
      [...places.places].map(([j, p]) => [j, { x: p.x.map((v, i) => v + 3 * i), y: p.y.map((v) => v) }]),
    );
    const moved = computeTiming(
      tracksThrough({ ...places, places: carried }, 400, 2),
      choicesFor(made.truth.durationSec),
    );
    const still = arcOf(timing, 'leftWrist', 'leftShoulder');
    arcOf(moved, 'leftWrist', 'leftShoulder').xPx.forEach((x, k) => {
      expect(x).toBeCloseTo(still.xPx[k]!, 6);
    });
  });
});
