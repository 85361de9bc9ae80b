import { describe, expect, it } from 'vitest';
import type { DetectedJoint } from '../../src/base/joints.ts';
import type { JointPath, Motion } from '../../src/track/motion.ts';
import { median, quantile } from '../../src/track/quantile.ts';
import { type JointTruth, meanScore, sampleSmooth, scoreMotion, truthTorsoPx } from '../../src/track/score.ts';
import { evenTimes } from '../make.ts';

const n = 25;
const times = evenTimes(n, 24);

/** A wrist that moves steadily beside a torso of 100 px. */
function madeTruth(): JointTruth {
  const still = (x: number, y: number) => ({
    xPx: new Float64Array(n).fill(x),
    yPx: new Float64Array(n).fill(y),
    visible: new Uint8Array(n).fill(0),
  });
  const wrist = {
    xPx: times.map((t) => 300 + 50 * t),
    yPx: new Float64Array(n).fill(200),
    visible: Uint8Array.from({ length: n }, (_, i) => (i < 20 ? 1 : 0)),
  };
  return {
    timesSec: times,
    joints: new Map<DetectedJoint, ReturnType<typeof still>>([
      ['leftShoulder', still(120, 100)],
      ['rightShoulder', still(80, 100)],
      ['leftHip', still(110, 200)],
      ['rightHip', still(90, 200)],
      ['leftWrist', wrist],
    ]),
  };
}

function made(of: (k: number) => [number, number], sdPx: number): Motion {
  const column = (axis: 0 | 1) => Float64Array.from({ length: n }, (_, k) => of(k)[axis]);
  const path: JointPath = {
    xPx: column(0),
    yPx: column(1),
    vxPx: new Float64Array(n),
    vyPx: new Float64Array(n),
    sdPx: new Float64Array(n).fill(sdPx),
    confidence: new Float32Array(n).fill(1),
    guessed: new Uint8Array(n),
  };
  return { timesSec: times, paths: new Map([['leftWrist', path]]) };
}

describe('scores', () => {
  it('a constant offset is an absolute error and nothing else', () => {
    const truth = madeTruth();
    const wrist = truth.joints.get('leftWrist')!;
    const score = scoreMotion(
      made((k) => [wrist.xPx[k]! + 3, wrist.yPx[k]! - 4], 1),
      truth,
    );
    expect(truthTorsoPx(truth)).toBe(100);
    expect(score.samples).toBe(20);
    expect(score.absoluteMedian).toBeCloseTo(5, 6);
    for (const zero of [score.positionMedian, score.positionP95, score.onesP95, score.twosP95])
      expect(zero).toBeCloseTo(0, 6);
    expect([score.within1Sd, score.within2Sd, score.missing]).toEqual([1, 1, 0]);
  });

  it('an error that alternates shows on ones and not on twos, and against the spread', () => {
    const truth = madeTruth();
    const wrist = truth.joints.get('leftWrist')!;
    const score = scoreMotion(
      made((k) => [wrist.xPx[k]! + (k % 2 ? 3 : -3), wrist.yPx[k]!], 2.5),
      truth,
    );
    expect(score.onesMedian).toBeCloseTo(6, 6);
    expect(score.twosMedian).toBeCloseTo(0, 6);
    expect(score.positionMedian).toBeCloseTo(3, 6);
    // x lies 1.2 sd off in every frame, y not at all.
    expect([score.within1Sd, score.within2Sd]).toEqual([0.5, 1]);
    // Steps on ones are 6 px off in x, their sd is 2.5·√2 px: 1.7 of it. Steps on twos are right.
    expect([score.onesWithin1Sd, score.onesWithin2Sd]).toEqual([0.5, 1]);
    expect([score.twosWithin1Sd, score.twosWithin2Sd]).toEqual([1, 1]);
  });

  it('twos are the even frames: what happens on odd ones alone is not seen', () => {
    const truth = madeTruth();
    const wrist = truth.joints.get('leftWrist')!;
    const score = scoreMotion(
      made((k) => [wrist.xPx[k]! + (k % 4 === 3 ? 6 : 0), wrist.yPx[k]!], 2),
      truth,
    );
    expect(score.twosP95).toBeCloseTo(0, 6);
    expect(score.onesP95).toBeCloseTo(6, 6);
  });

  it('silence counts as missing, and only where the truth is visible', () => {
    const truth = madeTruth();
    const score = scoreMotion(
      made((k) => (k >= 10 ? [Number.NaN, Number.NaN] : [300, 200]), 1),
      truth,
    );
    expect(score.missing).toBe(0.5);
    expect(scoreMotion({ timesSec: times, paths: new Map() }, truth, ['leftWrist']).missing).toBe(1);
  });

  it('the mean of takes leaves out those that say nothing', () => {
    const truth = madeTruth();
    const wrist = truth.joints.get('leftWrist')!;
    const said = scoreMotion(
      made((k) => [wrist.xPx[k]! + (k % 2 ? 3 : -3), wrist.yPx[k]!], 2),
      truth,
    );
    const unsaid = scoreMotion(
      made((k) => [wrist.xPx[k]!, wrist.yPx[k]!], Number.NaN),
      truth,
    );
    const mean = meanScore([said, unsaid]);
    expect(mean.onesMedian).toBeCloseTo(3, 6);
    expect(mean.within1Sd).toBe(0.5);
    expect(meanScore([unsaid]).within1Sd).toBeNaN();
  });

  it('truth is read between its samples along its curve', () => {
    const t = evenTimes(31, 30);
    const column = t.map((s) => Math.sin(4 * s));
    for (const at of [0.017, 0.51, 0.95]) expect(sampleSmooth(t, column, at)).toBeCloseTo(Math.sin(4 * at), 3);
    expect(sampleSmooth(t, column, -1)).toBe(0);
    expect(sampleSmooth(t, column, 9)).toBe(column[30]);
  });

  it('quantiles interpolate between ordered values', () => {
    // Hyndman & Fan type 7, as R's and NumPy's default: quantile(c(1,2,4,8), 0.4) = 2.4
    expect(quantile([8, 1, 4, 2], 0.4)).toBeCloseTo(2.4, 12);
    expect(median([3, 1, 2])).toBe(2);
    expect(median([])).toBeNaN();
  });
});
