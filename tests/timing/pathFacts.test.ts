import { describe, expect, test } from 'vitest';
import { arcOf } from '../../src/timing/arcs.ts';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import { minimumJerk } from '../../src/timing/ease.ts';
import { moveAt, pathFacts, smoothnessWords } from '../../src/timing/pathFacts.ts';
import { choicesFor, oneJoint } from './choices.ts';

/** A wrist that swings 90° about (200, 150) at 120 px within `fromSec` and 1 s, as `progress` says. */
function swing(progress: (u: number) => number) {
  const angle = (t: number) => (Math.PI / 2) * progress(Math.min(1, Math.max(0, (t - 0.25) / 0.75)));
  const tracks = oneJoint(
    'leftWrist',
    48,
    1.25,
    400,
    (t) => 200 + 120 * Math.cos(angle(t)),
    (t) => 150 + 120 * Math.sin(angle(t)),
  );
  const timing = computeTiming(tracks, choicesFor(1.25));
  return { timing, arc: arcOf(timing, 'leftWrist') };
}

describe('the shape of an arc over a move', () => {
  const move = { firstFrame: 6, lastFrame: 24 };

  test('a swing has its circle, and is as smooth as a reach can be', () => {
    const { timing, arc } = swing(minimumJerk);
    const facts = pathFacts(timing, arc, move);
    if (typeof facts.circle === 'string') throw new Error(facts.circle);
    expect(facts.circle.radius).toBeCloseTo(120, 1);
    expect(facts.circle.x).toBeCloseTo(200, 1);
    expect(facts.circle.spanDeg).toBeCloseTo(90, 0);
    expect(facts.smoothness!.fps).toBe(24);
    expect(facts.smoothest!.count).toBe(facts.smoothness!.count);
    expect(smoothnessWords(facts.smoothness!, facts.smoothest!)).toBe('as smooth as a reach can be');
  });

  test('one that stops half way is not', () => {
    const halting = (u: number) => (u < 0.5 ? 0.5 * minimumJerk(2 * u) : 0.5 + 0.5 * minimumJerk(2 * u - 1));
    const { timing, arc } = swing(halting);
    const facts = pathFacts(timing, arc, move);
    expect(facts.smoothness!.ldlj).toBeLessThan(facts.smoothest!.ldlj - 1.5);
    expect(smoothnessWords(facts.smoothness!, facts.smoothest!)).toContain('uneven');
  });

  test('nothing is said of a part that rests', () => {
    const { timing, arc } = swing(() => 0);
    const facts = pathFacts(timing, arc, move);
    expect(facts).toMatchObject({ circle: 'still', smoothness: null, smoothest: null, law: null });
    const moving = swing(minimumJerk);
    const unsure = { ...moving.arc, sdPx: moving.arc.sdPx.map(() => 60) };
    expect(pathFacts(moving.timing, unsure, move)).toMatchObject({ circle: 'still', smoothness: null });
  });

  test('the move on screen is the one at the frame, else the next, else the last', () => {
    const moves = [
      { firstFrame: 4, lastFrame: 10 },
      { firstFrame: 20, lastFrame: 30 },
    ];
    expect([0, 7, 10, 15, 25, 40].map((f) => moves.indexOf(moveAt(moves, f)!))).toEqual([0, 0, 0, 1, 1, 1]);
    expect(moveAt([], 3)).toBeNull();
  });
});
