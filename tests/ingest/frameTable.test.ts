import { describe, expect, it } from 'vitest';
import {
  clock,
  endOf,
  frameTableOf,
  notesOnTimes,
  pictureShownAt,
  pictureStamped,
  rhythmOf,
} from '../../src/ingest/frameTable.ts';

const stored = (...stamps: number[]) => stamps.map((stampSec) => ({ stampSec, durationSec: 0.04 }));

describe('frameTableOf', () => {
  it('sorts, drops what an edit list cut away, and keeps one picture per time', () => {
    expect([...frameTableOf(stored(0.08, -0.04, 0, 0.04, 0.08)).stampsSec]).toEqual([0, 0.04, 0.08]);
  });

  it('keeps a picture a hair below zero', () => {
    expect(frameTableOf(stored(-1e-9, 0.04)).stampsSec.length).toBe(2);
  });
});

describe('rhythmOf', () => {
  it('takes milliseconds of WebM at 30 fps for steady', () => {
    const times = Float64Array.from({ length: 90 }, (_, i) => Math.round((i * 1000) / 30) / 1000);
    expect(rhythmOf(times, 0.001).varies).toBe(false);
  });

  it('does not take one dropped picture for steady', () => {
    const times = Float64Array.from([0, 1, 2, 4, 5, 6].map((i) => i / 30));
    expect(rhythmOf(times, 1 / 15360).varies).toBe(true);
  });

  it('has no median for a lone picture', () => {
    expect(rhythmOf(Float64Array.of(0), 0.001).medianSec).toBeNaN();
  });
});

describe('notesOnTimes', () => {
  it('names a hole by its pictures and times, and does not call the rest uneven', () => {
    const times = Float64Array.from([0, 1, 2, 12, 13].map((i) => i / 25));
    const notes = notesOnTimes(times, rhythmOf(times, 1e-4));
    expect(notes.map((n) => [n.code, n.firstPicture, n.lastPicture])).toEqual([['gap', 2, 3]]);
    expect(notes[0]!.sentence).toContain('pictures 3 and 4 the camera skipped 0.40 s (0:00.08–0:00.48)');
  });

  it('says nothing of a steady take', () => {
    const times = Float64Array.from({ length: 10 }, (_, i) => i / 24);
    expect(notesOnTimes(times, rhythmOf(times, 1e-4))).toEqual([]);
  });
});

describe('looking up', () => {
  const times = Float64Array.of(0, 0.04, 0.08);
  it('finds a picture by its stamp, within a tolerance', () => {
    expect(pictureStamped(times, 0.0400004, 1e-5)).toBe(1);
    expect(pictureStamped(times, 0.05, 1e-5)).toBe(-1);
    expect(pictureStamped(times, 0.09, 0.02)).toBe(2);
    expect(pictureStamped(new Float64Array(0), 0, 1)).toBe(-1);
  });

  it('shows a picture until the next one begins, also after rounding', () => {
    expect([-1, 0, 0.0399, 0.04 - 1e-9, 0.04, 9].map((t) => pictureShownAt(times, t))).toEqual([0, 0, 0, 1, 1, 2]);
    expect(pictureShownAt(new Float64Array(0), 0)).toBe(-1);
  });

  it('ends a take by its last duration, else by the median', () => {
    expect(endOf(times, 0.05, 0.04)).toBeCloseTo(0.13);
    expect(endOf(times, 0, 0.04)).toBeCloseTo(0.12);
  });
});

it('clock carries seconds into minutes', () => {
  expect([0, 1.374, 59.999, 61.5].map(clock)).toEqual(['0:00.00', '0:01.37', '1:00.00', '1:01.50']);
});
