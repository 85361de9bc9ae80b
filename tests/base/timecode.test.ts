import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { fpsOf, frameAt, frameStartSec, framesIn, rateLabelled, shotRates } from '../../src/base/frameRate.ts';
import { feetAndFrames, timecodeOf } from '../../src/base/timecode.ts';

const rate = (label: string) => rateLabelled(label)!;

describe('frame rates', () => {
  test('the NTSC family is exact', () => {
    // SMPTE ST 12-1: 24000/1001 and 30000/1001.
    expect(fpsOf(rate('23.976'))).toBeCloseTo(23.976023976, 9);
    expect(fpsOf(rate('29.97'))).toBeCloseTo(29.97002997, 8);
  });

  test('a span has as many frames as published', () => {
    // 100 s: 2400 frames at 24, 2398 at 23.976 (bitfilms.blogspot.com, 2009, "Joys and pains of changing frame rate").
    expect(framesIn(rate('24'), 100)).toBe(2400);
    expect(framesIn(rate('23.976'), 100)).toBe(2398);
    // An hour at 29.97 is 107 892 frames (A. Duncan, "Timecodes", andrewduncan.ws), ten minutes 17 982 (jeremymoore.com).
    expect(framesIn(rate('29.97'), 3600)).toBe(107892);
    expect(framesIn(rate('29.97'), 600)).toBe(17982);
    // 7.20 s at 29.97: 215.78, so 216 ("Frames per Click", es.doczz.net).
    expect(framesIn(rate('29.97'), 7.2)).toBe(216);
    // 10 s on ones at 24 is 240 (a published table says 224, by a slip of the pen).
    expect(framesIn(rate('24'), 10)).toBe(240);
  });

  test('a frame begins where it is found, at every rate, however late', () => {
    fc.assert(
      fc.property(fc.constantFrom(...shotRates), fc.nat(3_000_000), (r, k) => {
        expect(frameAt(r, frameStartSec(r, k))).toBe(k);
      }),
    );
  });
});

describe('time code', () => {
  test('29.97 skips two numbers a minute except every tenth', () => {
    // Rollovers ;59;29 → ;00;02 and 09:59;29 → 10:00;00, and 17 982 frames in ten minutes: jeremymoore.com,
    // "DropFrameTimecode"; the other rows follow from the rule (SMPTE ST 12-1).
    const table: [number, string][] = [
      [0, '00:00:00;00'],
      [1799, '00:00:59;29'],
      [1800, '00:01:00;02'],
      [3597, '00:01:59;29'],
      [3598, '00:02:00;02'],
      [17981, '00:09:59;29'],
      [17982, '00:10:00;00'],
      [19781, '00:10:59;29'],
      [19782, '00:11:00;02'],
      [107891, '00:59:59;29'],
      [107892, '01:00:00;00'],
      [2589407, '23:59:59;29'],
    ];
    for (const [index, code] of table) expect(timecodeOf(rate('29.97'), index)).toBe(code);
  });

  test('59.94 skips four', () => {
    const ntsc60 = { frames: 60000, seconds: 1001 };
    for (const [index, code] of [
      [3599, '00:00:59;59'],
      [3600, '00:01:00;04'],
      [35964, '00:10:00;00'],
      [215784, '01:00:00;00'],
    ] as const) {
      expect(timecodeOf(ntsc60, index)).toBe(code);
    }
  });

  test('whole rates and 23.976 count straight on', () => {
    expect(timecodeOf(rate('24'), 24 * 3600 + 23)).toBe('01:00:00:23');
    expect(timecodeOf(rate('25'), 1500)).toBe('00:01:00:00');
    expect(timecodeOf(rate('30'), 108000)).toBe('01:00:00:00');
    expect(timecodeOf(rate('23.976'), 1440)).toBe('00:01:00:00');
  });

  test('no two frames of a day share a drop-frame code', () => {
    fc.assert(fc.property(fc.nat(2_589_406), (k) => timecodeOf(rate('29.97'), k) < timecodeOf(rate('29.97'), k + 1)));
  });
});

test('feet and frames are those of 35 mm film', () => {
  // "The whole scene came to 4 feet 8 frames, or 3 seconds" (Thomas & Johnston, Disney Animation); 24 fps = 90 ft a minute.
  expect(feetAndFrames(72)).toBe('4 + 08');
  expect(feetAndFrames(24 * 60)).toBe('90 + 00');
  // A sheet page of 96 frames is 6 feet (Goldberg, Character Animation Crash Course).
  expect(feetAndFrames(96)).toBe('6 + 00');
});
