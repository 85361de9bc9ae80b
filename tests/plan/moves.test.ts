import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { roundAngles } from '../../src/plan/angles.ts';
import { clockHour, directionOf, planMoves, printedStepMm, roundPath } from '../../src/plan/moves.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import { puppetOfHeight } from '../../src/puppet/profile.ts';
import { retarget } from '../../src/puppet/retarget.ts';
import { madePlan, madeTiming } from './madeTiming.ts';

const still = (n: number): boolean[] => new Array<boolean>(n).fill(false);

describe('directions', () => {
  it('are clockwise from up, on a picture whose y points down', () => {
    expect([directionOf(0, -5), directionOf(5, 0), directionOf(0, 5), directionOf(-5, 0)]).toEqual([0, 90, 180, 270]);
    expect(directionOf(0, 0)).toBeNaN();
  });

  it('read as hours of a clock face', () => {
    expect([0, 14, 16, 90, 180, 271, 346].map(clockHour)).toEqual([12, 12, 1, 3, 6, 9, 12]);
  });
});

describe('printedStepMm', () => {
  it('is what a ruler shows and never finer than the hand', () => {
    expect([0.05, 0.1, 0.3, 0.5, 0.6, 1.2, 9].map(printedStepMm)).toEqual([0.1, 0.1, 0.5, 0.5, 1, 2, 9]);
  });
});

describe('roundPath', () => {
  it('keeps the sum of a move right to half a step, whatever its shape, over 1,000 random moves', () => {
    const move = fc.array(
      fc.record({ mm: fc.double({ min: 0.5, max: 40, noNaN: true }), deg: fc.integer({ min: 0, max: 359 }) }),
      {
        minLength: 1,
        maxLength: 60,
      },
    );
    fc.assert(
      fc.property(move, (steps) => {
        const x = [0];
        const y = [0];
        for (const s of steps) {
          x.push(x.at(-1)! + s.mm * Math.cos((s.deg * Math.PI) / 180));
          y.push(y.at(-1)! + s.mm * Math.sin((s.deg * Math.PI) / 180));
        }
        const rounded = roundPath(x, y, still(x.length), 0.5).slice(1);
        let owed = 0;
        for (const [i, r] of rounded.entries()) {
          owed += steps[i]!.mm - r.roundedMm;
          expect(Math.abs(owed)).toBeLessThanOrEqual(0.25 + 1e-6);
          expect(Math.abs(r.roundedMm * 2 - Math.round(r.roundedMm * 2))).toBeLessThan(1e-9);
        }
      }),
      { numRuns: 1000 },
    );
  });

  it('keeps a straight move of any step size right to half a step', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: 0, max: 3, noNaN: true }), { minLength: 1, maxLength: 80 }), (mm) => {
        const x = [0];
        for (const d of mm) x.push(x.at(-1)! + d);
        const rounded = roundPath(
          x,
          x.map(() => 0),
          still(x.length),
          0.5,
        ).slice(1);
        const sum = rounded.reduce((s, r) => s + r.roundedMm, 0);
        expect(Math.abs(sum - x.at(-1)!)).toBeLessThanOrEqual(0.25 + 1e-6);
      }),
      { numRuns: 1000 },
    );
  });

  it('keeps an arc right to half a step, eased in and out over steps that are far too small to place', () => {
    const arc = fc.record({
      radiusMm: fc.double({ min: 3, max: 120, noNaN: true }),
      turnDeg: fc.double({ min: 15, max: 170, noNaN: true }),
      exposures: fc.integer({ min: 3, max: 120 }),
    });
    fc.assert(
      fc.property(arc, ({ radiusMm, turnDeg, exposures }) => {
        const at = Array.from({ length: exposures + 1 }, (_, i) => {
          const u = i / exposures;
          return ((turnDeg * Math.PI) / 180) * u ** 3 * (10 - 15 * u + 6 * u * u);
        });
        const [x, y] = [at.map((a) => radiusMm * Math.cos(a)), at.map((a) => radiusMm * Math.sin(a))];
        const rounded = roundPath(x, y, still(x.length), 0.5).slice(1);
        let owed = 0;
        for (const [i, r] of rounded.entries()) {
          owed += Math.hypot(x[i + 1]! - x[i]!, y[i + 1]! - y[i]!) - r.roundedMm;
          expect(Math.abs(owed)).toBeLessThanOrEqual(0.25 + 1e-6);
        }
      }),
      { numRuns: 1000 },
    );
  });

  it('leaves a joint alone that only trembles', () => {
    const x = Array.from({ length: 200 }, (_, i) => (i % 2 ? 0.1 : -0.1));
    const sum = roundPath(
      x,
      x.map(() => 0),
      still(200),
      0.5,
    )
      .slice(1)
      .reduce((s, r) => s + r.roundedMm, 0);
    expect(sum).toBe(0);
  });

  it('touches nothing in a hold and makes up for its drift at the next move', () => {
    const x = [0, 0.2, 0.4, 0.6, 0.8, 5];
    const placed = roundPath(
      x,
      x.map(() => 0),
      [false, true, true, true, true, false],
      0.5,
    );
    expect(placed.slice(1).map((p) => p.roundedMm)).toEqual([0, 0, 0, 0, 5]);
  });

  it('says nothing where the joint is unknown, and starts anew after it', () => {
    const placed = roundPath([0, 3, Number.NaN, 10, 12], [0, 0, Number.NaN, 0, 0], still(5), 0.5);
    expect(placed.map((p) => p.roundedMm)).toEqual([Number.NaN, 3, Number.NaN, Number.NaN, 2]);
  });
});

