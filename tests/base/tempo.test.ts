import { expect, test } from 'vitest';
import { type FrameRate, rateLabelled } from '../../src/base/frameRate.ts';
import { beatFrames, beatsIn, framesAndEighths, framesPerBeat, tempoOfFrames } from '../../src/base/tempo.ts';

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

test('the tempo of so many frames a beat is the inverse, and film composers’ eighths are the published ones', () => {
  for (const rate of rates)
    for (const tempo of [60, 95, 112, 140])
      expect(tempoOfFrames(rate, framesPerBeat(rate, tempo))).toBeCloseTo(tempo, 9);
  const at24 = rateLabelled('24')!;
  // "24-0 = 60 beats a minute; 12-2, 12.25 frames, = 117.55" (film scoring FAQ, seen; 1440 / 12.25 = 117.551 computed).
  expect(framesAndEighths(framesPerBeat(at24, 60))).toBe('24-0');
  expect(tempoOfFrames(at24, 12.25)).toBeCloseTo(117.55, 2);
  expect(framesAndEighths(framesPerBeat(at24, 117.551))).toBe('12-2');
  expect(framesAndEighths(11.99)).toBe('12-0');
});

test('beats say which they are and when they fall, unrounded', () => {
  const beats = beatsIn({ frames: 25, seconds: 1 }, 112, 0.1, 50);
  expect(beats.map((b) => b.frame)).toEqual([3, 16, 29, 43]);
  expect(beats.map((b) => b.number)).toEqual([0, 1, 2, 3]);
  expect(beats[3]!.shotSec).toBeCloseTo(0.1 + (3 * 60) / 112, 12);
  expect(beatsIn({ frames: 24, seconds: 1 }, 120, -0.75, 30).map((b) => b.number)).toEqual([2, 3]);
});
