import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bouncesOf, fallenM, framesToFall, heightAt, restitutionOf } from '../../src/timing/idealFall.ts';
import type { PointSamples } from '../../src/timing/pointSamples.ts';
import { findFall } from '../../src/timing/weight.ts';
import { gaussian, seeded } from '../make.ts';

/** Samples of a movement at a rate, with noise of the standard deviation given. */
function sampled(
  at: (sec: number) => readonly [number, number],
  { fps = 30, frames = 120, noise = 0.2, seed = 3, wild = 0 } = {},
): PointSamples {
  const draw = gaussian(seeded(seed));
  const random = seeded(seed + 1);
  const timesSec = Float64Array.from({ length: frames }, (_, k) => k / fps);
  const off = () => noise * draw() + (random() < wild ? 12 * (random() - 0.5) : 0);
  return {
    timesSec,
    xPx: timesSec.map((t) => at(t)[0] + off()),
    yPx: timesSec.map((t) => at(t)[1] + off()),
    sdPx: timesSec.map(() => noise),
  };
}

const [pxPerMetre, floorY] = [160, 430];

/** Held for half a second, let go from 1.8 m, bouncing with e = 0.7; drifts to the right. `tiltDeg` = the camera's. */
function dropped(tiltDeg = 0, restitution = 0.7, dropHeightM = 1.8): (sec: number) => readonly [number, number] {
  const [c, s] = [Math.cos((tiltDeg * Math.PI) / 180), Math.sin((tiltDeg * Math.PI) / 180)];
  return (sec) => {
    const right = 40 * Math.max(0, sec - 0.5);
    const down = -pxPerMetre * heightAt({ dropHeightM, restitution }, sec - 0.5);
    return [150 + c * right - s * down, floorY + s * right + c * down];
  };
}

/** When it meets the floor, take seconds. */
const contacts = bouncesOf({ dropHeightM: 1.8, restitution: 0.7 }).map((b) => b.sec + 0.5);
const halfFrame = 0.5 / 24;

