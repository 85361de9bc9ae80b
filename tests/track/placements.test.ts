import { describe, expect, it } from 'vitest';
import { type CocoJoint, cocoJoints } from '../../src/base/joints.ts';
import type { Correction, Placement } from '../../src/track/correction.ts';
import { fitTracks, TrackFitter } from '../../src/track/fitTracks.ts';
import { influencesOf, weightAt } from '../../src/track/placements.ts';
import { cell, type Sightings } from '../../src/track/sighting.ts';
import { editable, evenTimes, makeSightings, pendulum } from '../make.ts';

const number = (joint: CocoJoint): number => cocoJoints.indexOf(joint);
const place = (takeSec: number, xPx: number, yPx: number, reachSec: number): Placement => ({
  kind: 'place',
  joint: 'rightWrist',
  takeSec,
  xPx,
  yPx,
  reachSec,
});

const swing = pendulum(430, 300, 60, 1.6);

/** A wrist that swings, seen 14 px too low in pictures `from` to `to` (as when a sleeve is taken for the hand). */
function seenTooLow(from: number, to: number): Sightings {
  const seen = editable(
    makeSightings({ timesSec: evenTimes(90, 30), joints: { rightWrist: swing }, noisePx: 0.5, seed: 4 }),
  );
  for (let i = from; i < to; i++) seen.yPx[cell(i, number('rightWrist'))]! += 14;
  return seen;
}

function meanErrorPx(seen: Sightings, corrections: readonly Correction[], from: number, to: number): number {
  const at = evenTimes(90, 30);
  const path = fitTracks(seen, corrections).at(at).paths.get('rightWrist')!;
  let sum = 0;
  for (let i = from; i < to; i++) sum += Math.hypot(path.xPx[i]! - swing(at[i]!).x, path.yPx[i]! - swing(at[i]!).y);
  return sum / (to - from);
}

describe('a joint placed by hand', () => {
  it('moves what was seen around it along, and leaves the rest of the take alone', () => {
    const seen = seenTooLow(30, 50);
    const truth = swing(40 / 30);
    const at = (reachSec: number) => [place(40 / 30, truth.x, truth.y, reachSec)];
    const untouched = meanErrorPx(seen, [], 33, 47);
    const bent = meanErrorPx(seen, at(0), 33, 47);
    const moved = meanErrorPx(seen, at(0.5), 33, 47);
    expect(untouched).toBeGreaterThan(12);
    // The smoother alone bends far by itself: it takes an error that lasts for one.
    expect(moved).toBeLessThan(0.9 * bent);
    expect(moved).toBeLessThan(0.2 * untouched);
    expect(Math.abs(meanErrorPx(seen, at(0.5), 66, 90) - meanErrorPx(seen, [], 66, 90))).toBeLessThan(0.2);
  });

  it('reaches no further than its neighbour, through which the path still goes', () => {
    const near = [place(1, 470, 330, 1), place(1.2, 440, 280, 1)];
    const [first, second] = influencesOf(near);
    expect([first!.fromSec, first!.toSec, second!.fromSec, second!.toSec]).toEqual([0, 1.2, 1, 2.2]);
    expect(weightAt(first!, 1)).toBe(1);
    expect(weightAt(first!, 1.2)).toBe(0);
    expect(weightAt(first!, 0.5)).toBeCloseTo(0.5, 9);
    const path = fitTracks(seenTooLow(0, 0), near).at(Float64Array.of(1, 1.2)).paths.get('rightWrist')!;
    expect(Math.hypot(path.xPx[0]! - 470, path.yPx[0]! - 330)).toBeLessThan(1);
    expect(Math.hypot(path.xPx[1]! - 440, path.yPx[1]! - 280)).toBeLessThan(1);
  });

  it('where nothing was seen it does not move the good sightings before and after', () => {
    const seen = editable(makeSightings({ timesSec: evenTimes(90, 30) }));
    for (let i = 38; i < 52; i++) seen.confidence[cell(i, number('rightWrist'))] = 0;
    const tracks = fitTracks(seen, [place(1.5, 400, 250, 0.6)]);
    const path = tracks.at(Float64Array.of(34 / 30, 1.5, 56 / 30)).paths.get('rightWrist')!;
    // Standing still at (432, 297), seen well.
    expect(Math.abs(path.xPx[0]! - 432)).toBeLessThan(2);
    expect(Math.abs(path.xPx[1]! - 400)).toBeLessThan(1);
    expect(Math.abs(path.xPx[2]! - 432)).toBeLessThan(2);
    const [influence] = tracks.seen('rightWrist')!.influences;
    expect([influence!.fromSec, influence!.toSec]).toEqual([1.5, 1.5]);
  });
});