describe('roundAngles', () => {
  it('keeps a hinge right to half a step after any number of exposures', () => {
    const angles = fc.array(fc.double({ min: 0, max: 180, noNaN: true }), { minLength: 2, maxLength: 80 });
    fc.assert(
      fc.property(angles, fc.constantFrom(0.5, 1, 2, 5), (deg, step) => {
        let placed = deg[0]!;
        for (const [i, change] of roundAngles(deg, still(deg.length), step).entries()) {
          if (i === 0) continue;
          placed += change;
          expect(Math.abs(placed - deg[i]!)).toBeLessThanOrEqual(step / 2 + 1e-9);
        }
      }),
    );
  });
});

describe('planMoves', () => {
  it('measures on the puppet, with the sum of both deviations squared', () => {
    const puppet = puppetOfHeight(newPuppet, 200);
    const timing = madeTiming({ book: { puppet } });
    const path = timing.motion.paths.get('rightWrist')!;
    const [from, to] = [timing.exposures[30]!.firstFrame, timing.exposures[31]!.firstFrame];
    const distancePx = Math.hypot(path.xPx[to]! - path.xPx[from]!, path.yPx[to]! - path.yPx[from]!);
    const made = retarget(timing.motion, { heightPx: 400, lengths: null }, puppet, {
      fps: 24,
      steps: 'sameSteps',
      handContacts: [],
      tail: null,
    });
    const move = planMoves(timing, [], made).find((m) => m.exposure === 31 && m.joint === 'rightWrist')!;
    const its = made.paths.get('rightWrist')!;
    expect(move.distanceMm).toBeCloseTo(Math.hypot(its.xMm[to]! - its.xMm[from]!, its.yMm[to]! - its.yMm[from]!), 9);
    // Its arms are as long for its height as the performer's, nearly: half a millimetre for a pixel.
    expect(Math.abs(move.distanceMm - distancePx / 2)).toBeLessThan(0.2 * move.distanceMm);
    expect(move.distanceBody).toBeCloseTo(distancePx / 400, 9);
    expect(move.sdMm).toBeCloseTo((1.4 * Math.SQRT2) / 2, 9);
  });

  it('marks moves toward the lens, for the joint and the span of the doubt only', () => {
    const timing = madeTiming();
    const doubt = {
      code: 'out-of-plane',
      joint: 'leftWrist',
      startSec: 2,
      endSec: 2.5,
      sentence: 'It comes nearer.',
      headline: '',
      worth: 0,
      plane: null,
    } as const;
    const { puppet } = madePlan();
    const marked = planMoves(timing, [doubt], puppet).filter((m) => m.outOfPlane);
    expect(new Set(marked.map((m) => m.joint))).toEqual(new Set(['leftWrist']));
    expect(marked.map((m) => timing.exposures[m.exposure]!.firstFrame)).toEqual([48, 50, 52, 54, 56, 58, 60, 62]);
  });
});
