import { describe, expect, it } from 'vitest';
import { fitTracks } from '../../src/track/fitTracks.ts';
import { joinTracks, jumpsAtCuts } from '../../src/track/joinTracks.ts';
import { evenTimes, hold, makeSightings, minimumJerk } from '../make.ts';

const times = evenTimes(60, 30);
/** The same take, two seconds later on the clock. */
const late = times.map((sec) => sec + 2);
const wave = minimumJerk([432, 297], [300, 120], 0.4, 0.8);
const waving = () => fitTracks(makeSightings({ timesSec: times, joints: { rightWrist: wave }, noisePx: 1 }), []);
const standingLater = (shiftPx: number) =>
  fitTracks(makeSightings({ timesSec: late, body: hold(480 + shiftPx, 280), noisePx: 1, seed: 2 }), []);

describe('tracks of several takes, one after another', () => {
  it('leave each part exactly as it was fitted by itself, on both sides of the cut', () => {
    const [a, b] = [waving(), standingLater(60)];
    const tracks = joinTracks([
      { tracks: a, startSec: 0 },
      { tracks: b, startSec: 2 },
    ]);
    const asked = Float64Array.from([0, 0.7, 1.9, 1.999, 2, 2.001, 3.3]);
    const motion = tracks.at(asked);
    for (const joint of tracks.joints) {
      const got = motion.paths.get(joint)!;
      const [first, second] = [a.at(asked.slice(0, 4)).paths.get(joint)!, b.at(asked.slice(4)).paths.get(joint)!];
      for (const name of ['xPx', 'yPx', 'vxPx', 'vyPx', 'sdPx', 'confidence', 'guessed'] as const)
        expect([...got[name]]).toEqual([...first[name], ...second[name]]);
    }
    expect([...tracks.timesSec]).toEqual([...times, ...late]);
    expect(tracks.seen('nose')!.timesSec).toHaveLength(120);
  });

  it('know the error of a step within a part, and add two fits where it crosses the cut', () => {
    const [a, b] = [waving(), standingLater(0)];
    const tracks = joinTracks([
      { tracks: a, startSec: 0 },
      { tracks: b, startSec: 2 },
    ]);
    const motion = tracks.at(Float64Array.of(1, 1.1, 2.5, 2.6));
    const own = b.at(Float64Array.of(2.5, 2.6));
    expect(motion.stepSdPx!('nose', 2, 3)).toBe(own.stepSdPx!('nose', 0, 1));
    const sd = motion.paths.get('nose')!.sdPx;
    expect(motion.stepSdPx!('nose', 1, 2)).toBeCloseTo(Math.hypot(sd[1]!, sd[2]!), 9);
  });

  it('say how far the pose leaps at a cut, and only where it does', () => {
    const far = joinTracks([
      { tracks: fitTracks(makeSightings({ timesSec: times, noisePx: 1 }), []), startSec: 0 },
      { tracks: standingLater(60), startSec: 2 },
    ]);
    expect(far.doubts.filter((d) => d.code === 'cut')).toMatchObject([{ startSec: 2, endSec: 2, joint: null }]);
    const still = { tracks: fitTracks(makeSightings({ timesSec: times, noisePx: 1 }), []), startSec: 0 };
    expect(joinTracks([still, { tracks: standingLater(0), startSec: 2 }]).doubts.some((d) => d.code === 'cut')).toBe(
      false,
    );
    const [jump] = jumpsAtCuts([still, { tracks: standingLater(60), startSec: 2 }]);
    expect(jump!.jumpPx).toBeGreaterThan(58);
    expect(jump!.jumpPx).toBeLessThan(62);
    expect(jump!.scale).toBeCloseTo(1, 1);
  });

  it('name the joint that leaps furthest', () => {
    const [jump] = jumpsAtCuts([
      { tracks: waving(), startSec: 0 },
      { tracks: standingLater(0), startSec: 2 },
    ]);
    expect(['rightWrist', 'rightHand']).toContain(jump!.joint);
    expect(jump!.furthestPx).toBeGreaterThan(200);
  });

  it('are the part itself where there is one alone', () => {
    const only = waving();
    expect(joinTracks([{ tracks: only, startSec: 0 }])).toBe(only);
    expect(() => joinTracks([])).toThrow();
  });
});