describe('what was seen', () => {
  it('tells sightings that were believed from leaps and from spans marked as hidden', () => {
    const seen = editable(makeSightings({ noisePx: 1 }));
    seen.xPx[cell(30, number('rightWrist'))]! += 200;
    const hide: Correction = { kind: 'hide', joint: 'rightWrist', startSec: 0.49, endSec: 0.51 };
    const { xPx, believed } = fitTracks(seen, [hide]).seen('rightWrist')!;
    expect(xPx[30]).toBeCloseTo(632, -1);
    expect([believed[29], believed[30], believed[31]]).toEqual([1, 0, 1]);
    expect(xPx[15]).toBeNaN();
    expect(xPx[14]).not.toBeNaN();
    expect(fitTracks(seen, []).seen('neck')).toBeNull();
  });
});

describe('sides exchanged by hand', () => {
  it('for the legs alone leave the arms as they are', () => {
    const swap: Correction = { kind: 'swapSides', part: 'legs', startSec: 1, endSec: 1.5 };
    const motion = fitTracks(makeSightings({ noisePx: 1 }), [swap]).at(Float64Array.of(0.5, 1.25));
    expect(motion.paths.get('leftKnee')!.xPx[0]).toBeCloseTo(501, -1);
    expect(motion.paths.get('leftKnee')!.xPx[1]).toBeCloseTo(459, -1);
    expect(motion.paths.get('leftWrist')!.xPx[1]).toBeCloseTo(528, -1);
    const arms = fitTracks(makeSightings({ noisePx: 1 }), [{ ...swap, part: 'arms' }]).at(Float64Array.of(1.25));
    expect(arms.paths.get('leftKnee')!.xPx[0]).toBeCloseTo(501, -1);
    expect(arms.paths.get('leftWrist')!.xPx[0]).toBeCloseTo(432, -1);
  });
});

describe('dragging one joint of a take of twenty seconds', () => {
  const seen = makeSightings({ timesSec: evenTimes(600, 30), noisePx: 1.5, joints: { rightWrist: swing } });
  const dragged = (yPx: number): Correction[] => [place(10, 440, yPx, 1 / 3)];

  it('fits that joint alone, in less than a fifth of the time of all', () => {
    const fitter = new TrackFitter();
    const timed = (act: () => unknown): number => {
      const start = performance.now();
      act();
      return performance.now() - start;
    };
    fitter.fit(seen, dragged(290));
    // The least of several: what the machine does besides only ever adds.
    const whole = Math.min(...[1, 2, 3].map(() => timed(() => fitTracks(seen, dragged(300)))));
    const moves = Array.from({ length: 8 }, (_, k) => timed(() => fitter.fit(seen, dragged(300 + k))));
    expect(Math.min(...moves)).toBeLessThan(whole / 5);
  });

  it('comes to the very tracks that a fit of everything gives', () => {
    const fitter = new TrackFitter();
    const steps: Correction[][] = [
      [],
      dragged(290),
      dragged(310),
      [...dragged(310), { kind: 'swapSides', part: 'arms', startSec: 4, endSec: 5 }],
      [...dragged(310), { kind: 'hide', joint: 'leftKnee', startSec: 4, endSec: 5 }],
      [],
    ];
    const at = evenTimes(48, 24).map((t) => t + 3.7);
    for (const corrections of steps) {
      const remembered = fitter.fit(seen, corrections);
      const fresh = fitTracks(seen, corrections);
      expect(remembered.at(at).paths).toEqual(fresh.at(at).paths);
      expect(remembered.doubts).toEqual(fresh.doubts);
    }
    expect(fitter.fit(seen, [], { mirrored: true }).at(at).paths).toEqual(
      fitTracks(seen, [], { mirrored: true }).at(at).paths,
    );
  });
});
