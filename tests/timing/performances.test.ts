import { expect, test } from 'vitest';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import { fitTracks } from '../../src/track/fitTracks.ts';
import { agreement } from './authored.ts';
import { choicesFor } from './choices.ts';
import { makePerformance, type PerformanceKind } from './performances.ts';

/** F1 of the keys and the part of the holds found, over performances of one kind with a detector's and flow's errors. */
function over(kind: PerformanceKind, seeds: readonly number[]) {
  const sum = { authored: 0, hit: 0, extra: 0, holds: 0, badHolds: 0 };
  for (const seed of seeds) {
    const { truth, sightings } = makePerformance(kind, seed);
    const timing = computeTiming(fitTracks(sightings(false), []), choicesFor(truth.durationSec));
    const sec = (frame: number) => timing.takeTimeSec[frame]!;
    const found = agreement(
      truth,
      timing.keys.map((k) => k.takeSec),
      timing.holds.map((h) => ({ start: sec(h.firstFrame), end: sec(h.firstFrame + h.frames - 1) })),
    );
    sum.authored += found.authored;
    sum.hit += found.hit;
    sum.extra += found.extra.length;
    sum.holds += found.holds;
    sum.badHolds += found.badHolds.length;
  }
  const precision = sum.hit / (sum.hit + sum.extra);
  const recall = sum.hit / sum.authored;
  return { f1: (2 * precision * recall) / (precision + recall), holds: 1 - sum.badHolds / sum.holds };
}

const seeds = [201, 202, 203, 204, 205, 206];

// Bars lie a little under what was measured: they tell when something gets worse, not that all of it is good. Known to fall
// short: turns whose moves are eased otherwise than by minimum jerk are told one to three frames beside (`eases`), and small
// settles that noise hides let a hold begin early.
test.each([
  ['acting', 0.96, 0.95],
  ['arms', 0.97, 0.94],
  ['head', 0.96, 0.95],
  ['snappy', 0.96, 0.9],
  ['slow', 0.95, 0.82],
  ['drag', 0.88, 0.88],
  ['breath', 0.96, 0.82],
  ['windUps', 0.96, 0.92],
  ['steps', 0.92, 0.9],
  ['eases', 0.74, 0.9],
  ['walkIn', 0.95, 0.95],
] as const)('made performances of the kind %s are read as they were authored', (kind, leastF1, leastHolds) => {
  const { f1, holds } = over(kind, seeds);
  expect(f1).toBeGreaterThan(leastF1);
  expect(holds).toBeGreaterThan(leastHolds);
});

test('the steps of a walk to the place are no keys of the story, but there when more are asked for', () => {
  for (const seed of seeds) {
    const { truth, sightings } = makePerformance('walkIn', seed);
    const arrivedSec = truth.keys[0]!.t;
    const tracks = fitTracks(sightings(false), []);
    const walked = (keyCount: number | null) =>
      computeTiming(tracks, choicesFor(truth.durationSec, { keyCount })).keys.filter(
        (k) => k.takeSec < arrivedSec - 3 / 24,
      );
    expect(walked(null)).toEqual([]);
    const asked = walked(truth.keys.length + 12);
    expect(asked.length).toBeGreaterThan(2);
    expect(asked.some((k) => k.reasons.some((r) => /foot (lands|lifts)/.test(r)))).toBe(true);
  }
});
