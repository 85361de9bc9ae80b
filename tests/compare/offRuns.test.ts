import { describe, expect, it } from 'vitest';
import type { Joint } from '../../src/base/joints.ts';
import type { Off } from '../../src/compare/deviations.ts';
import { groupRuns, type OffRun, offRuns } from '../../src/compare/offRuns.ts';
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
/** Those that are off the plan, not only their neighbours. */
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

describe('a joint that is nearly lost', () => {
  /** Off by 8 mm in two exposures, in the second of which it is so unsure. */
  const beside = (sdMm: number) => {
    const off = offBy((i) => (i === 40 || i === 41 ? 8 : 0));
    return { ...off, sd: off.sd.map((sd, i) => (i === 41 ? sdMm : sd)) };
  };

  it('is no surer in the pose before', () => {
    expect(runs(beside(0.5), true).map((run) => run.first)).toEqual([40]);
    expect(runs(beside(8), true)).toEqual([]);
  });
});

describe('a pose that pops', () => {
  /** Of a joint of which only its steps were followed. */
  const pops = (mm: (exposure: number) => number) => {
    const { sd, ...off } = offBy(mm);
    const found = offRuns('rightWrist', { ...off, sd: sd.map(() => Number.POSITIVE_INFINITY), stepSd: sd }, 250, false);
    return found.map((run) => run.first);
  };

  it('leaves its neighbours on both sides, though where the joint lies is not known', () => {
    expect(pops((i) => (i === 40 ? 9 : 0))).toEqual([40]);
    expect(pops((i) => (i === 40 ? 9 : i > 40 && i < 44 ? 4 : 0))).toEqual([40]);
  });

  it('is none where the joint leaps and stays there', () => {
    expect(pops((i) => (i >= 40 ? 9 : 0))).toEqual([]);
    expect(pops((i) => (i >= 40 ? 9 : i === 39 ? 1 : 0))).toEqual([]);
  });
});

describe('joints that are off in the same pose', () => {
  const run = (joint: Joint, x: number, y: number, worst = 7): OffRun => {
    const [first, last] = [worst, worst];
    return { joint, first, last, worst, x, y, size: Math.hypot(x, y), sd: 0.5, isPop: true };
  };
  const groupsOf = (...all: OffRun[]) => groupRuns(all).map((group) => group.all.map((r) => r.joint));

  it('are one thing where they went the same way, though what lies between them is not known to have', () => {
    expect(groupsOf(run('nose', 6, 1), run('leftWrist', 5.5, 0.6))).toEqual([['nose', 'leftWrist']]);
  });

  it('are two where they did not, or not at once', () => {
    expect(groupsOf(run('nose', 6, 1), run('leftWrist', -6, 1))).toHaveLength(2);
    expect(groupsOf(run('nose', 6, 1), run('leftWrist', 6, 1, 9))).toHaveLength(2);
    // Unsure ones agree with anything: they must be nearly alike, too.
    const unsure = { ...run('leftWrist', -5, 4), sd: 9 };
    expect(groupsOf(run('nose', 6, 1), unsure)).toHaveLength(2);
  });
});
