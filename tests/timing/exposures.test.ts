import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { layExposures } from '../../src/timing/exposures.ts';
import type { OnFrames } from '../../src/timing/timing.ts';
import { authoredMotion, tracksThrough } from './authored.ts';
import { oneJoint } from './choices.ts';

const framesOf = (tracks: ReturnType<typeof oneJoint>, count: number) =>
  tracks.at(Float64Array.from({ length: count }, (_, k) => k / 24));
const still = (count: number) =>
  framesOf(
    oneJoint(
      'nose',
      24,
      count / 24,
      400,
      () => 5,
      () => 5,
    ),
    count,
  );

describe('exposures', () => {
  test('tile the shot, expose every key on its frame, and take as few odd runs as keys leave', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 40 }),
        fc.integer({ min: 1, max: 160 }),
        fc.constantFrom<OnFrames>(1, 2, 3, 4),
        fc.array(fc.nat(159), { maxLength: 12 }),
        (seed, count, on, wanted) => {
          const motion = framesOf(tracksThrough(authoredMotion(seed).places(30), 400, 0), count);
          const keys = wanted.filter((k) => k < count);
          const { exposures, phase } = layExposures(motion, 400, on, keys);
          let next = 0;
          for (const { firstFrame, frames } of exposures) {
            expect(firstFrame).toBe(next);
            expect(frames).toBeGreaterThan(0);
            next += frames;
          }
          expect(next).toBe(count);
          const firsts = new Set(exposures.map((e) => e.firstFrame));
          for (const key of keys) expect(firsts.has(key)).toBe(true);
          expect(phase).toBeLessThan(on);
          const corners = [...new Set([0, ...keys, count])].sort((a, b) => a - b);
          // A span that is no multiple needs an odd run, or several where it is short; never more than it has frames.
          const fewest = corners.slice(1).filter((c, i) => (c - corners[i]!) % on !== 0).length;
          const odd = exposures.filter((e) => e.frames !== on).length;
          expect(odd).toBeGreaterThanOrEqual(fewest);
          if (on === 2) expect(odd).toBe(fewest);
        },
      ),
      { numRuns: 60 },
    );
  });

  test('on ones every frame is a picture', () => {
    expect(layExposures(still(7), 400, 1, [3]).exposures).toHaveLength(7);
  });

  test('stand on the offset that the keys ask for', () => {
    const { exposures, phase } = layExposures(still(31), 400, 2, [5, 11, 21]);
    expect(phase).toBe(1);
    expect(exposures.filter((e) => e.frames !== 2)).toHaveLength(1);
  });

  test('spend the odd picture where the movement is', () => {
    // Still for a second, then fast: the single frame that 25 frames on twos leave over belongs to the fast part.
    const tracks = oneJoint(
      'nose',
      24,
      2,
      400,
      (t) => (t < 1 ? 0 : 2000 * (t - 1) ** 2),
      () => 0,
    );
    const { exposures } = layExposures(framesOf(tracks, 37), 400, 2, []);
    const odd = exposures.filter((e) => e.frames !== 2);
    expect(odd).toHaveLength(1);
    expect(odd[0]!.frames === 1 ? odd[0]!.firstFrame : 0).toBeGreaterThanOrEqual(24);
  });
});
