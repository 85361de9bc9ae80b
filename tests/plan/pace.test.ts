import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { paceOf } from '../../src/plan/pace.ts';
import type { TakenExposure } from '../../src/project/shooting.ts';

/** A log whose marks are so many minutes apart; the first at minute 0. */
function logOf(minutes: readonly number[], held: readonly number[] = []): TakenExposure[] {
  let atMs = Date.UTC(2031, 2, 4, 9);
  return [0, ...minutes].map((m, i) => {
    atMs += m * 60_000;
    return { firstFrame: 2 * i, frames: 2, takeSec: i / 12, isHeld: held.includes(i), atMs };
  });
}

describe('the pace', () => {
  it('is the book’s until three intervals are known, then their median', () => {
    expect(paceOf([], 10)).toEqual({ minutes: 10, intervals: 0 });
    expect(paceOf(logOf([4, 6]), 10)).toEqual({ minutes: 10, intervals: 0 });
    expect(paceOf(logOf([4, 7, 6]), 10)).toEqual({ minutes: 6, intervals: 3 });
    expect(paceOf(logOf([4, 7, 6, 5]), 10)).toEqual({ minutes: 5.5, intervals: 4 });
  });

  it('leaves out lunch, the night and the phone, but no hard pose', () => {
    // 24 is three times the usual 8 and counts; an hour and fifteen hours are breaks.
    expect(paceOf(logOf([8, 9, 60, 8, 24, 7, 900, 8]), 10)).toEqual({ minutes: 8, intervals: 6 });
    // Whoever is quick has had no break under five minutes.
    expect(paceOf(logOf([1, 1, 4.5, 4.5, 1]), 10)).toEqual({ minutes: 1, intervals: 5 });
    expect(paceOf(logOf([1, 1, 5.5, 1]), 10)).toEqual({ minutes: 1, intervals: 3 });
  });

  it('leaves out held exposures and marks pressed to catch up', () => {
    expect(paceOf(logOf([8, 0.1, 0.1, 0.1, 9, 10], [2, 3, 4]), 10)).toEqual({ minutes: 9, intervals: 3 });
    expect(paceOf(logOf([8, 0.01, 0.01, 9, 10]), 10)).toEqual({ minutes: 9, intervals: 3 });
  });

  it('is that of the newest fifteen', () => {
    const slow = new Array<number>(40).fill(20);
    const quick = new Array<number>(15).fill(7);
    expect(paceOf(logOf([...slow, ...quick]), 10)).toEqual({ minutes: 7, intervals: 15 });
  });

  it('survives a clock that was set back, and is always a time', () => {
    expect(paceOf(logOf([5, -600, 5, 5]), 10)).toEqual({ minutes: 5, intervals: 3 });
    fc.assert(
      fc.property(fc.array(fc.double({ min: -1e4, max: 1e4, noNaN: true }), { maxLength: 40 }), (minutes) => {
        const { minutes: pace, intervals } = paceOf(logOf(minutes), 10);
        return pace > 0 && Number.isFinite(pace) && intervals <= 15;
      }),
    );
  });
});
