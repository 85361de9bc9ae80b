import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import { minimumJerk } from '../../src/timing/ease.ts';
import { easedProgress, easeWords, fitEase } from '../../src/timing/easeFit.ts';
import { distancesToCharts, idealFractions } from '../../src/timing/idealCharts.ts';
import { movesOf, type SpacingChart, spacingChart, spacingOfMove } from '../../src/timing/spacingChart.ts';
import { authoredMotion, tracksThrough } from './authored.ts';
import { choicesFor, oneJoint } from './choices.ts';

describe('eases', () => {
  test('the family holds even spacing and minimum jerk exactly', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 1, noNaN: true }), (u) => {
        expect(easedProgress(u, 0, 0)).toBeCloseTo(u, 9);
        expect(easedProgress(u, 1, 1)).toBeCloseTo(minimumJerk(u), 9);
        // A start at full speed into a cubic stop.
        expect(easedProgress(u, 0, 1)).toBeCloseTo(1 - (1 - u) ** 3, 9);
      }),
    );
  });

  test('a spacing’s eases are found again, and turned round they change places', () => {
    const strength = fc.double({ min: 0, max: 2.5, noNaN: true });
    fc.assert(
      fc.property(strength, strength, fc.integer({ min: 6, max: 16 }), (leaving, arriving, steps) => {
        const times = Array.from({ length: steps + 1 }, (_, i) => i / steps);
        const fit = fitEase(
          times,
          times.map((u) => easedProgress(u, leaving, arriving)),
        );
        // Strong eases leave most of a few poses at the ends, where all strong eases look alike.
        expect(fit.misfit).toBeLessThan(0.004);
        expect(Math.abs(fit.leaving - leaving)).toBeLessThan(0.12);
        expect(Math.abs(fit.arriving - arriving)).toBeLessThan(0.12);
        const back = fitEase(
          times,
          times.map((u) => 1 - easedProgress(1 - u, leaving, arriving)),
        );
        expect(Math.abs(back.leaving - fit.arriving)).toBeLessThan(0.1);
      }),
      { numRuns: 40 },
    );
  });

  test('are said in words', () => {
    expect(easeWords({ leaving: 0, arriving: 1, misfit: 0 })).toEqual({
      leaving: 'starts at full speed',
      arriving: 'eases in',
    });
    expect(easeWords({ leaving: 0.4, arriving: 2, misfit: 0 }).arriving).toBe('creeps in');
  });
});

describe('charts that animators draw', () => {
  const times = (steps: number) => Array.from({ length: steps + 1 }, (_, i) => i / steps);

  test('halves and thirds stand where the trade puts them', () => {
    // Timing charts as taught: halves 1/2, 3/4, 7/8, 15/16; thirds 1/3, 2/3.
    expect(idealFractions('halvesToLast', times(5))).toEqual([0, 1 / 2, 3 / 4, 7 / 8, 15 / 16, 1]);
    expect(idealFractions('halvesFromFirst', times(5))).toEqual([0, 1 / 16, 1 / 8, 1 / 4, 1 / 2, 1]);
    expect(idealFractions('halves', times(2))).toEqual([0, 1 / 2, 1]);
    expect(idealFractions('halves', times(6))).toEqual([0, 1 / 8, 1 / 4, 1 / 2, 3 / 4, 7 / 8, 1]);
    expect(idealFractions('thirds', times(3))).toEqual([0, 1 / 3, 2 / 3, 1]);
    [0, 1 / 6, 1 / 3, 2 / 3, 5 / 6, 1].forEach((fraction, i) => {
      expect(idealFractions('thirds', times(5))[i]).toBeCloseTo(fraction, 12);
    });
    expect(idealFractions('minimumJerk', times(6))[1]).toBeCloseTo(0.035494, 6);
  });

  test('every chart goes up from 0 to 1, with a tick per pose, and is nearest to itself', () => {
    const names = ['even', 'halves', 'halvesToLast', 'halvesFromFirst', 'thirds', 'minimumJerk'] as const;
    fc.assert(
      fc.property(fc.constantFrom(...names), fc.integer({ min: 1, max: 20 }), (name, steps) => {
        const fractions = idealFractions(name, times(steps));
        expect(fractions).toHaveLength(steps + 1);
        expect(fractions[0]).toBe(0);
        expect(fractions.at(-1)).toBe(1);
        for (let i = 1; i <= steps; i++) expect(fractions[i]).toBeGreaterThan(fractions[i - 1]!);
        const ticks = times(steps).map((time, i) => ({ time, fraction: fractions[i]! }));
        const nearest = distancesToCharts(ticks)[0]!;
        expect(nearest.distance).toBe(0);
      }),
    );
  });
});

