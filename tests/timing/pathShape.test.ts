import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Circle, fitCircle, localCircle } from '../../src/timing/circleFit.ts';
import { minimumJerk } from '../../src/timing/ease.ts';
import { speedAndCurvature } from '../../src/timing/powerLaw.ts';
import {
  dimensionlessJerk,
  smootherBy,
  smoothestOf,
  smoothnessOf,
  spectralArcLength,
} from '../../src/timing/smoothness.ts';
import { normal, randomFrom } from './authored.ts';

describe('circles through a stretch of path', () => {
  // Points of W. Gander, G. Golub & R. Strebel, BIT 34 (1994) 558; the fits' values computed by independent implementations
  // (eigenvalue forms of Pratt's and Taubin's problems), since the paper gives the geometric fit only.
  const x = [1, 2, 5, 7, 9, 3];
  const y = [7, 6, 8, 7, 5, 7];

  test('Taubin’s and Pratt’s fits of a short noisy arc have their known values', () => {
    const near = (circle: Circle | null, cx: number, cy: number, r: number) => {
      expect(circle!.x).toBeCloseTo(cx, 6);
      expect(circle!.y).toBeCloseTo(cy, 6);
      expect(circle!.radius).toBeCloseTo(r, 6);
    };
    near(fitCircle(x, y, 'taubin'), 4.6139327, 2.7952093, 4.8792129);
    near(fitCircle(x, y, 'pratt'), 4.6154815, 2.8073544, 4.9113016);
  });

  test('exact points give their circle back, wherever and however large it is', () => {
    const place = fc.double({ min: -500, max: 500, noNaN: true });
    fc.assert(
      fc.property(
        place,
        place,
        fc.double({ min: 1, max: 300, noNaN: true }),
        fc.double({ min: 0.6, max: 6, noNaN: true }),
        fc.constantFrom('taubin' as const, 'pratt' as const),
        (cx, cy, r, span, method) => {
          const angles = Array.from({ length: 9 }, (_, i) => (i / 8) * span);
          const circle = fitCircle(
            angles.map((a) => cx + r * Math.cos(a)),
            angles.map((a) => cy + r * Math.sin(a)),
            method,
          );
          expect(circle!.radius / r).toBeCloseTo(1, 5);
          expect(Math.hypot(circle!.x - cx, circle!.y - cy) / r).toBeLessThan(1e-5);
        },
      ),
    );
  });

  test('a line, a nearly straight stretch, a point that rests: no circle, with the reason', () => {
    const none = [0, 0, 0, 0, 0, 0];
    expect(fitCircle([0, 1, 2, 3], [1, 3, 5, 7])).toBeNull();
    expect(localCircle([0, 1, 2, 3], [1, 3, 5, 7], none)).toBe('nearly straight');
    const angles = [0, 0.02, 0.04, 0.06, 0.08, 0.1];
    const cos = angles.map((a) => 100 * Math.cos(a));
    const sin = angles.map((a) => 100 * Math.sin(a));
    expect(localCircle(cos, sin, none)).toBe('nearly straight');
    expect(localCircle([1, 1, 1, 1], [2, 2, 2, 2], none)).toBe('still');
    expect(localCircle([1, 1.2, 0.8, 1], [2, 2.1, 1.9, 2], [0.2, 0.2, 0.2, 0.2])).toBe('still');
    expect(localCircle([1, 2, Number.NaN, 4], [0, 1, 1, 0], none)).toBe('too few');
  });

  test('the radius is as uncertain as it says: nine in ten lie within two standard deviations, and the claim is no excuse', () => {
    const random = randomFrom(5);
    let within = 0;
    let told = 0;
    for (let run = 0; run < 300; run++) {
      const angles = Array.from({ length: 12 }, (_, i) => (i / 11) * 1.5);
      const xs = angles.map((a) => 50 * Math.cos(a) + normal(random));
      const ys = angles.map((a) => 50 * Math.sin(a) + normal(random));
      const circle = localCircle(xs, ys, new Float64Array(12).fill(1));
      if (typeof circle === 'string') continue;
      told++;
      if (Math.abs(circle.radius - 50) < 2 * circle.radiusSd) within++;
      expect(circle.radiusSd).toBeLessThan(25);
    }
    expect(told).toBeGreaterThan(270);
    expect(within / told).toBeGreaterThan(0.9);
  });
});

