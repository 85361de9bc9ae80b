import { describe, expect, it } from 'vitest';
import {
  askedJoint,
  askWords,
  backInRun,
  type MarkingRun,
  onInRun,
  runOver,
  sideWords,
} from '../../src/app/check/markingRun.ts';

describe('a run of marking', () => {
  it('asks for one joint after the other, and ends after the last', () => {
    const asked: string[] = [];
    let run: MarkingRun | null = runOver(['leftWrist', 'rightWrist', 'nose']);
    for (; run; run = onInRun(run)) asked.push(askWords(run).replaceAll('\u00a0', ' '));
    expect(asked).toEqual(['Press the left wrist: 1 of 3', 'Press the right wrist: 2 of 3', 'Press the nose: 3 of 3']);
    expect(runOver([])).toBeNull();
    expect(askWords(runOver(['leftKnee'])!)).toBe('Press the left knee');
  });

  it('goes one step back, not before the first', () => {
    const run = onInRun(runOver(['leftWrist', 'nose'])!)!;
    expect(askedJoint(run)).toBe('nose');
    expect(askedJoint(backInRun(run))).toBe('leftWrist');
    expect(askedJoint(backInRun(backInRun(run)))).toBe('leftWrist');
  });

  it('means the puppet’s own sides, and says so', () => {
    expect(sideWords('leftWrist', false)).toBe('The puppet’s own left.');
    expect(sideWords('rightKnee', true)).toBe('The puppet’s own right, though the picture is mirrored.');
    expect(sideWords('nose', true)).toBe('');
  });
});
