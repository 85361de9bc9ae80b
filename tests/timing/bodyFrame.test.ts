import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Joint } from '../../src/base/joints.ts';
import { arcOf } from '../../src/timing/arcs.ts';
import { type BodyFrame, bodyFramesOf } from '../../src/timing/bodyFrame.ts';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import { stepsOf } from '../../src/timing/spacing.ts';
import type { Timing } from '../../src/timing/timing.ts';
import { type Places, tracksThrough } from './authored.ts';
import { choicesFor } from './choices.ts';

const shoulders: BodyFrame = { name: 'shoulder line', from: 'leftShoulder', to: 'rightShoulder', scales: false };

/** A body whose joints go where `place` says, seen 24 times a second for two seconds. */
function timingOf(place: (joint: Joint, sec: number) => readonly [number, number], sdPx = 0): Timing {
  const timesSec = Float64Array.from({ length: 48 }, (_, i) => i / 24);
  const joints: Joint[] = ['leftShoulder', 'rightShoulder', 'leftWrist', 'nose'];
  const places = new Map(
    joints.map((j) => [j, { x: timesSec.map((t) => place(j, t)[0]), y: timesSec.map((t) => place(j, t)[1]) }]),
  );
  const p: Places = { timesSec, places };
  return computeTiming(tracksThrough(p, 400, sdPx), choicesFor(2, { onFrames: 1 }));
}

const resting: Readonly<Partial<Record<Joint, readonly [number, number]>>> = {
  leftShoulder: [40, 0],
  rightShoulder: [-40, 0],
  leftWrist: [90, 70],
  nose: [5, -50],
};

/** A rigid body that turns, moves and (from the lens) grows. */
const rigid =
  (turn: (sec: number) => number, scale: (sec: number) => number = () => 1) =>
  (joint: Joint, sec: number): readonly [number, number] => {
    const [x, y] = resting[joint]!;
    const [c, s] = [Math.cos(turn(sec)), Math.sin(turn(sec))];
    return [300 + 60 * sec + scale(sec) * (c * x - s * y), 200 - 30 * sec * sec + scale(sec) * (s * x + c * y)];
  };

const extent = (column: Float64Array) => Math.max(...column) - Math.min(...column);

describe('arcs seen from a line of the body', () => {
  test('a body that moves and turns as one has points for arcs', () => {
    fc.assert(
      fc.property(fc.double({ min: -4, max: 4, noNaN: true }), fc.integer({ min: 0, max: 47 }), (rate, anchor) => {
        const timing = timingOf(rigid((t) => rate * t));
        const arc = arcOf(timing, 'leftWrist', shoulders, anchor);
        expect(extent(arc.xPx)).toBeLessThan(1e-6);
        expect(extent(arc.yPx)).toBeLessThan(1e-6);
        const path = timing.motion.paths.get('leftWrist')!;
        expect(arc.xPx[0]).toBeCloseTo(path.xPx[anchor]!, 6);
        expect(arc.yPx[0]).toBeCloseTo(path.yPx[anchor]!, 6);
      }),
      { numRuns: 30 },
    );
  });

  test('seen from a single joint a body that only moves has points for arcs, one that turns has not', () => {
    const moves = arcOf(timingOf(rigid(() => 0.3)), 'leftWrist', 'leftShoulder');
    expect(extent(moves.xPx)).toBeLessThan(1e-6);
    const turns = arcOf(timingOf(rigid((t) => t)), 'leftWrist', 'leftShoulder');
    expect(extent(turns.xPx)).toBeGreaterThan(10);
  });

  test('coming nearer to the lens is taken out only on request', () => {
    const timing = timingOf(
      rigid(
        (t) => 0.4 * t,
        (t) => 1 + 0.2 * t,
      ),
    );
    expect(extent(arcOf(timing, 'leftWrist', shoulders).xPx)).toBeGreaterThan(5);
    const scaled = arcOf(timing, 'leftWrist', { ...shoulders, scales: true });
    expect(extent(scaled.xPx)).toBeLessThan(1e-6);
    expect(extent(scaled.yPx)).toBeLessThan(1e-6);
  });

  test('the error of the line’s direction counts by the distance from it', () => {
    const arc = arcOf(
      timingOf(
        rigid(() => 0),
        2,
      ),
      'leftWrist',
      shoulders,
    );
    // Line of 80 px with 2 px at either end: √8 / 80 rad at √(90² + 70²) px, beside 2 px and √8 / 2 px.
    const turn = (Math.sqrt(8) / 80) * Math.hypot(90, 70);
    expect(arc.sdPx[20]).toBeCloseTo(Math.hypot(2, Math.SQRT2, turn), 9);
  });

  test('nothing is said where the line is too short to have a direction', () => {
    const seenFromTheSide = timingOf((joint, sec) => {
      const [x, y] = resting[joint]!;
      const isShoulder = joint !== 'leftWrist' && joint !== 'nose';
      return [300 + (isShoulder ? x * Math.cos(sec * Math.PI * 0.5) : x), 200 + y];
    }, 2);
    const arc = arcOf(seenFromTheSide, 'leftWrist', shoulders);
    expect(arc.xPx[0]).not.toBeNaN();
    // At frame 23 it is 5 px long, with 2 px of doubt at either end.
    expect(arc.xPx[23]).toBeNaN();
    expect(bodyFramesOf(seenFromTheSide.motion).map((l) => l.name)).toEqual(['shoulder line']);
  });
});

describe('what happens to the picture happens to arcs', () => {
  const wave = (joint: Joint, t: number): readonly [number, number] => {
    const [x, y] = resting[joint]!;
    return joint === 'leftWrist'
      ? [300 + x + 30 * Math.sin(3 * t), 200 + y - 25 * t * t]
      : [300 + x + 9 * Math.sin(2 * t + x), 200 + y + 4 * t];
  };
  const timing = timingOf(wave);
  const frames = fc.constantFrom<'picture' | Joint | BodyFrame>('picture', 'leftShoulder', shoulders);

  test('mirroring mirrors them, enlarging enlarges them, moving moves them', () => {
    fc.assert(
      fc.property(
        frames,
        fc.constantFrom(1, -1),
        fc.double({ min: 0.5, max: 3, noNaN: true }),
        fc.integer({ min: -200, max: 200 }),
        (from, mirror, scale, shift) => {
          const changed = timingOf((j, t) => {
            const [x, y] = wave(j, t);
            return [mirror * scale * x + shift, scale * y - shift];
          });
          const before = arcOf(timing, 'leftWrist', from, 5);
          const after = arcOf(changed, 'leftWrist', from, 5);
          after.xPx.forEach((x, k) => {
            expect(x).toBeCloseTo(mirror * scale * before.xPx[k]! + shift, 6);
            expect(after.yPx[k]).toBeCloseTo(scale * before.yPx[k]! - shift, 6);
          });
        },
      ),
      { numRuns: 40 },
    );
  });

  test('moving the picture leaves the steps alone', () => {
    const moved = timingOf((j, t) => [wave(j, t)[0] + 77, wave(j, t)[1] - 13]);
    const after = stepsOf(moved, 'leftWrist');
    stepsOf(timing, 'leftWrist').forEach((step, i) => {
      expect(after[i]!.distanceMm).toBeCloseTo(step.distanceMm, 6);
    });
  });
});
