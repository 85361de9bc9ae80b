import { afterEach, describe, expect, it } from 'vitest';
import { keepRunAtOnce, runKeptAtOnce } from '../../src/app/check/runAtOnce.ts';

const place = { run: { joints: ['leftHip', 'nose'], at: 1 }, picture: 4, file: 'lamp_0005.png' } as const;

afterEach(() => localStorage.clear());

describe('where joints are being marked', () => {
  it('is there at once, each shot’s own, until it is over', () => {
    keepRunAtOnce('a', place);
    expect([runKeptAtOnce('a'), runKeptAtOnce('b')]).toEqual([place, null]);
    keepRunAtOnce('a', { ...place, picture: 5 });
    expect(runKeptAtOnce('a')?.picture).toBe(5);
    keepRunAtOnce('a', null);
    expect(runKeptAtOnce('a')).toBeNull();
  });

  it('is nowhere where it cannot be read', () => {
    for (const text of [
      '{',
      JSON.stringify({ ...place, run: { joints: ['leftHip', 'nose'], at: 2 } }),
      JSON.stringify({ ...place, run: { joints: ['beak'], at: 0 } }),
    ]) {
      localStorage.setItem('nudgebook-marking a', text);
      expect(runKeptAtOnce('a')).toBeNull();
    }
  });
});
