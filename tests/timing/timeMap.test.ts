import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { makeTimeMap, ownTiming, type Retiming, type TimeKnot } from '../../src/timing/timeMap.ts';

const step = fc.record({
  take: fc.constantFrom(0, 0.04, 0.3, 1, 2.5),
  shot: fc.constantFrom(0, 0.04, 0.2, 1, 4),
});
/** Knots with holds, cuts and changes of speed between 1 : 100 and 60 : 1. */
const anyRetiming: fc.Arbitrary<Retiming> = fc
  .tuple(fc.double({ min: 0, max: 3, noNaN: true }), fc.array(step))
  .map(([start, steps]) => {
    const knots: TimeKnot[] = [{ takeSec: start, shotSec: start + 0.7 }];
    for (const s of steps) {
      const last = knots.at(-1)!;
      knots.push({ takeSec: last.takeSec + s.take, shotSec: last.shotSec + s.shot });
    }
    return { knots };
  });
const moments = (to: number) => Array.from({ length: 241 }, (_, i) => (to * i) / 240);

describe('the map from shot to take', () => {
  it('is the take’s own time when nothing was done', () => {
    const map = makeTimeMap(ownTiming, 1.25, 4);
    expect(map.isIdentity).toBe(true);
    expect(map.lengthSec).toBeCloseTo(2.75, 12);
    for (const t of moments(3)) {
      expect(map.takeAt(t)).toBeCloseTo(1.25 + t, 12);
      expect(map.shotAt(1.25 + t)).toBeCloseTo(t, 12);
    }
  });

  it('never runs backwards, begins where the trim begins and ends where it ends', () => {
    fc.assert(
      fc.property(anyRetiming, fc.double({ min: 0, max: 4, noNaN: true }), (retiming, startSec) => {
        const endSec = startSec + 6;
        const map = makeTimeMap(retiming, startSec, endSec);
        expect(map.shotAt(startSec)).toBeCloseTo(0, 9);
        expect(map.lastShotAt(endSec)).toBeCloseTo(map.lengthSec, 9);
        let before = Number.NEGATIVE_INFINITY;
        for (const t of moments(map.lengthSec + 1)) {
          const take = map.takeAt(t);
          expect(take).toBeGreaterThanOrEqual(before - 1e-9);
          before = take;
        }
      }),
    );
  });

  it('goes through its knots, and back', () => {
    fc.assert(
      fc.property(anyRetiming, (retiming) => {
        const map = makeTimeMap(retiming, 0, 30);
        for (const { takeSec, shotSec } of map.knots) {
          const cutHere = map.knots.some((k) => k.shotSec === shotSec && k.takeSec !== takeSec);
          if (!cutHere) expect(map.takeAt(shotSec)).toBeCloseTo(takeSec, 9);
          expect(map.shotAt(takeSec)).toBeLessThanOrEqual(shotSec + 1e-9);
          expect(map.lastShotAt(takeSec)).toBeGreaterThanOrEqual(shotSec - 1e-9);
        }
        for (const t of moments(map.lengthSec)) {
          const take = map.takeAt(t);
          expect(map.shotAt(take)).toBeLessThanOrEqual(t + 1e-6);
          // Where time runs a moment is shown once; at the very end of a hold since the hold began.
          if (map.speedAt(t) > 0.01) expect(map.lastShotAt(take)).toBeGreaterThanOrEqual(t - 1e-5);
          const isHeld = map.lastShotAt(take) - map.shotAt(take) > 1e-5;
          const atHoldsEnd = map.knots.some((k) => Math.abs(k.shotSec - t) < 1e-6);
          if (isHeld && !atHoldsEnd) expect(map.speedAt(t)).toBeLessThan(1e-6);
        }
      }),
    );
  });

  it('changes no other span, exactly, when one is stretched threefold or tightened to half', () => {
    for (const factor of [3, 1.5, 0.5]) {
      const shot = [0, 1, 1 + factor, 3 + factor];
      const knots = [0, 1, 2, 4].map((takeSec, i) => ({ takeSec, shotSec: shot[i]! }));
      const map = makeTimeMap({ knots }, 0, 6);
      for (const t of moments(1)) {
        expect(map.takeAt(t)).toBeCloseTo(t, 12);
        expect(map.takeAt(1 + factor + 4 * t)).toBeCloseTo(2 + 4 * t, 12);
      }
      expect(map.lengthSec).toBeCloseTo(5 + factor, 12);
    }
  });

  it('is smooth where spans of different speed meet, and keeps the take’s speed beside an inserted hold', () => {
    const smooth = makeTimeMap(
      { knots: [0, 1, 2, 3].map((s, i) => ({ takeSec: s, shotSec: [0, 1, 2.5, 4.5][i]! })) },
      0,
      4,
    );
    for (const knot of smooth.knots) {
      const [left, right] = [smooth.speedAt(knot.shotSec - 1e-7), smooth.speedAt(knot.shotSec + 1e-7)];
      expect(Math.abs(left - right)).toBeLessThan(1e-5);
    }
    const held = makeTimeMap(
      {
        knots: [
          { takeSec: 1, shotSec: 1 },
          { takeSec: 1, shotSec: 1.5 },
        ],
      },
      0,
      3,
    );
    expect(held.lengthSec).toBeCloseTo(3.5, 12);
    expect(held.speedAt(0.999)).toBe(1);
    expect(held.speedAt(1.2)).toBe(0);
    expect(held.speedAt(1.501)).toBe(1);
    expect(held.shotAt(1)).toBeCloseTo(1, 9);
    expect(held.lastShotAt(1)).toBeCloseTo(1.5, 9);
  });

  it('follows the trim: what was done to later frames stays done', () => {
    const knots = [
      { takeSec: 2, shotSec: 2 },
      { takeSec: 2, shotSec: 2.5 },
    ];
    const whole = makeTimeMap({ knots }, 0, 4);
    const trimmed = makeTimeMap({ knots }, 1, 4);
    for (const t of moments(3)) expect(trimmed.takeAt(t)).toBeCloseTo(whole.takeAt(t + 1), 9);
    expect(trimmed.lengthSec).toBeCloseTo(3.5, 12);
  });
});
