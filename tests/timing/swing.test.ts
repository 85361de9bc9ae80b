import { describe, expect, it } from 'vitest';
import type { PointSamples } from '../../src/timing/pointSamples.ts';
import { fitSwing, periodFactor, smallPeriodOf } from '../../src/timing/swing.ts';
import { gaussian, seeded } from '../make.ts';

/** A bob on a string, by fine steps of the exact equation (semi-implicit Euler at 20 kHz): not the fit's own integration. */
function pendulum(lengthM: number, firstDeg: number, dampingPerSec: number, pxPerMetre = 150): PointSamples {
  const draw = gaussian(seeded(8));
  const [fps, frames, fine] = [30, 180, 20_000];
  let [angle, speed] = [(firstDeg * Math.PI) / 180, 0];
  const xPx = new Float64Array(frames);
  const yPx = new Float64Array(frames);
  for (let k = 0; k < frames; k++) {
    xPx[k] = 320 + lengthM * pxPerMetre * Math.sin(angle) + 0.3 * draw();
    yPx[k] = 70 + lengthM * pxPerMetre * Math.cos(angle) + 0.3 * draw();
    for (let i = 0; i < fine / fps; i++) {
      speed += (-(9.80665 / lengthM) * Math.sin(angle) - dampingPerSec * speed) / fine;
      angle += speed / fine;
    }
  }
  return { timesSec: Float64Array.from(xPx, (_, k) => k / fps), xPx, yPx, sdPx: xPx.map(() => 0.3) };
}

describe('fitSwing', () => {
  it('finds period, amplitude, loss and length of a large swing without being told the pivot', () => {
    const swing = fitSwing(pendulum(1.2, 35, 0.08))!;
    expect(Math.abs(swing.smallPeriodSec / smallPeriodOf(1.2) - 1)).toBeLessThan(0.003);
    expect(Math.abs(swing.lengthM / 1.2 - 1)).toBeLessThan(0.006);
    expect(Math.abs(swing.pxPerMetre / 150 - 1)).toBeLessThan(0.02);
    expect(Math.hypot(swing.pivotXPx - 320, swing.pivotYPx - 70)).toBeLessThan(2);
    expect(swing.pivotIsMarked).toBe(false);
    expect(swing.firstAmplitudeDeg).toBeGreaterThan(32);
    expect(swing.firstAmplitudeDeg).toBeLessThan(35.2);
    expect(swing.lastAmplitudeDeg).toBeLessThan(swing.firstAmplitudeDeg - 4);
    expect(swing.lossPerSwing).toBeCloseTo(1 - Math.exp(-0.04 * swing.periodSec), 2);
    expect(Math.abs(swing.restDeg)).toBeLessThan(0.5);
    expect(swing.periodSec / swing.smallPeriodSec).toBeCloseTo(periodFactor(swing.firstAmplitudeDeg), 9);
    const [first, second] = swing.turns;
    expect(second!.takeSec - first!.takeSec).toBeCloseTo(swing.periodSec / 2, 1);
    expect(Math.sign(first!.angleDeg)).toBe(-Math.sign(second!.angleDeg));
    // It begins at the right; its first turn is at the left, which is clockwise from straight down.
    expect(first!.angleDeg).toBeGreaterThan(0);
  });

  it('holds with a marked pivot, and for small swings', () => {
    for (const deg of [4, 12, 60]) {
      const swing = fitSwing(pendulum(0.8, deg, 0.02), { xPx: 320, yPx: 70 })!;
      expect(swing.pivotIsMarked).toBe(true);
      expect(Math.abs(swing.smallPeriodSec / smallPeriodOf(0.8) - 1)).toBeLessThan(0.005);
    }
  });

  it('says nothing of what stands, goes straight, or turns in a circle without end', () => {
    const timesSec = Float64Array.from({ length: 90 }, (_, k) => k / 30);
    const sdPx = timesSec.map(() => 0.3);
    const draw = gaussian(seeded(5));
    const noisy = (of: (t: number) => number) => timesSec.map((t) => of(t) + 0.3 * draw());
    expect(fitSwing({ timesSec, sdPx, xPx: noisy(() => 100), yPx: noisy(() => 90) })).toBeNull();
    expect(fitSwing({ timesSec, sdPx, xPx: noisy((t) => 80 * t), yPx: noisy(() => 90) })).toBeNull();
    const round = {
      timesSec,
      sdPx,
      xPx: noisy((t) => 300 + 90 * Math.cos(5 * t)),
      yPx: noisy((t) => 200 + 90 * Math.sin(5 * t)),
    };
    expect(fitSwing(round)).toBeNull();
  });
});

describe('the pendulum’s period', () => {
  // T / T₀ from the complete elliptic integral; the table of calculatorlib.com's amplitude correction agrees.
  it('grows with the amplitude as the exact solution says', () => {
    for (const [deg, factor] of [
      [5, 1.000476],
      [10, 1.001907],
      [15, 1.004301],
      [20, 1.007669],
      [30, 1.017409],
      [45, 1.039973],
      [60, 1.073182],
      [90, 1.180341],
      [120, 1.372881],
      [150, 1.762204],
    ] as const)
      expect(periodFactor(deg)).toBeCloseTo(factor, 6);
  });

  // L = 1 m, g = 9.81 m/s² (notes of a physics course, physics.gmu.edu/~mrseth/pass6.html).
  it('is 2.00607 s for a metre of string, 2.02145 s when it swings by 20°', () => {
    const small = smallPeriodOf(1, 9.81);
    expect(small).toBeCloseTo(2.006066680710647, 12);
    for (const [deg, sec] of [
      [10, 2.0098926273],
      [20, 2.02145125782],
      [30, 2.04098988952],
      [60, 2.15287466688],
      [80, 2.28188592402],
    ] as const)
      expect(small * periodFactor(deg)).toBeCloseTo(sec, 8);
  });

  it('follows the series 1 + A²/16 + 11 A⁴/3072 for small angles', () => {
    const a = (15 * Math.PI) / 180;
    expect(periodFactor(15)).toBeCloseTo(1 + a ** 2 / 16 + (11 * a ** 4) / 3072, 6);
  });

  // Computed: 2π √(L / g) · 24; a seconds pendulum (T = 2 s) is g / π² = 0.99362 m long.
  it('takes 15.23, 24.08 and 34.05 frames at 24 for 10, 25 and 50 cm', () => {
    for (const [length, frames] of [
      [0.1, 15.23],
      [0.25, 24.08],
      [0.5, 34.05],
    ] as const)
      expect(24 * smallPeriodOf(length)).toBeCloseTo(frames, 2);
    expect(smallPeriodOf(0.99362)).toBeCloseTo(2, 4);
  });
});
