import { describe, expect, it } from 'vitest';
import { bigHeadedPuppet, longArmedPuppet, realisticPuppet } from '../../src/puppet/builtIn.ts';
import type { PuppetProfile } from '../../src/puppet/profile.ts';
import type { PuppetMotion, StepPlan } from '../../src/puppet/puppetMotion.ts';
import { retarget } from '../../src/puppet/retarget.ts';
import { walkWords } from '../../src/puppet/steps.ts';
import { trueTake } from './truthMotion.ts';

/** Somebody walks in from the left with five steps and stops. */
function walkOn(puppet: PuppetProfile, steps: StepPlan): PuppetMotion {
  const take = trueTake('enters');
  const motion = take.at(Float64Array.from({ length: Math.round(take.durationSec * 24) }, (_, k) => k / 24));
  return retarget(motion, { heightPx: take.heightPx, lengths: null }, puppet, {
    fps: 24,
    steps,
    handContacts: [],
    tail: null,
  });
}

/** Landings within the walk: frames at which a foot that did not stand begins to. */
function landings({ planted, walks }: PuppetMotion): number {
  const { firstFrame, frames } = walks[0]!;
  const stands = (side: string, k: number) =>
    planted.some((p) => p.side === side && k >= p.firstFrame && k < p.firstFrame + p.frames);
  let count = 0;
  for (let k = firstFrame + 1; k <= firstFrame + frames; k++)
    for (const side of ['left', 'right']) if (stands(side, k) && !stands(side, k - 1)) count++;
  return count;
}

const way = ({ paths, walks }: PuppetMotion) => {
  const { xMm } = paths.get('pelvis')!;
  const { firstFrame, frames } = walks[0]!;
  return xMm[firstFrame + frames]! - xMm[firstFrame]!;
};

describe('steps on legs of another length', () => {
  it('are as many as the performer’s and shorter, unless the same ground is asked for: then there are more, in the same frames', () => {
    const same = walkOn(bigHeadedPuppet, 'sameSteps');
    const [walk] = same.walks;
    expect(same.walks).toHaveLength(1);
    expect(walk).toMatchObject({ steps: 5, stepsForGround: 9 });
    expect(landings(same)).toBe(5);
    expect(way(same)).toBeGreaterThan(0.9 * 5 * walk!.stepMm);
    expect(way(same)).toBeLessThan(1.15 * 5 * walk!.stepMm);

    const more = walkOn(bigHeadedPuppet, 'sameGround');
    expect(landings(more)).toBe(9);
    // Neither 9 steps nor 5 go just as far by themselves: strides make it up.
    for (const made of [more, walkOn(longArmedPuppet, 'sameGround'), walkOn(realisticPuppet, 'sameGround')])
      expect(Math.abs(way(made) / made.walks[0]!.groundMm - 1)).toBeLessThan(0.015);
    // Before the walk and long after it the poses are the same.
    for (const joint of ['leftWrist', 'nose', 'rightKnee'] as const)
      for (const k of [0, 95]) {
        const [a, b] = [same, more].map(({ paths }) => {
          const [p, root] = [paths.get(joint)!, paths.get('pelvis')!];
          return [p.xMm[k]! - root.xMm[k]!, p.yMm[k]! - root.yMm[k]!];
        }) as [number[], number[]];
        expect(a[0]).toBeCloseTo(b[0]!, 0);
        expect(a[1]).toBeCloseTo(b[1]!, 0);
      }
  });

  it('land in turn, and what stands does not move by a hair with more of them either', () => {
    const more = walkOn(bigHeadedPuppet, 'sameGround');
    for (const p of more.planted) {
      const path = more.paths.get(`${p.side}${{ foot: 'Ankle', heel: 'Heel', toe: 'Toe' }[p.on]}` as 'leftAnkle')!;
      for (let k = p.firstFrame; k < p.firstFrame + p.frames; k++)
        expect([path.xMm[k], path.yMm[k]]).toEqual([p.xMm, p.yMm]);
    }
    const first = more.planted.filter(
      (p, i) =>
        more.planted.findIndex((q) => q.side === p.side && q.firstFrame + q.frames === p.firstFrame) < 0 && i > 1,
    );
    for (let i = 1; i < first.length; i++) expect(first[i]!.side).not.toBe(first[i - 1]!.side);
  });

  it('are the performer’s on legs like theirs, and are told in a sentence', () => {
    const own = walkOn(realisticPuppet, 'sameGround');
    expect(landings(own)).toBe(5);
    expect(walkWords(own.walks[0]!, own.legRatio, true)).toMatch(
      /5 steps of \d+ mm, 10\.6 frames each\. The same ground takes as many\./,
    );
    const small = walkOn(bigHeadedPuppet, 'sameSteps');
    expect(walkWords(small.walks[0]!, small.legRatio, false)).toMatch(
      /0\.58 of the performer’s: the same ground would take 9 steps, 5\.9 frames each\./,
    );
  });
});
