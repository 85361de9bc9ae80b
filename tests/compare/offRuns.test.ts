import { describe, expect, it } from 'vitest';
import type { Off } from '../../src/compare/deviations.ts';
import { offRuns } from '../../src/compare/offRuns.ts';
import { gaussian, seeded } from '../make.ts';

/** A hand that rests, half a millimetre unsure, and is off to the right by so much in some exposures of 84. */
function offBy(mm: (exposure: number) => number): Off {
  const draw = gaussian(seeded(5));
  const column = (of: (i: number) => number) => Float64Array.from({ length: 84 }, (_, i) => of(i));
  const sd = column(() => 0.5);
  return {
    planX: column(() => 0),
    planY: column(() => 0),
    x: column((i) => mm(i) + 0.5 * draw()),
    y: column(() => 0.5 * draw()),
    ...{ sd, quick: sd, stepSd: null },
  };
}
/** Without the leaps at both ends of what lasts: those are told against their neighbours. */
const runs = (off: Off, isMarked: boolean) => offRuns('rightWrist', off, 250, isMarked).filter((run) => !run.isPop);

describe('a joint that is off the plan for long', () => {
  it('is told, though it is off in a quarter of the shot: what lasts does not excuse itself', () => {
    const found = runs(
      offBy((i) => (i >= 30 && i < 50 ? 40 : 0)),
      false,
    );
    expect(found).toHaveLength(1);
    expect([found[0]!.first, found[0]!.last]).toEqual([30, 49]);
  });

  it('is not, where a detector places it elsewhere again and again, or by no more than detectors do', () => {
    expect(
      runs(
        offBy((i) => (i % 20 < 6 ? 40 : 0)),
        false,
      ),
    ).toEqual([]);
    expect(
      runs(
        offBy((i) => (i >= 30 && i < 50 ? 20 : 0)),
        false,
      ),
    ).toEqual([]);
    // A joint that was marked by hand lies where it was marked.
    expect(
      runs(
        offBy((i) => (i >= 30 && i < 50 ? 20 : 0)),
        true,
      ),
    ).toHaveLength(1);
  });
});
