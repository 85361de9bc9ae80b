import { expect, test } from 'vitest';
import { type FrameRate, rateLabelled } from '../../src/base/frameRate.ts';
import { beatFrames, framesPerBeat } from '../../src/base/tempo.ts';

const rates = ['23.976', '24', '25', '29.97', '30'].map((label): FrameRate => rateLabelled(label)!);

test('frames per beat are those of the published constants', () => {
  // 1438.56, 1440, 1500, 1798.2 and 1800 divided by the tempo ("Frames per Click", es.doczz.net/doc/5315578).
  const constants = [1438.56, 1440, 1500, 1798.2, 1800];
  rates.forEach((rate, i) => {
    for (const tempo of [60, 72, 112, 120, 180])
      expect(framesPerBeat(rate, tempo)).toBeCloseTo(constants[i]! / tempo, 3);
  });
});

test('single published tempos come out', () => {
  const [, at24, , at2997, at30] = rates as [FrameRate, FrameRate, FrameRate, FrameRate, FrameRate];
  // 15 frames a beat at 30 is 120, 16 is 112.5 (tohoscoped.blogspot.com, 2011); 95 at 29.97 is 18.92 ("Frames per Click").
  expect(framesPerBeat(at30, 120)).toBeCloseTo(15, 12);
  expect(framesPerBeat(at30, 112.5)).toBeCloseTo(16, 12);
  expect(framesPerBeat(at2997, 95)).toBeCloseTo(18.93, 2);
  // 120 steps a minute is the walk on a 12-frame beat (P. Blair by angryanimator.com, 2018).
  expect(framesPerBeat(at24, 120)).toBe(12);
});

test('beats are rounded from their own time, so that no rounding adds up', () => {
  // 13.3929 frames a beat; rounding a beat to 13.25 first, as a student's published sheet did, is a frame off by beat 4.
  expect(beatFrames({ frames: 25, seconds: 1 }, 112, 0, 108)).toEqual([0, 13, 27, 40, 54, 67, 80, 94, 107]);
  expect(beatFrames({ frames: 24, seconds: 1 }, 140, 0, 83)).toEqual([0, 10, 21, 31, 41, 51, 62, 72, 82]);
});

test('beats before the shot are left out and the count goes on', () => {
  expect(beatFrames({ frames: 24, seconds: 1 }, 120, -0.75, 30)).toEqual([6, 18]);
});
