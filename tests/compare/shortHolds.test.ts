import { describe, expect, it } from 'vitest';
import { compareShot } from '../../src/compare/compareShot.ts';
import { longArmedPuppet, newPuppet } from '../../src/puppet/builtIn.ts';
import { laidAt, madePlan, madeShot } from './madeShots.ts';

/** Every hold that is left `cut` frames early for a key that is met in time: more than half of it, so that it hardly registers. */
const shots = ['keeper', 'sideways25', 'uneven2997', 'snap60'].flatMap((take) =>
  [newPuppet, longArmedPuppet].flatMap((puppet) => {
    const plan = madePlan(take, puppet);
    return plan.holds.flatMap((hold) => {
      const end = hold.firstFrame + hold.frames - 1;
      const key = plan.keys.find((k) => k.frameIndex > end)?.frameIndex;
      if (hold.frames < 8 || key === undefined || key - end < 5) return [];
      const cut = 2 * Math.round(0.3 * hold.frames);
      const left = end - cut;
      const at = (f: number) =>
        f < hold.firstFrame || f >= key ? f : f <= left ? f : end + ((f - left) / (key - left)) * (key - end);
      return [1, 2].map((seed) => {
        const { shot } = madeShot(laidAt(plan, at), null, { seed, noisePx: 0.5 });
        return {
          what: `${take}, the hold from ${hold.firstFrame}`,
          hold,
          cut,
          findings: compareShot(plan, shot)!.findings,
        };
      });
    });
  }),
);

describe('a hold that is left early', () => {
  it('is told with its length, also where the shot begins with it', () => {
    expect(shots.length).toBeGreaterThan(20);
    expect(shots.some(({ hold }) => hold.firstFrame === 0)).toBe(true);
    for (const { what, hold, cut, findings } of shots) {
      const told = findings.filter((f) => f.kind === 'shortHold');
      expect(told.length, what).toBe(1);
      expect(told[0]!.firstFrame, what).toBe(hold.firstFrame);
      expect(Math.abs(told[0]!.size - cut), what).toBeLessThanOrEqual(1);
    }
  });

  it('is not told once more as a key that is early: the move arrives in time', () => {
    const others = shots.flatMap(({ what, findings }) =>
      findings.filter((f) => f.kind !== 'shortHold').map((f) => `${what}: ${f.sentence}`),
    );
    expect(others).toEqual([]);
  });
});
