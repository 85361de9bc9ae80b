import { describe, expect, it } from 'vitest';
import { add, countPlaywright, countVitest, nothing, settle, tallyLine } from '../tally.ts';

const file = (status: string, ...tests: string[]) => ({
  status,
  assertionResults: tests.map((t) => ({ status: t })),
});

describe('the last line of a test run', () => {
  it('names skipped tests only when there are any', () => {
    expect(tallyLine({ passed: 12, failed: 0, skipped: 0 })).toBe('12 passed, 0 failed');
    expect(tallyLine({ passed: 12, failed: 1, skipped: 2 })).toBe('12 passed, 1 failed, 2 skipped');
  });

  it('counts a file that could not be loaded as a failure', () => {
    const report = { testResults: [file('passed', 'passed', 'pending'), file('failed')] };
    expect(countVitest(report)).toEqual({ passed: 1, failed: 1, skipped: 1 });
  });

  it('does not count a failed test and its file twice', () => {
    expect(countVitest({ testResults: [file('failed', 'failed', 'passed')] })).toEqual({
      passed: 1,
      failed: 1,
      skipped: 0,
    });
  });

  it('counts a journey that passed only at the second try, and an error outside journeys, as failed', () => {
    const stats = { expected: 3, unexpected: 0, flaky: 1, skipped: 0 };
    expect(countPlaywright({ stats, errors: ['no server'] })).toEqual({ passed: 3, failed: 2, skipped: 0 });
  });

  it('is never green after a crash or when nothing ran', () => {
    expect(settle({ passed: 5, failed: 0, skipped: 0 }, 1).failed).toBe(1);
    expect(settle({ passed: 5, failed: 0, skipped: 0 }, null).failed).toBe(1);
    expect(settle(nothing, 0).failed).toBe(1);
    expect(settle({ passed: 5, failed: 2, skipped: 0 }, 1).failed).toBe(2);
    expect(settle({ passed: 5, failed: 0, skipped: 0 }, 0)).toEqual({ passed: 5, failed: 0, skipped: 0 });
  });

  it('adds up', () => {
    expect(add({ passed: 1, failed: 2, skipped: 3 }, { passed: 10, failed: 20, skipped: 30 })).toEqual({
      passed: 11,
      failed: 22,
      skipped: 33,
    });
  });
});
