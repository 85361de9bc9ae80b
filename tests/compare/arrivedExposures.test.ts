import { describe, expect, it } from 'vitest';
import { arrivedExposures, picturesWhileShot } from '../../src/compare/arrivedExposures.ts';

/** On twos, one that stays for five frames, on twos again. */
const plan = {
  frameCount: 13,
  exposures: [
    { firstFrame: 0, frames: 2 },
    { firstFrame: 2, frames: 2 },
    { firstFrame: 4, frames: 5 },
    { firstFrame: 9, frames: 2 },
    { firstFrame: 11, frames: 2 },
  ],
  poseFrames: [0, 4, 11],
};

describe('arrivedExposures', () => {
  it('takes one picture for an exposure, several for several, and those beyond the plan for none', () => {
    expect(arrivedExposures(0, 1, 'exposures', plan, 0)).toEqual([0]);
    expect(arrivedExposures(2, 3, 'exposures', plan, 0)).toEqual([2]);
    expect(arrivedExposures(1, 4, 'exposures', plan, 0)).toEqual([1, 2, 3]);
    expect(arrivedExposures(4, 7, 'exposures', plan, 0)).toEqual([4]);
    expect(arrivedExposures(5, 7, 'exposures', plan, 0)).toEqual([]);
  });

  it('waits for the last picture of an exposure where there is one for each frame', () => {
    const one = (picture: number) => arrivedExposures(picture, picture + 1, 'frames', plan, 0);
    expect(Array.from({ length: 13 }, (_, k) => one(k))).toEqual([
      [],
      [0],
      [],
      [1],
      [],
      [],
      [],
      [],
      [2],
      [],
      [3],
      [],
      [4],
    ]);
    expect(arrivedExposures(3, 11, 'frames', plan, 0)).toEqual([1, 2, 3]);
  });

  it('counts from the frame at which the first picture stands, and leaves pictures of key poses alone', () => {
    expect(arrivedExposures(0, 2, 'exposures', plan, 4)).toEqual([2, 3]);
    expect(arrivedExposures(0, 5, 'frames', plan, 4)).toEqual([2]);
    // One frame of the exposure is missing at its beginning: its last one was shot all the same.
    expect(arrivedExposures(0, 1, 'frames', plan, 3)).toEqual([1]);
    expect(arrivedExposures(0, 3, 'poses', plan, 0)).toEqual([]);
  });
});

describe('picturesWhileShot', () => {
  it('takes pictures for exposures until there are more, though there are as many as key poses', () => {
    expect([3, 5, 6].map((count) => picturesWhileShot(null, count, plan))).toEqual([
      'exposures',
      'exposures',
      'frames',
    ]);
    expect(picturesWhileShot('poses', 3, plan)).toBe('poses');
  });
});
