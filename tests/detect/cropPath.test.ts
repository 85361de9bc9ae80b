import { describe, expect, it } from 'vitest';
import type { SeenPose } from '../../src/detect/crop.ts';
import { layCrops } from '../../src/detect/cropPath.ts';

/** A standing figure 100 px high whose head is at (x, y); every joint believed. */
function standing(x: number, y = 200): SeenPose {
  const down = [0, -2, -2, 0, 0, 20, 20, 35, 35, 48, 48, 50, 50, 75, 75, 100, 100];
  const aside = [0, 2, -2, 4, -4, 12, -12, 15, -15, 16, -16, 8, -8, 8, -8, 8, -8];
  return {
    xPx: Float32Array.from(aside, (a) => x + a),
    yPx: Float32Array.from(down, (d) => y + d),
    confidence: new Float32Array(17).fill(0.8),
  };
}

const timesOf = (count: number) => Float64Array.from({ length: count }, (_, i) => i / 30);
const lay = (poses: readonly (SeenPose | null)[]) => layCrops(poses, timesOf(poses.length), 640, 480);

describe('crops of a whole take', () => {
  it('hold every joint with room to spare, also of a figure that runs', () => {
    const poses = Array.from({ length: 60 }, (_, i) => standing(100 + 4 * i));
    const { centreX, centreY, side } = lay(poses);
    poses.forEach((pose, i) => {
      for (let j = 0; j < 17; j++) {
        expect(Math.abs(pose.xPx[j]! - centreX[i]!)).toBeLessThan(0.45 * side[i]!);
        expect(Math.abs(pose.yPx[j]! - centreY[i]!)).toBeLessThan(0.45 * side[i]!);
      }
    });
    expect(Math.max(...side)).toBeLessThan(250);
  });

  it('are not moved by a single wrong pose', () => {
    const still = Array.from({ length: 41 }, () => standing(300));
    const wrong = still.map((pose, i) => (i === 20 ? standing(40) : pose));
    expect(lay(wrong)).toEqual(lay(still));
  });

  it('do not shake with the noise of the poses', () => {
    const { centreX } = lay(Array.from({ length: 60 }, (_, i) => standing(300 + (i % 2 === 0 ? 4 : -4))));
    const steps = [...centreX].slice(1).map((x, i) => Math.abs(x - centreX[i]!));
    expect(Math.max(...steps)).toBeLessThan(0.5);
  });

  it('bridge a short loss, and are not laid where nobody is for long', () => {
    const poses = Array.from({ length: 120 }, (_, i) => (i < 60 ? null : i >= 80 && i < 90 ? null : standing(300 + i)));
    const { side, centreX } = lay(poses);
    for (let i = 60; i < 120; i++) expect(side[i]).toBeGreaterThan(100);
    expect(centreX[85]).toBeCloseTo(385, 0);
    // Somebody who enters is looked for a little before: half a body is not followable yet.
    expect(side[50]).toBeGreaterThan(100);
    for (let i = 0; i < 40; i++) expect(side[i]).toBeNaN();
  });

  it('are none where nobody is seen at all', () => {
    expect([...lay([null, null]).side]).toEqual([Number.NaN, Number.NaN]);
  });
});