describe('findFall', () => {
  it('finds gravity, contacts to a fraction of a frame, and what is kept at each bounce', () => {
    const fall = findFall(sampled(dropped()))!;
    expect(fall.pxPerMetre).toBeGreaterThan(pxPerMetre * 0.99);
    expect(fall.pxPerMetre).toBeLessThan(pxPerMetre * 1.01);
    expect(Math.abs(fall.pxPerMetre - pxPerMetre)).toBeLessThan(3 * fall.pxPerMetreSd);
    expect(fall.bounces.length).toBeGreaterThanOrEqual(3);
    fall.bounces.slice(0, 3).forEach((bounce, k) => {
      expect(Math.abs(bounce.takeSec - contacts[k]!)).toBeLessThan(halfFrame / 5);
      expect(Math.abs(bounce.takeSec - contacts[k]!)).toBeLessThan(4 * bounce.sdSec + 1e-4);
      expect(Math.abs(bounce.restitution - 0.7)).toBeLessThan(4 * bounce.restitutionSd + 0.005);
      expect(Math.abs(bounce.yPx - floorY)).toBeLessThan(1);
    });
    const [first, second] = fall.flights;
    expect(first!.begins).toBe('released');
    expect(Math.abs(first!.startSec - 0.5)).toBeLessThan(halfFrame);
    expect(first!.dropPx / pxPerMetre).toBeCloseTo(1.8, 1);
    expect(second!.risePx / pxPerMetre).toBeCloseTo(1.8 * 0.49, 1);
    expect(fall.why).toContain('same gravity');
  });

  it('holds at every frame rate, and when some pictures are wild or missing', () => {
    for (const fps of [24, 25, 60]) {
      const samples = sampled(dropped(), { fps, frames: Math.round(fps * 3.4), noise: 0.4, seed: fps, wild: 0.05 });
      const keep = [...samples.timesSec.keys()].filter((k) => k % 9 !== 4);
      const pick = (of: Float64Array) => Float64Array.from(keep, (k) => of[k]!);
      const some = {
        timesSec: pick(samples.timesSec),
        xPx: pick(samples.xPx),
        yPx: pick(samples.yPx),
        sdPx: pick(samples.sdPx),
      };
      const fall = findFall(some)!;
      expect(Math.abs(fall.pxPerMetre / pxPerMetre - 1)).toBeLessThan(0.03);
      expect(Math.abs(fall.bounces[0]!.takeSec - contacts[0]!)).toBeLessThan(halfFrame);
      expect(Math.abs(fall.bounces[1]!.takeSec - contacts[1]!)).toBeLessThan(halfFrame);
    }
  });

  it('reads a tilted camera, and gravity along the tilt', () => {
    const fall = findFall(sampled(dropped(6)))!;
    expect(fall.tiltDeg).toBeCloseTo(6, 0);
    expect(Math.abs(fall.pxPerMetre / pxPerMetre - 1)).toBeLessThan(0.01);
    expect(Math.abs(findFall(sampled(dropped()))!.tiltDeg)).toBeLessThan(0.5);
  });

  it('sees one throw that is neither let go nor caught in the picture', () => {
    const g = 9.80665 * pxPerMetre;
    const fall = findFall(sampled((t) => [100 + 200 * t, 300 - 600 * t + (g * t * t) / 2], { frames: 24 }))!;
    expect(Math.abs(fall.gravityPxS2 / g - 1)).toBeLessThan(0.03);
    expect(fall.flights.map((f) => [f.begins, f.ends])).toEqual([['edge', 'edge']]);
    expect(fall.flights[0]!.apexSec).toBeCloseTo(600 / g, 2);
    expect(fall.bounces).toEqual([]);
  });

  it('says nothing of what swings, is carried, or stands', () => {
    const swing = (t: number): readonly [number, number] => {
      const a = 0.6 * Math.cos(2.4 * t);
      return [320 + 240 * Math.sin(a), 70 + 240 * Math.cos(a)];
    };
    expect(findFall(sampled(swing, { frames: 180 }))).toBeNull();
    expect(findFall(sampled(() => [100, 200]))).toBeNull();
    expect(findFall(sampled((t) => [100 + 50 * t, 200 + 3 * Math.sin(9 * t)], { noise: 0.5 }))).toBeNull();
  });

  it('doubts what only looks like flying', () => {
    expect(findFall(sampled(dropped()))!.doubt).toBeNull();
    expect(findFall(sampled((t) => [100, 200 + 80 * Math.sin(6 * t)]))!.doubt).toContain('move of the hand');
  });

  it('does not care where the picture is, nor for its size', () => {
    const base = sampled(dropped());
    const known = findFall(base)!;
    fc.assert(
      fc.property(
        fc.double({ min: -300, max: 300, noNaN: true }),
        fc.double({ min: 1, max: 3, noNaN: true }),
        (shift, size) => {
          const moved = {
            timesSec: base.timesSec,
            xPx: base.xPx.map((x) => size * x + shift),
            yPx: base.yPx.map((y) => size * y - shift),
            sdPx: base.sdPx.map((sd) => size * sd),
          };
          const fall = findFall(moved)!;
          expect(fall.gravityPxS2 / size / known.gravityPxS2).toBeCloseTo(1, 3);
          expect(fall.bounces[0]!.takeSec).toBeCloseTo(known.bounces[0]!.takeSec, 3);
        },
      ),
      { numRuns: 20 },
    );
  });

  it('takes no time to speak of for a take of a minute', () => {
    const samples = sampled(dropped(), { fps: 24, frames: 1440 });
    const began = performance.now();
    findFall(samples);
    expect(performance.now() - began).toBeLessThan(600);
  });
});

