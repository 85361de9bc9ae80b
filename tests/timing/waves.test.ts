import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { PointSamples } from '../../src/timing/pointSamples.ts';
import { readWave } from '../../src/timing/waves.ts';
import { gaussian, seeded } from '../make.ts';

interface Made {
  readonly fps?: number;
  readonly frames?: number;
  readonly noise?: number;
  readonly seed?: number;
}

/** Points of a chain, each moving by its own law. */
function chainOf(
  points: readonly ((sec: number) => readonly [number, number])[],
  { fps = 30, frames = 90, noise = 0.3, seed = 11 }: Made = {},
): PointSamples[] {
  const draw = gaussian(seeded(seed));
  const timesSec = Float64Array.from({ length: frames }, (_, k) => k / fps);
  return points.map((at) => ({
    timesSec,
    xPx: timesSec.map((t) => at(t)[0] + noise * draw()),
    yPx: timesSec.map((t) => at(t)[1] + noise * draw()),
    sdPx: timesSec.map(() => noise),
  }));
}

const [hz, speedPx, linkPx] = [1.4, 300, 40];

/** A travelling wave along five points in a row to the right: amplitude 6 px, half as large again from link to link. */
const flag = (speed: number) =>
  [0, 1, 2, 3, 4].map((k) => (t: number): readonly [number, number] => [
    100 + k * linkPx,
    200 + 6 * 1.5 ** k * Math.sin(2 * Math.PI * hz * (t - (k * linkPx) / speed)),
  ]);

describe('readWave', () => {
  it('finds frequency, delays to a fraction of a frame, speed and growth of a flag', () => {
    const wave = readWave(chainOf(flag(speedPx)))!;
    expect(wave.kind).toBe('to and fro');
    expect(Math.abs(wave.frequencyHz / hz - 1)).toBeLessThan(0.01);
    expect(Math.abs(wave.frequencyHz - hz)).toBeLessThan(4 * wave.frequencySd);
    for (const link of wave.links) {
      // Within a tenth of a frame at 24 fps.
      expect(Math.abs(link.delaySec - linkPx / speedPx)).toBeLessThan(0.1 / 24);
      expect(Math.abs(link.delaySec - linkPx / speedPx)).toBeLessThan(4 * link.delaySd);
      expect(link.growth).toBeCloseTo(1.5, 1);
      expect(Math.abs(link.lengthPx - linkPx)).toBeLessThan(1);
    }
    expect(Math.abs(wave.speed!.pxPerSec / speedPx - 1)).toBeLessThan(0.03);
    expect(wave.speed!.chainsPerSec).toBeCloseTo(speedPx / (4 * linkPx), 1);
    expect(wave.waveLengthPx).toBeCloseTo(speedPx / hz, -1);
    expect(wave.growth).toBeCloseTo(1.5 ** 4, 0);
    for (const [k, point] of wave.points.entries())
      expect(Math.abs(point.amplitudePx / (6 * 1.5 ** k) - 1)).toBeLessThan(0.03);
    expect(wave.confidence).toBeGreaterThan(0.9);
    expect(wave.why).toContain('1.40 swings a second');
  });

  it('reads a wave that runs back toward the root, and one that is seen askew', () => {
    expect(readWave(chainOf(flag(-speedPx)))!.speed!.pxPerSec).toBeLessThan(-0.95 * speedPx);
    const askew = flag(speedPx).map((at) => (t: number): readonly [number, number] => {
      const [x, y] = at(t);
      return [0.8 * x - 0.6 * y, 0.6 * x + 0.8 * y];
    });
    expect(Math.abs(readWave(chainOf(askew))!.speed!.pxPerSec / speedPx - 1)).toBeLessThan(0.03);
  });

  it('has no speed for what moves as one, and says so', () => {
    const wave = readWave(chainOf(flag(1e9)))!;
    expect(wave.speed).toBeNull();
    expect(wave.why).toContain('move as one');
    for (const link of wave.links) expect(Math.abs(link.delaySec)).toBeLessThan(0.004);
  });

  it('sees a whip: the crack comes later and larger from point to point', () => {
    /** A minimum-jerk swing of the given size that begins later at each point. */
    const cracked = [0, 1, 2, 3].map((k) => (t: number): readonly [number, number] => {
      const u = Math.min(1, Math.max(0, (t - 0.6 - 0.06 * k) / 0.4));
      return [100 + 50 * k, 200 - 30 * 1.6 ** k * (10 * u ** 3 - 15 * u ** 4 + 6 * u ** 5)];
    });
    const wave = readWave(chainOf(cracked, { frames: 60, noise: 0.1 }))!;
    expect(wave.kind).toBe('crack');
    expect(wave.isWhip).toBe(true);
    // Minimum jerk: the greatest speed is 1.875 times the mean, half-way.
    for (const [k, point] of wave.points.entries()) {
      expect(Math.abs(point.peakSec - 0.8 - 0.06 * k)).toBeLessThan(0.5 / 24);
      expect(Math.abs(point.peakSpeedPx / ((1.875 * 30 * 1.6 ** k) / 0.4) - 1)).toBeLessThan(0.06);
    }
    expect(wave.speed!.pxPerSec).toBeGreaterThan(600);
    const together = [0, 1, 2].map((k) => (t: number) => [cracked[0]!(t)[0] + 50 * k, cracked[0]!(t)[1]] as const);
    expect(readWave(chainOf(together, { frames: 60, noise: 0.1 }))?.isWhip ?? false).toBe(false);
  });

  it('says nothing of what stands still, of a single point, or of too few pictures', () => {
    const still = [0, 1, 2].map((k) => (): readonly [number, number] => [100 + 40 * k, 200]);
    expect(readWave(chainOf(still))).toBeNull();
    expect(readWave(chainOf(flag(speedPx).slice(0, 1)))).toBeNull();
    expect(readWave(chainOf(flag(speedPx), { frames: 6 }))).toBeNull();
  });

  it('is mirrored with the picture and scaled with it', () => {
    const base = chainOf(flag(speedPx));
    const known = readWave(base)!;
    fc.assert(
      fc.property(fc.double({ min: 0.5, max: 3, noNaN: true }), fc.boolean(), (size, mirror) => {
        const sign = mirror ? -1 : 1;
        const seen = base.map((p) => ({
          ...p,
          xPx: p.xPx.map((x) => 640 + sign * size * x),
          yPx: p.yPx.map((y) => size * y),
          sdPx: p.sdPx.map((sd) => size * sd),
        }));
        const wave = readWave(seen)!;
        expect(wave.speed!.pxPerSec / size / known.speed!.pxPerSec).toBeCloseTo(1, 6);
        expect(wave.links[1]!.delaySec).toBeCloseTo(known.links[1]!.delaySec, 6);
      }),
      { numRuns: 15 },
    );
  });
});
