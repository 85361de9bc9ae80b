import { describe, expect, it } from 'vitest';
import { compareShot } from '../../src/compare/compareShot.ts';
import { fitRamp } from '../../src/compare/ramp.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import { gaussian, seeded } from '../make.ts';
import { madePlan, madeShot } from './madeShots.ts';

/** A shot of a take gone through so many times, with all that errors of a detector make work of. */
function shotOf(times: number) {
  const plan = madePlan('keeper', newPuppet, 2, times);
  return { plan, ...madeShot(plan, 'offPose', { seed: 4, noisePx: 2 }) };
}

describe('a long shot', () => {
  const long = shotOf(8);

  it('is held against its plan as a short one is, though the feet stand all the while', () => {
    expect(long.plan.exposures.length).toBeGreaterThan(600);
    const { findings } = compareShot(long.plan, long.shot)!;
    expect(findings.some((f) => Math.abs(f.atFrame - long.made!.firstFrame) <= 4)).toBe(true);
  });

  it('takes hardly longer for an exposure than a short one', () => {
    const short = shotOf(2);
    expect(long.plan.exposures.length / short.plan.exposures.length).toBeCloseTo(4, 0);
    const timed = (of: typeof short) => {
      const start = performance.now();
      compareShot(of.plan, of.shot);
      return performance.now() - start;
    };
    timed(short);
    // In turns, and the least of several: what the machine does besides only ever adds.
    const both = [1, 2, 3].map(() => [timed(short), timed(long)] as const);
    const [quick, slow] = [0, 1].map((k) => Math.min(...both.map((pair) => pair[k]!)));
    expect(slow! / quick!).toBeLessThan(6);
  });
});

describe('fitRamp', () => {
  /** As it is meant: every beginning and end is tried, each with the plain sums of least squares. */
  function plainly(x: readonly number[], y: readonly number[], isPush: boolean) {
    const mean = (of: readonly number[]) => of.reduce((a, b) => a + b, 0) / of.length;
    const about = (of: readonly number[]) => of.reduce((sum, v) => sum + (v - mean(of)) ** 2, 0);
    const ramps = x.flatMap((_, from) =>
      x.flatMap((_, to) => {
        if (to <= from) return [];
        const r = x.map((_, i) => Math.min(1, Math.max(0, (i - from) / (to - from))));
        const along = (of: readonly number[]) => of.reduce((sum, v, i) => sum + v * (r[i]! - mean(r)), 0);
        const [cx, cy] = [along(x), along(y)];
        const explained = (cx * cx + cy * cy) / about(r) / (about(x) + about(y));
        return [{ from, to, x: cx / about(r), y: cy / about(r), explained }];
      }),
    );
    const most = Math.max(...ramps.map((r) => r.explained));
    const good = ramps.filter((r) => 1 - r.explained <= 1 - most + Math.max(1e-9, isPush ? 0.7 * (1 - most) : 0));
    return good.sort((a, b) => a.to - a.from - (b.to - b.from) || b.explained - a.explained)[0]!;
  }

  it('is the very ramp that trying them all gives', () => {
    const random = seeded(5);
    const draw = gaussian(random);
    for (let k = 0; k < 60; k++) {
      const n = 4 + Math.floor(random() * 24);
      const [from, long, size] = [Math.floor(random() * n), 1 + Math.floor(random() * 6), 6 * random()];
      const x = Array.from({ length: n }, (_, i) => 300 + draw() + size * Math.min(1, Math.max(0, (i - from) / long)));
      const y = Array.from({ length: n }, () => 100 + draw());
      for (const isPush of [true, false]) {
        const [fit, plain] = [fitRamp(x, y, isPush)!, plainly(x, y, isPush)];
        expect([fit.from, fit.to]).toEqual([plain.from, plain.to]);
        for (const of of ['x', 'y', 'explained'] as const) expect(fit[of]).toBeCloseTo(plain[of], 9);
      }
    }
  });

  it('is there where nothing moves', () => {
    expect(fitRamp([3, 3, 3, 3, 3], [1, 1, 1, 1, 1], true)).toMatchObject({ x: 0, y: 0, explained: 0 });
  });
});
