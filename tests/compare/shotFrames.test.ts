import { describe, expect, it } from 'vitest';
import { exposureStepSds } from '../../src/compare/shot.ts';
import {
  framesOfPictures,
  type PictureOrder,
  type PlannedPictures,
  recogniseGrowing,
  recognisePictures,
  shotOnPlan,
} from '../../src/compare/shotFrames.ts';
import type { Motion } from '../../src/track/motion.ts';

/** Ten frames on twos, poses at 0 and 6. */
const plan: PlannedPictures = {
  frameCount: 10,
  exposures: [0, 2, 4, 6, 8].map((firstFrame) => ({ firstFrame, frames: 2 })),
  poseFrames: [0, 6],
};

describe('pictures of a shot', () => {
  it('are recognised by their number, finished or not', () => {
    expect([5, 10, 2, 3, 7, 14].map((n) => recognisePictures(n, plan))).toEqual([
      'exposures',
      'frames',
      'poses',
      'exposures',
      'frames',
      'frames',
    ]);
  });

  it('stay what they were while more of them come in, and are exposures where as many are marked as shot', () => {
    const grown = (fromCount: number | null, marked: number, ...counts: number[]) =>
      counts.map((n) => recogniseGrowing(n, poses, { fromCount, marked }));
    // A pop-through would be three pictures: four of five exposures have been there, and so have three.
    const poses = { ...plan, poseFrames: [0, 4, 8] };
    expect(grown(null, 0, 2, 3, 4)).toEqual(['exposures', 'poses', 'exposures']);
    expect(grown(2, 0, 3, 4, 5)).toEqual(['exposures', 'exposures', 'exposures']);
    // More than exposures are frames, and frames do not become exposures where some are taken away.
    expect(grown(2, 0, 6, 10)).toEqual(['frames', 'frames']);
    expect(grown(7, 0, 8, 5)).toEqual(['frames', 'frames']);
    // What was a pop-through is one as long as no more pictures are there than poses.
    expect(grown(3, 0, 3, 4, 6)).toEqual(['poses', 'exposures', 'frames']);
    // Opened anew while shooting: the marks tell, the last of which may not be set yet; one picture beside the plan changes nothing.
    expect(grown(null, 2, 3)).toEqual(['exposures']);
    expect(grown(null, 1, 3)).toEqual(['poses']);
    expect(grown(null, 5, 6)).toEqual(['exposures']);
  });

  it('stand on their frames, from any frame on, and none beyond the plan', () => {
    expect(framesOfPictures(3, 'exposures', plan)).toEqual([0, 2, 4]);
    expect(framesOfPictures(9, 'exposures', plan, 4)).toEqual([4, 6, 8]);
    expect(framesOfPictures(2, 'poses', plan)).toEqual([0, 6]);
    expect(framesOfPictures(12, 'frames', plan)).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8, 9]);
  });
});

describe('a shot on its plan', () => {
  const motionOf = (n: number): Motion => {
    const column = Float64Array.from({ length: n }, (_, k) => k);
    const rest = {
      vxPx: column,
      vyPx: column,
      sdPx: column,
      confidence: new Float32Array(n),
      guessed: new Uint8Array(n),
    };
    return { timesSec: column, paths: new Map([['nose', { xPx: column, yPx: column, ...rest }]]) };
  };

  it('says what steps between its exposures err by, as numbers that another thread can be given', () => {
    const knows: Motion = { ...motionOf(10), stepSdPx: (_, from, to) => 10 * from + to };
    const frames = Array.from({ length: 10 }, (_, k) => k);
    const perFrame = structuredClone(shotOnPlan('frames', frames, plan, knows, null)!);
    expect([...exposureStepSds(perFrame).get('nose')!]).toEqual([Number.NaN, 12, 34, 56, 78]);
    // The second of five pictures is missing: nobody knows the steps to it and from it.
    const [places, five] = [[0, 2, 3, 4], { ...motionOf(4), stepSdPx: knows.stepSdPx! }];
    const gap = structuredClone(shotOnPlan('exposures', [0, 2, 4, 6, 8], plan, five, null, places)!);
    expect([...exposureStepSds(gap).get('nose')!]).toEqual([Number.NaN, Number.NaN, Number.NaN, 12, 23]);
    expect(exposureStepSds(shotOnPlan('exposures', [0, 2, 4, 6, 8], plan, motionOf(5), null)!).size).toBe(0);
  });
  const stepsOf = (n: number) => Array.from({ length: n }, (_, k) => ({ shiftXPx: k, shiftYPx: 0, brightness: 1 }));
  const laid = (n: number, order: PictureOrder, firstFrame = 0) =>
    shotOnPlan(order, framesOfPictures(n, order, plan, firstFrame), plan, motionOf(n), stepsOf(n));

  it('has one entry for each exposure that was shot', () => {
    const shot = laid(3, 'exposures')!;
    expect(shot.exposures.map((e) => [e.firstFrame, e.frames])).toEqual([
      [0, 2],
      [2, 2],
      [4, 2],
    ]);
    expect(shot.motion.timesSec).toHaveLength(3);
    expect(shot.pictures).toHaveLength(3);
    expect(laid(2, 'poses')!.exposures.map((e) => [e.firstFrame, e.frames])).toEqual([
      [0, 6],
      [6, 4],
    ]);
    expect(laid(1, 'exposures')).toBeNull();
  });

  it('counts only whole exposures where there is a picture for each frame, from where it was taken up', () => {
    const shot = laid(7, 'frames', 2)!;
    expect(shot.exposures.map((e) => e.firstFrame)).toEqual([2, 4, 6]);
    expect([...shot.motion.paths.get('nose')!.xPx]).toEqual([0, 1, 2, 3, 4, 5]);
    expect(shot.pictures!.map((p) => p.shiftXPx)).toEqual([0, 2, 4]);
    // Begun within an exposure: that one is left out.
    const late = laid(6, 'frames', 3)!;
    expect(late.exposures.map((e) => e.firstFrame)).toEqual([4, 6]);
    expect([...late.motion.paths.get('nose')!.xPx]).toEqual([1, 2, 3, 4]);
  });
});