describe('falls as physics has them', () => {
  // Standard gravity, free fall from rest at 24 fps: computed from s = ½ g t² with g = 9.80665 m/s² (CGPM 1901).
  it('falls 8.51 mm in the first frame and 1225.83 mm in twelve, each frame two steps more than the last', () => {
    const mm = [1, 2, 3, 4, 5, 6, 8, 12].map((frame) => 1000 * fallenM(frame, 24));
    for (const [k, fallen] of [8.51, 34.05, 76.61, 136.2, 212.82, 306.46, 544.81, 1225.83].entries())
      expect(Math.abs(mm[k]! - fallen)).toBeLessThan(0.01);
    const steps = [1, 2, 3, 4, 5].map((k) => fallenM(k, 24) - fallenM(k - 1, 24));
    for (const [k, odd] of [1, 3, 5, 7, 9].entries()) expect(steps[k]! / steps[0]!).toBeCloseTo(odd, 9);
  });

  // A. L. Garcia, "Physics of Timing & Spacing" (2011): 1/24 s 1/3 in, 1/12 s 1 1/3 in, 1/8 s 3 in, 1/6 s 5 1/3 in (rounded).
  it('agrees with the animator’s table of a published lecture', () => {
    const inches = [1, 2, 3, 4].map((frame) => fallenM(frame, 24) / 0.0254);
    for (const [k, inch] of [1 / 3, 4 / 3, 3, 16 / 3].entries())
      expect(Math.abs(inches[k]! / inch - 1)).toBeLessThan(0.01);
  });

  // Computed: √(2h/g) · 24.
  it('needs 7.66 frames for half a metre and 17.27 for a tennis ball’s 2.54 m', () => {
    for (const [h, frames] of [
      [0.5, 7.66],
      [1, 10.84],
      [1.8, 14.54],
      [2.54, 17.27],
    ] as const)
      expect(framesToFall(h, 24)).toBeCloseTo(frames, 2);
    expect(framesToFall(1, 12)).toBeCloseTo(framesToFall(1, 24) / 2, 12);
  });

  // Rebound rule of tennis (ITF, type 2): from 254 cm to 135–147 cm; of table tennis (ITTF): from 305 mm to 240–260 mm.
  it('keeps what the rules of tennis and table tennis ask for', () => {
    expect(restitutionOf(254, 135)).toBeCloseTo(0.729, 3);
    expect(restitutionOf(254, 147)).toBeCloseTo(0.761, 3);
    expect(restitutionOf(305, 240)).toBeCloseTo(0.887, 3);
    expect(restitutionOf(305, 260)).toBeCloseTo(0.923, 3);
  });

  // Computed from e = 0.745 and 2.54 m; the first peak lies within the ITF's band.
  it('bounces a tennis ball at frames 17.27, 43.01, 62.19, 76.47 and 87.11', () => {
    const bounces = bouncesOf({ dropHeightM: 2.54, restitution: 0.745 });
    for (const [k, frame] of [17.27, 43.01, 62.19, 76.47, 87.11].entries())
      expect(Math.abs(24 * bounces[k]!.sec - frame)).toBeLessThan(0.01);
    for (const [k, mm] of [1409.8, 782.5, 434.3, 241].entries())
      expect(Math.abs(1000 * bounces[k]!.peakM - mm)).toBeLessThan(0.1);
  });

  it('has heights between floor and drop that meet the floor at each bounce', () => {
    const ball = { dropHeightM: 1.2, restitution: 0.6 };
    fc.assert(
      fc.property(fc.double({ min: -1, max: 8, noNaN: true }), (sec) => {
        const h = heightAt(ball, sec);
        expect(h).toBeGreaterThanOrEqual(0);
        expect(h).toBeLessThanOrEqual(1.2);
      }),
    );
    for (const { sec } of bouncesOf(ball).slice(0, 5)) expect(heightAt(ball, sec + 1e-9)).toBeLessThan(1e-6);
    expect(heightAt(ball, 60)).toBe(0);
  });
});
