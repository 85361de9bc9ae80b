import { describe, expect, it } from 'vitest';
import {
  baselineMotion,
  baselines,
  designButterworth,
  dualPassCutoffHz,
  filterBothWays,
  savitzkyGolay,
  savitzkyGolayWeights,
} from '../../src/track/baselines.ts';
import { cell } from '../../src/track/sighting.ts';
import { editable, makeSightings, straight } from '../make.ts';

const x = Float64Array.of(0, 1, 3, 2, 5, 8, 7, 9, 12, 10, 11, 15, 14, 13, 16, 18);

describe('Butterworth', () => {
  // SciPy 1.10.1: b, a = butter(2, 6/(30/2))
  it('has the coefficients that SciPy designs', () => {
    const { b, a } = designButterworth(6, 30);
    [0.20657208382614792, 0.41314416765229584, 0.20657208382614792].forEach((v, i) => {
      expect(b[i]).toBeCloseTo(v, 14);
    });
    [1, -0.3695273773512414, 0.19581571265583306].forEach((v, i) => {
      expect(a[i]).toBeCloseTo(v, 14);
    });
  });

  it('filters both ways as SciPy does, ends included', () => {
    // SciPy 1.10.1: filtfilt(b, a, x)
    const scipy = [
      9.6198252e-5, 1.120356517818, 2.098928005695, 3.276120786651, 4.954802429765, 6.690411364253, 8.096732345121,
      9.351464687629, 10.341383588747, 11.061150111466, 12.093607331662, 13.263254940657, 13.829039617858,
      14.274358403503, 15.670792887182, 18.00062009046,
    ];
    const ours = filterBothWays(designButterworth(6, 30), x);
    scipy.forEach((v, i) => {
      expect(ours[i]).toBeCloseTo(v, 10);
    });
  });

  it('lets half the power through at the cutoff after both passes', () => {
    const { b, a } = designButterworth(dualPassCutoffHz(6, 30), 30);
    const w = (2 * Math.PI * 6) / 30;
    const power = (c: readonly number[]) =>
      c.reduce((s, v, k) => s + v * Math.cos(k * w), 0) ** 2 + c.reduce((s, v, k) => s + v * Math.sin(k * w), 0) ** 2;
    const onePass = power(b) / power(a);
    expect(onePass ** 2).toBeCloseTo(0.5, 10);
  });
});

describe('Savitzky–Golay', () => {
  // "Savitzky-Golay-Filter-Koeffizienten", Tab. 1 (chemgapedia.de), quadratic/cubic; also Savitzky & Golay 1964.
  it.each([
    [2, 35, [-3, 12, 17, 12, -3]],
    [3, 21, [-2, 3, 6, 7, 6, 3, -2]],
    [4, 231, [-21, 14, 39, 54, 59, 54, 39, 14, -21]],
  ])('has the published weights for half width %i', (half, norm, published) => {
    const weights = savitzkyGolayWeights(half, 3, 0);
    published.forEach((v, i) => {
      expect(weights[i]! * norm).toBeCloseTo(v, 9);
    });
  });

  it('smooths as SciPy does, ends included', () => {
    // SciPy 1.10.1: savgol_filter(x, 9, 3)
    const scipy = [
      -0.030303030303, 1.106060606061, 2.272727272727, 3.5, 4.818181818182, 6.614718614719, 8.08658008658,
      9.203463203463, 10.212121212121, 11.34632034632, 12.285714285714, 12.800865800866, 13.506493506494,
      14.466810966811, 15.843434343434, 17.79797979798,
    ];
    const ours = savitzkyGolay(x, 4, 3);
    scipy.forEach((v, i) => {
      expect(ours[i]).toBeCloseTo(v, 10);
    });
  });
});

describe('baseline tracks', () => {
  it.each(Object.entries(baselines))('%s returns a straight line, and bridges holes straight', (_, clean) => {
    const seen = editable(makeSightings({ body: straight(100, 200, 120, -30) }));
    for (const i of [0, 20, 21, 22, 59]) seen.xPx[cell(i, 9)] = Number.NaN;
    const motion = baselineMotion(seen, clean, Float64Array.of(0.51, 0.7, 1.033));
    const path = motion.paths.get('leftWrist')!;
    motion.timesSec.forEach((t, k) => {
      expect(path.xPx[k]).toBeCloseTo(148 + 120 * t, 0);
      expect(path.yPx[k]).toBeCloseTo(217 - 30 * t, 3);
    });
  });
});
