import { describe, expect, it } from 'vitest';
import { readRuler } from '../../src/compare/ruler.ts';
import {
  applySimilarity,
  fitSimilarity,
  invertSimilarity,
  procrustesDisparity,
  type Similarity,
  standardised,
} from '../../src/compare/similarity.ts';
import { gaussian, seeded } from '../make.ts';

/** Points like joints of a puppet in many poses, millimetres, and where a camera sees them. */
function seen(truth: Similarity, seed: number, count = 400, sdPx = 2, wrong = 1 / 3) {
  const random = seeded(seed);
  const draw = gaussian(random);
  const from = {
    x: Array.from({ length: count }, () => 400 * random() - 100),
    y: Array.from({ length: count }, () => -250 * random()),
  };
  const to = { x: [] as number[], y: [] as number[] };
  for (let i = 0; i < count; i++) {
    const [x, y] = applySimilarity(truth, from.x[i]!, from.y[i]!);
    // The wrong ones err together, as a limb taken for another does: harder than errors all around.
    const off = random() < wrong ? [40 + 60 * random(), -80 * random()] : [0, 0];
    to.x.push(x + sdPx * draw() + off[0]!);
    to.y.push(y + sdPx * draw() + off[1]!);
  }
  return { from, to };
}

describe('a similarity between points', () => {
  it('is found to 0.5 %, 0.3° and 0.5 px through a detector’s errors, a third of the points being wrong', () => {
    for (let seed = 1; seed <= 25; seed++) {
      const random = seeded(seed + 100);
      const truth: Similarity = {
        scale: 0.6 + 3 * random(),
        rotationDeg: 60 * random() - 30,
        shiftX: 900 * random(),
        shiftY: 300 + 500 * random(),
        isMirrored: seed % 5 === 0,
      };
      const { from, to } = seen(truth, seed);
      const fit = fitSimilarity(from, to, { mirror: truth.isMirrored })!;
      expect(Math.abs(fit.similarity.scale / truth.scale - 1), `scale, seed ${seed}`).toBeLessThan(0.005);
      expect(Math.abs(fit.similarity.rotationDeg - truth.rotationDeg)).toBeLessThan(0.3);
      const [x, y] = applySimilarity(fit.similarity, ...fit.centre);
      const [u, v] = applySimilarity(truth, ...fit.centre);
      expect(Math.hypot(x - u, y - v), `shift, seed ${seed}`).toBeLessThan(0.5);
      expect(fit.residualSd).toBeGreaterThan(1.6);
      expect(fit.residualSd).toBeLessThan(2.6);
    }
  });

  it('says how sure it is', () => {
    const truth: Similarity = { scale: 2, rotationDeg: 10, shiftX: 300, shiftY: 500, isMirrored: false };
    const [scales, turns, shifts] = [[] as number[], [] as number[], [] as number[]];
    for (let seed = 1; seed <= 200; seed++) {
      const { from, to } = seen(truth, seed, 60, 2, 0);
      const fit = fitSimilarity(from, to)!;
      scales.push((fit.similarity.scale / 2 - 1) / fit.scaleSdShare);
      turns.push((fit.similarity.rotationDeg - 10) / fit.rotationSdDeg);
      const [x] = applySimilarity(fit.similarity, ...fit.centre);
      shifts.push((x - applySimilarity(truth, ...fit.centre)[0]) / fit.shiftSd);
    }
    for (const errors of [scales, turns, shifts]) {
      const sd = Math.sqrt(errors.reduce((sum, e) => sum + e * e, 0) / errors.length);
      expect(sd).toBeGreaterThan(0.8);
      expect(sd).toBeLessThan(1.3);
    }
  });

  it('can be gone back, mirrored or not', () => {
    for (const isMirrored of [false, true]) {
      const there: Similarity = { scale: 1.7, rotationDeg: 37, shiftX: 12, shiftY: -7, isMirrored };
      const [x, y] = applySimilarity(invertSimilarity(there), ...applySimilarity(there, 3, 4));
      expect(x).toBeCloseTo(3, 10);
      expect(y).toBeCloseTo(4, 10);
    }
  });

  it('keeps a scale that is given, and says nothing of points in one place', () => {
    const truth: Similarity = { scale: 2, rotationDeg: 10, shiftX: 300, shiftY: 500, isMirrored: false };
    const { from, to } = seen(truth, 3);
    expect(fitSimilarity(from, to, { scale: 2.1 })!.similarity.scale).toBeCloseTo(2.1, 12);
    expect(fitSimilarity({ x: [1, 1, 1], y: [2, 2, 2] }, { x: [1, 2, 3], y: [0, 0, 0] })).toBeNull();
    expect(fitSimilarity({ x: [1, Number.NaN], y: [2, 2] }, { x: [1, 2], y: [0, 0] })).toBeNull();
  });

  // Points and result: https://docs.scipy.org/doc/scipy-1.1.0/reference/generated/scipy.spatial.procrustes.html
  it('agrees with SciPy’s procrustes example through the mirror, and finds it unlike without', () => {
    const a = { x: [1, 1, 1, 2], y: [3, 2, 1, 1] };
    const b = { x: [4, 4, 4, 2], y: [-2, -4, -6, -6] };
    expect(procrustesDisparity(a, b, true)).toBeCloseTo(0, 12);
    expect(procrustesDisparity(a, b)).toBeGreaterThan(0.1);
    // Standardised a, worked out by hand from the same page's definition.
    const { x, y } = standardised(a);
    [-0.133631, -0.133631, -0.133631, 0.400892].forEach((v, i) => {
      expect(x[i]).toBeCloseTo(v, 6);
    });
    [0.668153, 0.133631, -0.400892, -0.400892].forEach((v, i) => {
      expect(y[i]).toBeCloseTo(v, 6);
    });
    const mirrored = fitSimilarity(b, a, { mirror: true, isPlain: true })!;
    expect(mirrored.residualSd).toBeLessThan(1e-9);
    expect(mirrored.similarity.scale).toBeCloseTo(0.5, 12);
    expect(fitSimilarity(b, a, { isPlain: true })!.residualSd).toBeGreaterThan(0.1);
  });
});

describe('a ruler in the picture', () => {
  it('tells millimetres per pixel, and how sure two clicks are', () => {
    const read = readRuler({ fromPx: [100, 100], toPx: [400, 500], lengthMm: 150 })!;
    expect(read.mmPerPx).toBeCloseTo(0.3, 12);
    expect(read.sdShare).toBeCloseTo(Math.SQRT2 / 500, 12);
    expect(readRuler({ fromPx: [1, 1], toPx: [1, 1], lengthMm: 150 })).toBeNull();
  });
});
