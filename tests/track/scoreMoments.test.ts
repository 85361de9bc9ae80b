import { describe, expect, it } from 'vitest';
import type { DetectedJoint } from '../../src/base/joints.ts';
import type { JointPath, Motion } from '../../src/track/motion.ts';
import type { JointTruth } from '../../src/track/score.ts';
import {
  type MomentScore,
  type MotionAt,
  meanMoments,
  scoreMoments,
  speedLeft,
  trueTurns,
  turnErrors,
  wanderInHold,
} from '../../src/track/scoreMoments.ts';
import { evenTimes } from '../make.ts';

const times = evenTimes(91, 30);
const frames = evenTimes(72, 24);

type Place = (sec: number) => number;

/** A nose at (x, y) over a torso that is never seen. */
function madeTruth(x: Place, y: Place, visible: Place = () => 1, torsoPx = 100): JointTruth {
  const still = (atX: number, atY: number) => ({
    xPx: new Float64Array(times.length).fill(atX),
    yPx: new Float64Array(times.length).fill(atY),
    visible: new Uint8Array(times.length),
  });
  return {
    timesSec: times,
    joints: new Map<DetectedJoint, ReturnType<typeof still>>([
      ['leftShoulder', still(120, 100)],
      ['rightShoulder', still(80, 100)],
      ['leftHip', still(110, 100 + torsoPx)],
      ['rightHip', still(90, 100 + torsoPx)],
      ['nose', { xPx: times.map(x), yPx: times.map(y), visible: Uint8Array.from(times, visible) }],
    ]),
  };
}

/** Tracks of a nose by formula. */
function madeTracks(x: Place, y: Place): MotionAt {
  return (sec) => {
    const unknown = new Float64Array(sec.length).fill(Number.NaN);
    const path: JointPath = {
      xPx: sec.map(x),
      yPx: sec.map(y),
      vxPx: unknown,
      vyPx: unknown,
      sdPx: unknown,
      confidence: new Float32Array(sec.length).fill(1),
      guessed: new Uint8Array(sec.length),
    };
    const motion: Motion = { timesSec: sec, paths: new Map([['nose', path]]) };
    return motion;
  };
}

const zero: Place = () => 0;
/** Turns at 0.37 s (greatest) and 0.87, 1.37, 1.87, 2.37 and 2.87 s in turn. */
const swing: Place = (t) => 20 * Math.cos(2 * Math.PI * (t - 0.37));

describe('turns', () => {
  it('are found between the samples, of both signs', () => {
    const turns = trueTurns(madeTruth(swing, zero), 'nose', null).sort((a, b) => a.sec - b.sec);
    expect(turns.map((t) => [t.axis, t.sign])).toEqual([
      ['x', 1],
      ['x', -1],
      ['x', 1],
      ['x', -1],
      ['x', 1],
    ]);
    // The truth lies 33 ms apart; after the turn at 2.87 s it ends before the joint has gone far enough.
    for (const [i, sec] of [0.37, 0.87, 1.37, 1.87, 2.37].entries()) expect(turns[i]!.sec).toBeCloseTo(sec, 3);
  });

  it('are those near authored times only, where some are given', () => {
    const turns = trueTurns(madeTruth(swing, zero), 'nose', [1.5]);
    expect(turns.map((t) => Math.round(100 * t.sec))).toEqual([137]);
    expect(trueTurns(madeTruth(swing, zero), 'nose', [])).toEqual([]);
  });

  it('that hardly stand out, are hidden, or rest at their top are left out', () => {
    expect(
      trueTurns(
        madeTruth((t) => 0.2 * swing(t), zero),
        'nose',
        null,
      ),
    ).toEqual([]);
    const hidden = trueTurns(
      madeTruth(swing, zero, (t) => (t < 1.6 ? 0 : 1)),
      'nose',
      null,
    );
    expect(hidden.map((t) => Math.round(100 * t.sec)).sort()).toEqual([187, 237]);
    // Up for a second, at rest for a second, down: no moment is its top.
    const resting: Place = (t) => 30 * Math.min(1, t, 3 - t) - 0.01 * (t - 1.5) ** 2;
    expect(trueTurns(madeTruth(resting, zero), 'nose', null)).toEqual([]);
  });

  it('that come late are late by that much, whatever the offset and size', () => {
    const turns = trueTurns(madeTruth(zero, swing), 'nose', null);
    const late = madeTracks(zero, (t) => 7 + 0.8 * swing(t - 0.025));
    const errors = turnErrors(late, turns);
    expect(errors).toHaveLength(5);
    for (const e of errors) expect(e).toBeCloseTo(0.025, 3);
    for (const e of turnErrors(
      madeTracks(zero, (t) => swing(t + 0.1)),
      turns,
    ))
      expect(e).toBeCloseTo(-0.1, 3);
  });

  it('that tracks lack or put more than four frames off are lost', () => {
    const turns = trueTurns(madeTruth(swing, zero), 'nose', null);
    expect(
      turnErrors(
        madeTracks((t) => 5 * t, zero),
        turns,
      ).every(Number.isNaN),
    ).toBe(true);
    expect(
      turnErrors(
        madeTracks((t) => swing(t - 0.2), zero),
        turns,
      ).every(Number.isNaN),
    ).toBe(true);
    expect(turnErrors((sec) => ({ timesSec: sec, paths: new Map() }), turns).every(Number.isNaN)).toBe(true);
  });
});

