import { describe, expect, it } from 'vitest';
import { framesOfPictures, type PlannedPictures, recognisePictures } from '../../src/compare/shotFrames.ts';
import { jointOfName, shotMotion } from '../../src/compare/shotMotion.ts';
import type { SeenProp } from '../../src/track/propTracks.ts';

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

  it('stand on their frames, from any frame on, and none beyond the plan', () => {
    expect(framesOfPictures(3, 'exposures', plan)).toEqual([0, 2, 4]);
    expect(framesOfPictures(9, 'exposures', plan, 4)).toEqual([4, 6, 8]);
    expect(framesOfPictures(2, 'poses', plan)).toEqual([0, 6]);
    expect(framesOfPictures(12, 'frames', plan)).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8, 9]);
  });
});

describe('where the puppet is', () => {
  it('is told by marks that are named after joints', () => {
    expect(['left wrist', 'Left Wrist', 'leftWrist', 'left-wrist', 'lamp'].map(jointOfName)).toEqual([
      'leftWrist',
      'leftWrist',
      'leftWrist',
      'leftWrist',
      null,
    ]);
    const timesSec = Float64Array.of(0, 0.1, 0.2);
    const point = (name: string): SeenProp => ({
      prop: { id: `prop:${name}`, name, marks: [], absent: [] },
      timesSec,
      xPx: Float64Array.of(10, Number.NaN, 30),
      yPx: Float64Array.of(1, Number.NaN, 3),
      sdPx: Float64Array.of(0, Number.NaN, 0.5),
      gaps: [],
    });
    const motion = shotMotion(null, [point('nose'), point('lamp')], timesSec)!;
    expect([...motion.paths.keys()]).toEqual(['nose']);
    const { xPx, sdPx } = motion.paths.get('nose')!;
    expect([...xPx]).toEqual([10, Number.NaN, 30]);
    expect(sdPx[0]).toBeCloseTo(0.7, 9);
    expect(sdPx[1]).toBeNaN();
    expect(shotMotion(null, [point('lamp')], timesSec)).toBeNull();
  });
});
