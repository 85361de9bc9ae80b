import { describe, expect, test } from 'vitest';
import { boxOf, type PathMark } from '../../src/draw/scene.ts';
import { layOutTimingChart, spacingHeight } from '../../src/draw/spacingScene.ts';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import { minimumJerk } from '../../src/timing/ease.ts';
import { movesOf, type SpacingChart, spacingOfMove } from '../../src/timing/spacingChart.ts';
import { choicesFor, oneJoint } from '../timing/choices.ts';

const tracks = oneJoint(
  'leftWrist',
  24,
  40 / 24,
  400,
  (t) => 100 + 200 * minimumJerk(Math.min(1, Math.max(0, (t * 24 - 12) / 16))),
  () => 100,
);

function chartOf(onFrames: 1 | 2): SpacingChart {
  const timing = computeTiming(tracks, choicesFor(40 / 24, { onFrames }));
  const chart = spacingOfMove(timing, 'leftWrist', movesOf(timing)[0]!);
  if (typeof chart === 'string') throw new Error(chart);
  return chart;
}

const at = (mark: PathMark) => boxOf(mark.d).left;

describe('a timing chart', () => {
  const chart = chartOf(2);
  const scene = layOutTimingChart(chart, chart.ticks[3]!.frame + 1, 320);
  const ticks = scene.marks.filter((m): m is PathMark => m.kind === 'path' && m.role === 'tick');

  test('has a tick for each exposure where it stands on the path', () => {
    expect(ticks).toHaveLength(chart.ticks.length);
    const [from, to] = [at(ticks[0]!), at(ticks.at(-1)!)];
    ticks.forEach((tick, i) => {
      expect((at(tick) - from) / (to - from)).toBeCloseTo(chart.ticks[i]!.fraction, 2);
    });
    expect(scene.height).toBe(spacingHeight(chart.against.length));
  });

  test('marks the exposure on screen, also in its later frames, and none outside the move', () => {
    expect(ticks.filter((t) => t.stroke === 'mark').map((t) => t.id)).toEqual([`tick-${chart.ticks[3]!.frame}`]);
    const outside = layOutTimingChart(chart, chart.frames.lastFrame + 5, 320);
    expect(outside.marks.some((m) => m.kind === 'path' && m.stroke === 'mark')).toBe(false);
  });

  test('numbers no two ticks over each other, also where an ease crowds them', () => {
    for (const on of [1, 2] as const) {
      const dense = chartOf(on);
      for (const tick of dense.ticks) {
        const numbers = layOutTimingChart(dense, tick.frame, 280).marks.flatMap((m) =>
          m.kind === 'text' && m.id.startsWith('frame-') ? [m] : [],
        );
        const places = numbers.map((m) => m.x).sort((a, b) => a - b);
        for (let i = 1; i < places.length; i++) expect(places[i]! - places[i - 1]!).toBeGreaterThanOrEqual(22);
        expect(numbers.some((m) => m.text === String(tick.frame + 1))).toBe(true);
      }
    }
  });

  test('stays inside its width, and names the charts it is held against, nearest first', () => {
    for (const mark of scene.marks) {
      if (mark.kind !== 'path') continue;
      const box = boxOf(mark.d);
      expect(box.left).toBeGreaterThanOrEqual(0);
      expect(box.right).toBeLessThanOrEqual(320);
    }
    const names = scene.marks.flatMap((m) => (m.kind === 'text' && m.id.startsWith('name-') ? [m.id.slice(5)] : []));
    expect(names).toEqual(chart.against.map((c) => c.chart));
    expect(names[0]).toBe('minimumJerk');
  });
});
