import { describe, expect, it } from 'vitest';
import type { Off } from '../../src/compare/deviations.ts';
import { stays } from '../../src/compare/stays.ts';
import { gaussian, seeded } from '../make.ts';

const sizeMm = 250;
const stepSdMm = 0.3;

/** A head that a detector places ever elsewhere, by up to 5 mm, whose steps are followed to 0.3 mm; and besides off by so much. */
function offBy(mm: (exposure: number) => number, seed = 5): Off {
  const draw = gaussian(seeded(seed));
  const column = (of: (i: number) => number) => Float64Array.from({ length: 60 }, (_, i) => of(i));
  return {
    planX: column(() => 0),
    planY: column(() => 0),
    x: column((i) => 5 * Math.sin(i / 9) + mm(i) + 0.2 * draw()),
    y: column((i) => 3 * Math.cos(i / 11) + 0.2 * draw()),
    sd: column(() => 4),
    quick: column(() => 0.3),
    stepSd: column((i) => (i === 0 ? Number.NaN : stepSdMm)),
  };
}
const held = (mm: number) => offBy((i) => (i >= 30 && i < 36 ? mm : 0));

describe('a held pose that was placed wrong', () => {
  it('is told with its ends, though the detector errs by as much anyway', () => {
    const found = stays('nose', held(6), sizeMm);
    expect(found.map((run) => [run.first, run.last, run.isSteady])).toEqual([[30, 35, true]]);
    expect(found[0]!.x).toBeGreaterThan(5);
    expect(found[0]!.x).toBeLessThan(7);
    expect(Math.abs(found[0]!.y)).toBeLessThan(0.7);
  });

  it('is not where it is off by hardly more than eyes see', () => {
    // However sure that is.
    const quick = new Float64Array(60).fill(0.1);
    expect(stays('nose', { ...held(2.3), quick }, sizeMm)).toEqual([]);
    expect(stays('nose', { ...held(4), quick }, sizeMm)).toHaveLength(1);
  });

  it('is not where nothing is wrong, in a hundred shots', () => {
    for (let seed = 1; seed <= 100; seed++)
      expect(
        stays(
          'nose',
          offBy(() => 0, seed),
          sizeMm,
        ),
      ).toEqual([]);
  });

  it('is not where it goes off and comes back by and by, nor where it does not come back', () => {
    const tent = offBy((i) => Math.max(0, 6 - Math.abs(i - 33)));
    expect(stays('nose', tent, sizeMm)).toEqual([]);
    const gone = offBy((i) => (i >= 30 ? 6 : 0));
    expect(stays('nose', gone, sizeMm)).toEqual([]);
    const on = offBy((i) => (i >= 36 ? 12 : i >= 30 ? 6 : 0));
    expect(stays('nose', on, sizeMm)).toEqual([]);
  });

  it('is not where it goes on meanwhile, though it leaps off and back', () => {
    const swings = offBy((i) => (i >= 30 && i <= 45 ? 6 + 8 * Math.sin((Math.PI * (i - 30)) / 15) : 0));
    expect(stays('nose', swings, sizeMm)).toEqual([]);
  });

  it('is not told where nobody followed the steps, or a move of a hundred times as much is taken', () => {
    expect(stays('nose', { ...held(6), stepSd: null }, sizeMm)).toEqual([]);
    const flung = { ...held(6), planX: Float64Array.from({ length: 60 }, (_, i) => 600 * i) };
    expect(stays('nose', flung, sizeMm)).toEqual([]);
  });
});