describe('smoothness', () => {
  // S. Balasubramanian's reference implementation (github.com/siva82kb/smoothness, python/smoothness.py), its own example.
  const bell = Float64Array.from({ length: 200 }, (_, i) => Math.exp(-5 * (-1 + 0.01 * i) ** 2));

  test('has the values of its authors', () => {
    expect(spectralArcLength(bell, 100)).toBeCloseTo(-1.41403, 5);
    expect(dimensionlessJerk(bell, 100)).toBeCloseTo(-335.74684, 4);
    expect(smoothnessOf(bell, 100)!.ldlj).toBeCloseTo(-5.81636, 5);
  });

  test('of a minimum-jerk move nears its analytic value, −ln 204.8, as the rate rises', () => {
    // −720 / 1.875² from the profile's derivatives (Flash & Hogan 1985).
    const ldlj = (fps: number) => smoothestOf(fps + 1, fps)!.ldlj;
    expect(Math.abs(ldlj(1000) + Math.log(204.8))).toBeLessThan(0.01);
    // At the rates of animation it is nearer to 0, as computed independently with the authors' code.
    expect(ldlj(24)).toBeCloseTo(-5.2317, 4);
    expect(ldlj(60)).toBeCloseTo(-5.2876, 4);
    const { sparc } = smoothestOf(25, 24)!;
    expect(sparc).toBeGreaterThan(-1.42);
    expect(sparc).toBeLessThan(-1.39);
  });

  test('two moves with a stop between are less smooth than one: further from 0', () => {
    const speed = (u: number) => (minimumJerk(u + 1e-4) - minimumJerk(u - 1e-4)) / 2e-4;
    const once = Float64Array.from({ length: 200 }, (_, i) => speed(i / 200));
    const twice = Float64Array.from({ length: 200 }, (_, i) => speed((i % 100) / 100));
    const by = smootherBy(smoothnessOf(once, 100)!, smoothnessOf(twice, 100)!)!;
    expect(by.sparc).toBeGreaterThan(0.5);
    expect(by.ldlj).toBeGreaterThan(2);
  });

  test('is compared only at one rate, and not told of what does not move', () => {
    expect(smootherBy(smoothnessOf(bell, 100)!, smoothnessOf(bell, 24)!)).toBeNull();
    expect(smoothnessOf(new Float64Array(20), 24)).toBeNull();
    expect(smoothnessOf([1, 2, 1], 24)).toBeNull();
    expect(smoothnessOf([1, 2, Number.NaN, 2, 1, 0], 24)).toBeNull();
  });

  test('does not depend on how large a move is', () => {
    fc.assert(
      fc.property(fc.double({ min: 0.01, max: 1000, noNaN: true }), (scale) => {
        const a = smoothnessOf(bell, 100)!;
        const b = smoothnessOf(
          bell.map((v) => v * scale),
          100,
        )!;
        expect(b.sparc).toBeCloseTo(a.sparc, 9);
        expect(b.ldlj).toBeCloseTo(a.ldlj, 9);
      }),
    );
  });
});

describe('speed and curvature', () => {
  const w = 3;
  const times = Float64Array.from({ length: 40 }, (_, i) => i * 0.05);

  test('an ellipse drawn by two pendulums obeys the two-thirds law exactly', () => {
    // x = a cos ωt, y = b sin ωt: speed = ω (ab)^(1/3) curvature^(−1/3), from its derivatives (Lacquaniti et al. 1983).
    const [a, b] = [0.1, 0.05];
    const law = speedAndCurvature(
      times.map((t) => -a * w * Math.sin(w * t)),
      times.map((t) => b * w * Math.cos(w * t)),
      times.map((t) => -a * w * w * Math.cos(w * t)),
      times.map((t) => -b * w * w * Math.sin(w * t)),
    )!;
    expect(law.exponent).toBeCloseTo(-1 / 3, 9);
    expect(law.gain).toBeCloseTo(0.512993, 6);
    expect(law.explained).toBeCloseTo(1, 9);
  });

  test('says nothing of a circle or a line', () => {
    const zero = times.map(() => 0);
    const round = speedAndCurvature(
      times.map((t) => -Math.sin(t)),
      times.map((t) => Math.cos(t)),
      times.map((t) => -Math.cos(t)),
      times.map((t) => -Math.sin(t)),
    );
    expect(round).toBeNull();
    expect(speedAndCurvature(times, zero, zero, zero)).toBeNull();
  });
});
