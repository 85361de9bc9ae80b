import { describe, expect, it } from 'vitest';
import type { Joint } from '../../src/base/joints.ts';
import { setSpacings } from '../../src/plan/setSpacing.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import { puppetOfHeight } from '../../src/puppet/profile.ts';
import { type MadeShot, madePlan, twelveParts } from '../plan/madeTiming.ts';

const shots: readonly MadeShot[] = [
  {},
  { on: 1, frameCount: 97 },
  { on: 3, rate: { frames: 25, seconds: 1 }, frameCount: 140, book: { puppet: puppetOfHeight(newPuppet, 900) } },
  { book: { puppet: { ...newPuppet, sizes: { ...newPuppet.sizes, upperArmMm: 90, forearmMm: 20, thighMm: 30 } } } },
];
const planOf = (shot: MadeShot) => madePlan({ ...shot, book: { sheetJoints: twelveParts, ...shot.book } });

describe('spacing on the set', () => {
  it.each(shots)('has steps that add up to the way through the puppet’s places, shot %#', (shot) => {
    const plan = planOf(shot);
    const spacings = setSpacings(plan);
    expect(spacings.length).toBeGreaterThan(5);
    for (const { part, chart, steps, length } of spacings) {
      const { xMm, yMm } = plan.puppet.paths.get(part as Joint)!;
      const shown = plan.timing.exposures
        .map((e) => e.firstFrame)
        .filter((f) => f >= chart.frames.firstFrame && f <= chart.frames.lastFrame);
      expect(steps.map((s) => s.frame)).toEqual(shown.slice(1));
      const between = shown.slice(1).map((f, i) => Math.hypot(xMm[f]! - xMm[shown[i]!]!, yMm[f]! - yMm[shown[i]!]!));
      const way = between.reduce((sum, mm) => sum + mm, 0);
      // To the tenth that is printed, however many steps there are.
      expect(Math.abs(length - way)).toBeLessThan(0.05 + 1e-9);
      expect(steps.reduce((sum, s) => sum + s.amount, 0)).toBeCloseTo(length, 9);
      for (const [i, s] of steps.entries()) expect(Math.abs(s.amount - between[i]!)).toBeLessThan(0.1 + 1e-9);
    }
  });

  it('doubles with the puppet’s sizes', () => {
    const once = setSpacings(planOf({ book: { puppet: puppetOfHeight(newPuppet, 250) } }));
    const twice = setSpacings(planOf({ book: { puppet: puppetOfHeight(newPuppet, 500) } }));
    expect(once.length).toBeGreaterThan(5);
    for (const { part, chart, steps, length } of once) {
      const larger = twice.find((s) => s.part === part && s.chart.frames.firstFrame === chart.frames.firstFrame)!;
      expect(larger.chart.lengthMm / chart.lengthMm).toBeCloseTo(2, 6);
      expect(Math.abs(larger.length - 2 * length)).toBeLessThan(0.16);
      for (const [i, step] of steps.entries())
        expect(Math.abs(larger.steps[i]!.amount - 2 * step.amount)).toBeLessThan(0.31);
    }
  });

  it('is the puppet’s: another arm on the same performer has other steps', () => {
    const arm = {
      ...newPuppet.sizes,
      upperArmMm: 2 * newPuppet.sizes.upperArmMm,
      forearmMm: 2 * newPuppet.sizes.forearmMm,
    };
    const wrist = (sizes: typeof arm) => {
      const all = setSpacings(planOf({ book: { puppet: { ...newPuppet, sizes } } }));
      return all.filter((s) => s.part === 'rightWrist').reduce((sum, s) => sum + s.length, 0);
    };
    expect(wrist(arm) / wrist(newPuppet.sizes)).toBeGreaterThan(1.3);
  });

  it('has none for a foot that stands', () => {
    const plan = planOf({});
    const stands = plan.puppet.planted.filter((p) => p.on === 'foot');
    expect(stands.length).toBeGreaterThan(0);
    for (const { side, firstFrame, frames } of stands) {
      const { xMm, yMm } = plan.puppet.paths.get(`${side}Ankle`)!;
      for (let k = firstFrame + 1; k < firstFrame + frames; k++)
        expect(Math.hypot(xMm[k]! - xMm[k - 1]!, yMm[k]! - yMm[k - 1]!)).toBeLessThan(1e-9);
    }
    expect(setSpacings(plan).filter((s) => s.part.endsWith('Ankle'))).toEqual([]);
  });
});
