import { describe, expect, test } from 'vitest';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import { gainOverTwos } from '../../src/timing/exposureAdvice.ts';
import { budgetFor, layExposures } from '../../src/timing/exposures.ts';
import type { Timing } from '../../src/timing/timing.ts';
import { visibleError } from '../../src/timing/visibleError.ts';
import { choicesFor, oneJoint } from './choices.ts';

/** A hand that rests, swings over 300 px in half a second (minimum jerk, Flash & Hogan 1985), and rests. */
function restsMovesRests(restSec: number): Timing {
  const tracks = oneJoint(
    'leftWrist',
    30,
    2 * restSec + 0.6,
    400,
    (t) => {
      const u = Math.min(1, Math.max(0, (t - restSec) / 0.5));
      return 300 * u ** 3 * (10 - 15 * u + 6 * u * u);
    },
    () => 0,
  );
  return computeTiming(tracks, choicesFor(2 * restSec + 0.5));
}

function gainOf(timing: Timing) {
  return gainOverTwos(timing, budgetFor(timing.motion, timing.bodyHeightPx, timing.choices, timing.forcedFrames));
}

describe('the visible error', () => {
  test('of the frames that move is not thinned by those that rest', () => {
    const timing = restsMovesRests(3);
    const { motion, bodyHeightPx, holds, forcedFrames } = timing;
    expect(holds.length).toBeGreaterThan(0);
    const twos = layExposures(motion, bodyHeightPx, 2, forcedFrames).exposures;
    const { rms, movingRms } = visibleError(motion, bodyHeightPx, twos, holds);
    const resting = holds.reduce((sum, h) => sum + h.frames, 0);
    const moving = timing.grid.frameCount - resting;
    expect(moving).toBeLessThan(30);
    // The squares are all in the frames that move.
    expect(movingRms).toBeCloseTo(rms * Math.sqrt(timing.grid.frameCount / moving), 5);
    expect(visibleError(motion, bodyHeightPx, twos).movingRms).toBe(rms);
  });
});

describe('what spending gains over twos', () => {
  test('is flattered by long holds, and told beside it for the movement alone', () => {
    const long = gainOf(restsMovesRests(3));
    // Seventy exposures of a pose that stays are set free: enough for ones wherever it moves.
    expect(long.share).toBeGreaterThan(0.95);
    expect(long.movingFrames).toBeLessThan(16);
    expect(long.movingExposures).toBeLessThan(9);
    expect(long.movingShare).toBeLessThan(0.5);
    expect(long.movingShare).toBeGreaterThan(0.05);
  });

  test('for the movement alone does not hang on how long it rests before and after', () => {
    const [short, long] = [gainOf(restsMovesRests(1.5)), gainOf(restsMovesRests(4))];
    expect(Math.abs(short.movingExposures - long.movingExposures)).toBeLessThanOrEqual(1);
    expect(Math.abs(short.movingShare - long.movingShare)).toBeLessThan(0.12);
  });

  test('uses no more exposures where it moves than twos do', () => {
    const timing = restsMovesRests(2);
    const gain = gainOf(timing);
    const still = { ...timing, holds: [] };
    const whole = gainOf(still);
    expect(whole.movingFrames).toBe(timing.grid.frameCount);
    expect(whole.movingShare).toBeCloseTo(whole.share, 9);
    expect(gain.movingShare).toBeLessThan(whole.movingShare);
  });
});
