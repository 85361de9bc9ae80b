import { describe, expect, it } from 'vitest';
import type { PathPoint } from '../../src/track/posterior.ts';
import { type PathMeasures, smoothPath } from '../../src/track/smoothPath.ts';
import { evenTimes, gaussian, minimumJerk, seeded } from '../make.ts';

const beliefs = { densityPx2S3: 20000, slowSec: 0.25 };
const truth = minimumJerk([100, 200], [220, 120], 0.5, 0.6);

function made(times: Float64Array, measured: (k: number) => boolean): PathMeasures {
  const draw = gaussian(seeded(4));
  const noise = new Map(Array.from(times, (t) => [t, [draw(), draw()] as const]));
  return {
    timesSec: times,
    xPx: times.map((t) => truth(t).x + 1.5 * noise.get(t)![0]),
    yPx: times.map((t) => truth(t).y + 1.5 * noise.get(t)![1]),
    variancePx2: times.map((_, k) => (measured(k) ? 2.25 : Number.POSITIVE_INFINITY)),
    slowSdPx: new Float64Array(times.length).fill(2),
    placed: new Uint8Array(times.length),
  };
}

const point = (): PathPoint => ({ xPx: 0, yPx: 0, vxPx: 0, vyPx: 0, sdPx: 0 });
const even = evenTimes(45, 30);

describe('a smoothed path', () => {
  it('is read between knots as if a knot stood there', () => {
    const measures = made(even, () => true);
    const path = smoothPath(measures, beliefs);
    for (const sec of [0.21, 0.751, 0.95, 1.44]) {
      const at = even.findIndex((t) => t > sec);
      const insert = (column: Float64Array, value: number): Float64Array =>
        Float64Array.from([...column.subarray(0, at), value, ...column.subarray(at)]);
      const withKnot = smoothPath(
        {
          timesSec: insert(measures.timesSec, sec),
          xPx: insert(measures.xPx, Number.NaN),
          yPx: insert(measures.yPx, Number.NaN),
          variancePx2: insert(measures.variancePx2, Number.POSITIVE_INFINITY),
          slowSdPx: insert(measures.slowSdPx, 0),
          placed: new Uint8Array(even.length + 1),
        },
        beliefs,
      );
      const [a, b] = [point(), point()];
      path.read(sec, a);
      withKnot.read(sec, b);
      expect(Math.abs(a.xPx - b.xPx)).toBeLessThan(0.1 * a.sdPx);
      expect(Math.abs(a.vxPx - b.vxPx)).toBeLessThan(0.02 * 375);
      expect(a.sdPx / b.sdPx).toBeCloseTo(1, 1);
    }
  });

  it('is as unsure in a gap without knots as in one whose knots measured nothing', () => {
    const inGap = (k: number): boolean => k >= 15 && k <= 27;
    const withKnots = smoothPath(
      made(even, (k) => !inGap(k)),
      beliefs,
    );
    const without = smoothPath(
      made(
        even.filter((_, k) => !inGap(k)),
        () => true,
      ),
      beliefs,
    );
    const [a, b] = [point(), point()];
    withKnots.read(21.3 / 30, a);
    without.read(21.3 / 30, b);
    expect(b.sdPx / a.sdPx).toBeGreaterThan(0.8);
    // The move inside it is one wide interval here, and counts as one wilder stretch.
    expect(b.sdPx / a.sdPx).toBeLessThan(1.5);
  });

  it('says the velocity that its positions have', () => {
    const path = smoothPath(
      made(even, (k) => k % 3 !== 1),
      beliefs,
    );
    const [before, at, after] = [point(), point(), point()];
    for (let sec = 0.05; sec < 1.4; sec += 0.037) {
      path.read(sec - 1e-5, before);
      path.read(sec, at);
      path.read(sec + 1e-5, after);
      expect((after.xPx - before.xPx) / 2e-5).toBeCloseTo(at.vxPx, 1);
      expect((after.yPx - before.yPx) / 2e-5).toBeCloseTo(at.vyPx, 1);
    }
  });

  it('is less sure in the middle of a gap than beside it, and sure at rest among many sightings', () => {
    const path = smoothPath(
      made(even, (k) => k < 15 || k > 27),
      beliefs,
    );
    const sd = (sec: number): number => {
      const p = point();
      path.read(sec, p);
      return p.sdPx;
    };
    expect(sd(21 / 30)).toBeGreaterThan(2 * sd(10 / 30));
    expect(sd(21.5 / 30)).toBeGreaterThan(sd(16 / 30));
  });

  it('gains from steps that are measured better than places', () => {
    const measures = made(even, () => true);
    const steps = {
      dxPx: even.map((t, k) => (k === 0 ? Number.NaN : truth(t).x - truth(even[k - 1]!).x)),
      dyPx: even.map((t, k) => (k === 0 ? Number.NaN : truth(t).y - truth(even[k - 1]!).y)),
      variancePx2: even.map((_, k) => (k === 0 ? Number.POSITIVE_INFINITY : 0.04)),
    };
    const worstStep = (path: ReturnType<typeof smoothPath>): number => {
      const [a, b] = [point(), point()];
      return Math.max(
        ...Array.from(even.subarray(1), (t, k) => {
          path.read(even[k]!, a);
          path.read(t, b);
          return Math.abs(b.xPx - a.xPx - (truth(t).x - truth(even[k]!).x));
        }),
      );
    };
    const alone = worstStep(smoothPath(measures, beliefs));
    const aided = worstStep(smoothPath({ ...measures, steps }, beliefs));
    expect(aided).toBeLessThan(0.4 * alone);
  });
});