/** A wrist that rests 12 frames, goes 200 px of 400 in 16 frames as `progress` says, and rests again. */
function moved(progress: (u: number) => number, bend = 0, scale = 1, mirror = 1) {
  const at = (sec: number) => progress(Math.min(1, Math.max(0, (sec * 24 - 12) / 16)));
  const tracks = oneJoint(
    'leftWrist',
    24,
    40 / 24,
    400 * scale,
    (t) => mirror * scale * (100 + 200 * at(t)),
    (t) => scale * (100 + bend * Math.sin(Math.PI * at(t))),
  );
  return computeTiming(tracks, choicesFor(40 / 24));
}

describe('the spacing of a move', () => {
  const chartOf = (timing: ReturnType<typeof moved>): SpacingChart => {
    const [move] = movesOf(timing);
    const chart = spacingOfMove(timing, 'leftWrist', move!);
    if (typeof chart === 'string') throw new Error(chart);
    return chart;
  };

  test('a smooth reach is nearest to the smoothest one, eased at both ends, favouring neither', () => {
    const chart = chartOf(moved(minimumJerk));
    expect(chart.ticks[0]!.fraction).toBe(0);
    expect(chart.ticks.at(-1)!.fraction).toBeCloseTo(1, 12);
    expect(chart.lengthMm).toBeCloseTo(125, 3);
    expect(chart.against[0]!.chart).toBe('minimumJerk');
    expect(Math.abs(chart.favour - 0.5)).toBeLessThan(0.03);
    expect(chart.ease.leaving).toBeGreaterThan(0.7);
    expect(chart.ease.arriving).toBeGreaterThan(0.7);
  });

  test('a cushioned arrival favours the last pose, turned round the first', () => {
    const into = chartOf(moved((u) => easedProgress(u, 0.2, 1.6)));
    expect(into.favour).toBeGreaterThan(0.6);
    // The key stands where the body has come to rest for the eye, before the creep is quite over.
    expect(into.ease.arriving).toBeGreaterThan(into.ease.leaving + 0.4);
    const outOf = chartOf(moved((u) => easedProgress(u, 1.6, 0.2)));
    expect(outOf.favour).toBeLessThan(0.4);
  });

  test('fractions do not depend on the picture’s size, nor on which way it is turned', () => {
    const one = chartOf(moved(minimumJerk, 60));
    fc.assert(
      fc.property(fc.double({ min: 0.4, max: 4, noNaN: true }), fc.constantFrom(1, -1), (scale, mirror) => {
        const other = chartOf(moved(minimumJerk, 60, scale, mirror));
        expect(other.ticks.map((t) => t.frame)).toEqual(one.ticks.map((t) => t.frame));
        other.ticks.forEach((t, i) => {
          expect(t.fraction).toBeCloseTo(one.ticks[i]!.fraction, 9);
        });
        expect(other.lengthMm).toBeCloseTo(one.lengthMm, 6);
      }),
      { numRuns: 20 },
    );
  });

  test('says why there is none', () => {
    const timing = moved(minimumJerk);
    const [move] = movesOf(timing);
    expect(spacingChart(timing, 'nose', move!)).toBe('not known');
    const two = timing.exposures.slice(3, 5).map((e) => e.firstFrame);
    expect(spacingChart(timing, 'leftWrist', { firstFrame: two[0]!, lastFrame: two[1]! })).toBe('too few poses');
    const held = timing.exposures.filter((e) => e.firstFrame < 10).map((e) => e.firstFrame);
    expect(spacingChart(timing, 'leftWrist', { firstFrame: held[0]!, lastFrame: held.at(-1)! })).toBe('hardly moves');
  });

  test('moves of a made performance follow each other within the shot', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 500 }), (seed) => {
        const made = authoredMotion(seed);
        const tracks = tracksThrough(made.places(30), made.bodyHeightPx, 0);
        const timing = computeTiming(tracks, choicesFor(made.truth.durationSec));
        const moves = movesOf(timing);
        expect(moves.length).toBeGreaterThan(0);
        moves.forEach((m, i) => {
          expect(m.lastFrame).toBeGreaterThan(m.firstFrame);
          expect(m.firstFrame).toBeGreaterThanOrEqual(moves[i - 1]?.lastFrame ?? 0);
          for (const part of ['leftWrist', 'nose'] as const) {
            const chart = spacingOfMove(timing, part, m);
            if (typeof chart === 'string') continue;
            for (let k = 1; k < chart.ticks.length; k++)
              expect(chart.ticks[k]!.fraction).toBeGreaterThanOrEqual(chart.ticks[k - 1]!.fraction);
          }
        });
      }),
      { numRuns: 15 },
    );
  });
});
