import { describe, expect, it } from 'vitest';
import type { Joint } from '../../src/base/joints.ts';
import type { Off } from '../../src/compare/deviations.ts';
import { groupRuns, offRuns } from '../../src/compare/offRuns.ts';
import { poseFindings } from '../../src/compare/poseFindings.ts';

const count = 20;
const sizeMm = 250;
const exposures = Array.from({ length: count }, (_, i) => ({ firstFrame: 2 * i, frames: 2 }));
const column = (of: (i: number) => number) => Float64Array.from({ length: count }, (_, i) => of(i));

/**
 * What is told of a wrist that goes 8 mm to the right in each exposure, and lies off by so much.
 * @param placeSd what its place errs by, however well its steps are known.
 */
function told(offX: (i: number) => number, offY: (i: number) => number = () => 0, placeSd = 0.2): string[] {
  const [sd, quick] = [column(() => placeSd), column(() => 0.2)];
  const off: Off = {
    ...{ planX: column((i) => 8 * i), planY: column(() => 0) },
    ...{ x: column(offX), y: column(offY), sd, quick, stepSd: quick },
  };
  const offs = new Map<Joint, Off>([['leftWrist', off]]);
  const at = new Map([['leftWrist', { x: column((i) => 8 * i + offX(i)), y: column(offY), sd }]] as const);
  const groups = groupRuns(offRuns('leftWrist', off, sizeMm, true));
  return poseFindings(groups, offs, { count, at }, exposures, sizeMm).map((f) => `${f.kind}: ${f.sentence}`);
}

const once = (mm: number) => (i: number) => (i === 10 ? mm : 0);
describe('what is off along an arc', () => {
  it('goes back where the pose lies behind the one before', () => {
    expect(told(once(-11))).toEqual([
      'reversal: The left wrist goes back 3.0 mm at frames 21 to 22, for one pose only.',
    ]);
  });

  it('hangs back or runs ahead where it does not', () => {
    expect(told(once(-6), once(0), 3)).toEqual([
      'pop: The left wrist hangs back by 6.0 mm along its arc at frames 21 to 22, for one pose only.',
    ]);
    expect(told(once(6), once(0), 3)).toEqual([
      'pop: The left wrist runs ahead by 6.0 mm along its arc at frames 21 to 22, for one pose only.',
    ]);
  });

  it('leaves its arc where it lies beside it', () => {
    expect(told(once(0), once(-6), 3)).toEqual([
      'pop: The left wrist leaves its arc by 6.0 mm at frames 21 to 22: too high.',
    ]);
  });

  it('is behind on it, or ahead, over several poses', () => {
    const over = (mm: number) => (i: number) => (i > 6 && i < 13 ? mm : 0);
    expect(told(over(-5))).toEqual([
      'spacing: The left wrist is behind on its arc over frames 15 to 26, by 5.0 mm at frame 15.',
    ]);
    expect(told(over(5))).toEqual([
      'spacing: The left wrist is ahead on its arc over frames 15 to 26, by 5.0 mm at frame 15.',
    ]);
  });
});
