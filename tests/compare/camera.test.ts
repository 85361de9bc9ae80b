import { describe, expect, it } from 'vitest';
import { type PictureStep, readCamera } from '../../src/compare/cameraEvents.ts';
import { measurePictureSteps, type SmallPicture } from '../../src/compare/pictureSteps.ts';
import { photograph, texture } from '../flow/madePictures.ts';
import { gaussian, seeded } from '../make.ts';

const [widthPx, heightPx] = [320, 180];

/** A set with a puppet of another texture that goes through it: where the camera looks, and how bright it is. */
function filmed(shifts: readonly (readonly [number, number])[], gains: readonly number[], knowsPuppet = false) {
  const [back, body] = [texture(3, 30, 8), texture(9, 45, 6)];
  return shifts.map(([sx, sy], k): SmallPicture => {
    const [left, wide] = [60 + 9 * k, 80 + 14 * k];
    const look = (x: number, y: number): [number, number] => [x - sx, y - sy];
    const surface = (x: number, y: number) => {
      // Up to two fifths of the picture are the puppet's, who comes nearer and darkens it.
      const isPuppet = x > left && x < left + wide && y > 30;
      return isPuppet ? 0.5 * body(x - 9 * k, y + 2 * k) : back(x, y);
    };
    const luma = photograph(surface, { widthPx, heightPx, look, noise: 2, seed: k + 1, gain: gains[k] ?? 1 });
    const puppet = knowsPuppet ? { leftPx: left - 12, topPx: 20, rightPx: left + wide + 12, bottomPx: heightPx } : null;
    return { luma, widthPx, heightPx, puppet };
  });
}

describe('what a camera did between pictures', () => {
  it('is measured to a twentieth of a pixel, whatever the puppet does in front', () => {
    const shifts: [number, number][] = [
      [0, 0],
      [0, 0],
      [2.4, -1.3],
      [2.4, -1.3],
      [0, 0],
      [0.3, 0.2],
    ];
    for (const knowsPuppet of [false, true]) {
      const steps = measurePictureSteps(filmed(shifts, [], knowsPuppet));
      shifts.forEach(([x, y], k) => {
        const [px, py] = shifts[k - 1] ?? [x, y];
        expect(Math.abs(steps[k]!.shiftXPx - (x - px)), `x of ${k}`).toBeLessThan(0.05);
        expect(Math.abs(steps[k]!.shiftYPx - (y - py)), `y of ${k}`).toBeLessThan(0.05);
        expect(Math.abs(steps[k]!.brightness / steps[0]!.brightness - 1), `light of ${k}`).toBeLessThan(0.004);
      });
    }
  });

  it('finds light that changes by a hundredth, and shifts under it', () => {
    const gains = [1, 1, 1.02, 1, 0.99, 1];
    const shifts = gains.map((_, k): [number, number] => (k < 3 ? [0, 0] : [1.5, 0]));
    const steps = measurePictureSteps(filmed(shifts, gains), 3);
    gains.forEach((gain, k) => {
      expect(Math.abs(steps[k]!.brightness / steps[0]!.brightness - gain), `light of ${k}`).toBeLessThan(0.004);
    });
    expect(Math.abs(steps[3]!.shiftXPx - 4.5)).toBeLessThan(0.15);
  });

  it('says nothing of pictures without anything in them', () => {
    const flat = { luma: new Uint8Array(widthPx * heightPx).fill(90), widthPx, heightPx, puppet: null };
    const [, step] = measurePictureSteps([flat, flat]);
    expect(step!.shiftXPx).toBeNaN();
    expect(step!.brightness).toBeCloseTo(90, 6);
  });
});

describe('a camera’s shifts over a shot', () => {
  const exposures = Array.from({ length: 40 }, (_, i) => ({ firstFrame: 2 * i, frames: 2 }));
  const quiet = (seed: number, shift: (i: number) => number = () => 0): PictureStep[] => {
    const draw = gaussian(seeded(seed));
    return exposures.map((_, i) => ({
      shiftXPx: shift(i) + 0.03 * draw(),
      shiftYPx: 0.03 * draw(),
      brightness: 100 * (1 + 0.0015 * draw()),
    }));
  };

  it('are no findings where nothing happened, nor where it travels on purpose', () => {
    for (let seed = 1; seed <= 30; seed++) {
      expect(readCamera(exposures, quiet(seed)).findings).toEqual([]);
      const travels = readCamera(
        exposures,
        quiet(seed, (i) => 4 * Math.sin((Math.PI * i) / 39) ** 2),
      );
      expect(travels.findings).toEqual([]);
      expect(Math.abs(travels.xPx.at(-1)! - 78)).toBeLessThan(1.5);
    }
  });

  it('tell a bump once, with its size, whether the camera is put back or not', () => {
    for (const back of [99, 20, 22]) {
      const steps = quiet(5, (i) => (i === 17 ? 3 : i === back ? -3 : 0));
      const { findings, xPx } = readCamera(exposures, steps);
      expect(findings.map((f) => [f.kind, f.atFrame])).toEqual(
        back === 22
          ? [
              ['cameraBump', 34],
              ['cameraBump', 44],
            ]
          : [['cameraBump', 34]],
      );
      expect(findings[0]!.size).toBeCloseTo(3, 0);
      expect(xPx[18]! - xPx[16]!).toBeCloseTo(3, 0);
    }
  });

  it('tell light that flickers, not light that is made to fade', () => {
    const steps = quiet(7).map((p, i) => ({ ...p, brightness: p.brightness * (i === 12 ? 1.03 : 1) * (1 + 0.01 * i) }));
    const { findings } = readCamera(exposures, steps);
    expect(findings.map((f) => [f.kind, f.atFrame])).toEqual([['flicker', 24]]);
    expect(findings[0]!.size).toBeGreaterThan(2);
    const fades = quiet(8).map((p, i) => ({ ...p, brightness: p.brightness * 1.02 ** i }));
    expect(readCamera(exposures, fades).findings).toEqual([]);
    expect(readCamera(exposures, null).findings).toEqual([]);
  });
});