describe('speed left after a dead stop', () => {
  const stop = { joint: 'nose', sec: 1.5 } as const;

  it('is nothing where tracks stop, and all where they go on', () => {
    expect(
      speedLeft(
        madeTracks((t) => 100 * Math.min(t, 1.5), zero),
        stop,
      ),
    ).toBeCloseTo(0, 9);
    expect(
      speedLeft(
        madeTracks(
          (t) => 30 * t,
          (t) => 40 * t,
        ),
        stop,
      ),
    ).toBeCloseTo(1, 9);
  });

  it('is what a rounded stop leaves two frames after it', () => {
    // Speed falls off as exp(−(t − 1.5) / 0.05): exp(−(2/24) / 0.05) = 0.1889 of what it was.
    const rounded: Place = (t) => (t < 1.5 ? 100 * t : 150 + 5 * (1 - Math.exp(-(t - 1.5) / 0.05)));
    expect(speedLeft(madeTracks(rounded, zero), stop)).toBeCloseTo(0.1889, 3);
    // The greatest speed counts, not that at the stop: twice as fast at first, so half of it is left.
    const braked: Place = (t) => (t < 1.2 ? 200 * (t - 1.2) + 120 : rounded(t));
    expect(speedLeft(madeTracks(braked, zero), stop)).toBeCloseTo(0.1889 / 2, 3);
    expect(speedLeft((sec) => ({ timesSec: sec, paths: new Map() }), stop)).toBeNaN();
  });
});

describe('wander in a hold', () => {
  const hold = { startSec: 1, endSec: 2 };
  const breath: Place = (t) => 2 * Math.sin(2 * t);

  it('is the greatest distance between errors inside it, in % of the torso', () => {
    const truth = madeTruth(breath, zero);
    // The error goes from (8, 0) to (8 + 3, 4) in the hold and wildly outside of it.
    const u: Place = (t) => Math.max(0, Math.min(1, t - 1));
    const wild: Place = (t) => (t < 0.99 || t > 2.01 ? 50 : 0);
    const tracks = madeTracks(
      (t) => breath(t) + 8 + 3 * u(t) + wild(t),
      (t) => 4 * u(t),
    );
    expect(wanderInHold(tracks(frames), truth, hold, ['nose'])).toEqual([expect.closeTo(5, 2)]);
  });

  it('does not count a breath that the truth has, and scales with the torso', () => {
    const truth = madeTruth(breath, zero);
    expect(wanderInHold(madeTracks(breath, zero)(frames), truth, hold, ['nose'])[0]).toBeCloseTo(0, 2);
    const drift = madeTracks((t) => 5 * t, zero)(frames);
    expect(wanderInHold(drift, madeTruth(zero, zero), hold, ['nose'])).toEqual([expect.closeTo(5, 6)]);
    expect(
      wanderInHold(
        drift,
        madeTruth(zero, zero, () => 1, 250),
        hold,
        ['nose'],
      ),
    ).toEqual([expect.closeTo(2, 6)]);
  });

  it('is not measured in short holds, nor of joints that are hidden in one of its frames or not tracked', () => {
    const seen = madeTruth(zero, zero);
    const tracks = madeTracks(zero, zero)(frames);
    expect(wanderInHold(tracks, seen, { startSec: 1, endSec: 1.15 }, ['nose'])).toEqual([]);
    expect(
      wanderInHold(
        tracks,
        madeTruth(zero, zero, (t) => (t > 1.8 ? 0 : 1)),
        hold,
        ['nose'],
      ),
    ).toEqual([]);
    expect(wanderInHold(tracks, seen, hold, ['leftHip'])).toEqual([]);
  });
});

describe('moments of a take', () => {
  it('are counted, and summed up by median, 95th percentile and worst', () => {
    const truth = madeTruth(swing, zero);
    const tracks = madeTracks((t) => swing(t - (t < 1.6 ? 0.02 : 0.04)), zero);
    const moments = {
      turningKeysSec: null,
      stops: [{ joint: 'nose', sec: 1.37 } as const],
      holds: [{ startSec: 0, endSec: 1 }],
    };
    const score = scoreMoments(tracks, tracks(frames), truth, moments, ['nose']);
    expect(score).toMatchObject({ turns: 5, turnsLost: 0, stops: 1, held: 1 });
    expect(score.turnMedianSec).toBeCloseTo(0.02, 3);
    expect(score.turnP95Sec).toBeCloseTo(0.04, 3);
    // sin(2π·(2/24 − 0.02)) against 1.
    expect(score.stopWorst).toBeCloseTo(Math.sin(2 * Math.PI * (2 / 24 - 0.02)), 2);
    expect(score.wanderMax).toBeGreaterThan(2);
  });

  it('of several takes: medians in the mean of those that have any, counts summed, the worst kept', () => {
    const one: MomentScore = {
      turns: 4,
      turnsLost: 1,
      turnMedianSec: 0.01,
      turnP95Sec: 0.02,
      stops: 1,
      stopWorst: 0.2,
      held: 10,
      wanderMedian: 0.5,
      wanderP95: 0.8,
      wanderMax: 1,
    };
    const none = { ...one, turns: 0, turnsLost: 0, turnMedianSec: Number.NaN, stops: 0, stopWorst: Number.NaN };
    const other = { ...one, turnMedianSec: 0.03, stopWorst: 0.1, wanderMedian: 0.2, wanderMax: 3 };
    const mean = meanMoments([one, none, other]);
    expect(mean).toMatchObject({ turns: 8, turnsLost: 2, stops: 2, stopWorst: 0.2, held: 30, wanderMax: 3 });
    expect(mean.turnMedianSec).toBeCloseTo(0.02, 12);
    expect(mean.wanderMedian).toBeCloseTo(0.4, 12);
    expect(meanMoments([none]).turnMedianSec).toBeNaN();
  });
});
