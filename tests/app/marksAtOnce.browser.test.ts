import { afterEach, describe, expect, it } from 'vitest';
import { forgetMarks, keepMarksAtOnce, marksKeptAtOnce } from '../../src/app/check/marksAtOnce.ts';
import type { Prop } from '../../src/track/prop.ts';

const wrist: Prop = {
  id: 'prop:left wrist',
  name: 'left wrist',
  marks: [{ takeSec: 0.5, xPx: 12.5, yPx: 7 }],
  absent: [{ startSec: 1, endSec: 2 }],
};
const elbow: Prop = { ...wrist, id: 'prop:left elbow', name: 'left elbow', absent: [] };

afterEach(() => localStorage.clear());

describe('marks of a shot', () => {
  it('are there at once, each book’s own, until the shelf has them', () => {
    keepMarksAtOnce('a', [wrist]);
    keepMarksAtOnce('b', []);
    expect([marksKeptAtOnce('a'), marksKeptAtOnce('b'), marksKeptAtOnce('c')]).toEqual([[wrist], [], null]);
    forgetMarks('a', [wrist]);
    expect(marksKeptAtOnce('a')).toBeNull();
  });

  it('stay while the shelf has older ones, and count for nothing where they cannot be read', () => {
    keepMarksAtOnce('a', [wrist, elbow]);
    forgetMarks('a', [wrist]);
    expect(marksKeptAtOnce('a')).toEqual([wrist, elbow]);
    localStorage.setItem('nudgebook-marks a', '[{"id":"prop:left wrist"}]');
    expect(marksKeptAtOnce('a')).toBeNull();
    localStorage.setItem('nudgebook-marks a', '[{"id":');
    expect(marksKeptAtOnce('a')).toBeNull();
  });
});
