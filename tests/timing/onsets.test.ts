import { describe, expect, it } from 'vitest';
import { findOnsets } from '../../src/timing/onsets.ts';
import { burst, click, type Laid, mix, soundtrackOf, tone } from '../madeSound.ts';

const times = [0.31, 0.8023, 1.207, 1.75, 2.4111, 2.9];
const lay = (make: (i: number) => Float32Array): Laid[] => times.map((atSec, i) => ({ atSec, samples: make(i) }));

/** Each known beginning is found within 10 ms, and nothing else is. */
function expectTimes(laid: readonly Laid[], noise: number): void {
  const found = findOnsets(soundtrackOf(mix(3.6, laid, noise)));
  expect(found.map((o) => o.takeSec.toFixed(2))).toHaveLength(laid.length);
  for (const [i, { atSec }] of laid.entries()) {
    expect(Math.abs(found[i]!.takeSec - atSec)).toBeLessThan(0.01);
  }
}

describe('findOnsets', () => {
  it('finds clicks in silence and in noise', () => {
    expectTimes(
      lay(() => click()),
      0,
    );
    expectTimes(
      lay(() => click()),
      0.003,
    );
  });
  it('finds tones of several pitches, with soft attacks, in noise', () => {
    expectTimes(
      lay((i) => tone([220, 440, 880, 1760, 330, 2500][i]!, 0.3)),
      0.003,
    );
    expectTimes(
      lay((i) => tone([220, 440, 880, 1760, 330, 2500][i]!, 0.3, 0.03)),
      0.003,
    );
  });
  it('finds bursts of noise in fainter noise', () => {
    expectTimes(
      lay((i) => burst(0.2, 0.5, i + 7)),
      0.005,
    );
  });
  it('finds sounds of very different loudness', () => {
    expectTimes(
      lay((i) => tone(600, 0.3, 0.002, [0.9, 0.1, 0.5, 0.08, 0.3, 0.7][i]!)),
      0.001,
    );
  });
  it('finds a tone that begins while a louder one still sounds', () => {
    const laid = [
      { atSec: 0.5, samples: tone(300, 2.5, 0.002, 0.6) },
      { atSec: 1.4, samples: tone(1900, 0.4, 0.002, 0.2) },
    ];
    expectTimes(laid, 0.001);
  });
  it('does not take the end of a sound for a beginning', () => {
    const held = Float32Array.from({ length: 24000 }, (_, i) => 0.5 * Math.sin(i * 0.13));
    expectTimes([{ atSec: 0.5, samples: held }], 0);
    expectTimes([{ atSec: 0.5, samples: held }], 0.002);
  });
  it('hears two knocks 80 ms apart as two, two clicks 20 ms apart as one', () => {
    const knocks = [0.5, 0.58].map((atSec) => ({ atSec, samples: burst(0.04, 0.6, 3) }));
    expect(findOnsets(soundtrackOf(mix(1.5, knocks, 0.001)))).toHaveLength(2);
    const clicks = [0.5, 0.52].map((atSec) => ({ atSec, samples: click() }));
    expect(findOnsets(soundtrackOf(mix(1.5, clicks, 0.001)))).toHaveLength(1);
  });
  it('finds nothing in silence, in steady noise, or in a steady tone', () => {
    expect(findOnsets(soundtrackOf(mix(3, [])))).toEqual([]);
    for (let seed = 1; seed < 41; seed++) expect(findOnsets(soundtrackOf(mix(4, [], 0.02, seed)))).toEqual([]);
    const steady = Float32Array.from({ length: 144000 }, (_, i) => 0.4 * Math.sin(i * 0.05));
    expect(findOnsets(soundtrackOf(steady)).filter((o) => o.takeSec > 0.05)).toEqual([]);
  });
});
