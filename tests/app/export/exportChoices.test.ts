import { describe, expect, it } from 'vitest';
import {
  movieHolds,
  movieName,
  overlayFrames,
  overlayName,
  sideWithin,
  sizeWords,
} from '../../../src/app/export/exportChoices.ts';
import { listPopThrough } from '../../../src/plan/popThrough.ts';
import { madePlan } from '../../plan/madeTiming.ts';

describe('overlays', () => {
  it('are named by frame, counted from 1, in the order of the frames on every disk', () => {
    expect([0, 8, 95, 1439, 9998, 12344].map(overlayName)).toEqual([
      'shot_0001.png',
      'shot_0009.png',
      'shot_0096.png',
      'shot_1440.png',
      'shot_9999.png',
      'shot_12345.png',
    ]);
  });

  it('are one for each exposure, or one for each frame', () => {
    const plan = madePlan({ frameCount: 97, on: 2 });
    expect(overlayFrames(plan, 'frames')).toEqual(Array.from({ length: 97 }, (_, k) => k));
    expect(overlayFrames(plan, 'exposures')).toEqual(Array.from({ length: 49 }, (_, k) => 2 * k));
  });

  it('have sides that can be painted', () => {
    expect([1920, 3, 99999, 720.6, Number.NaN].map((px) => sideWithin(px, 540))).toEqual([1920, 16, 8192, 721, 540]);
  });
});

describe('movies', () => {
  for (const frameCount of [1, 24, 168])
    for (const of of ['popThrough', 'asExposed'] as const)
      it(`of ${frameCount} frames, ${of}, show every frame once`, () => {
        const plan = madePlan({ frameCount });
        const holds = movieHolds(plan, of);
        let next = 0;
        for (const hold of holds) {
          expect(hold.firstFrame).toBe(next);
          expect(hold.frames).toBeGreaterThan(0);
          next += hold.frames;
        }
        expect(next).toBe(frameCount);
      });

  it('hold each key as long as the pop-through list says, and each exposure as long as it is shot', () => {
    const plan = madePlan();
    const list = listPopThrough(plan);
    expect(movieHolds(plan, 'popThrough').map((h) => [h.poseFrame, h.frames, h.takeSec])).toEqual(
      list.map((p) => [p.poseFrame, p.frames, p.takeSec]),
    );
    const exposed = movieHolds(plan, 'asExposed');
    expect(exposed.map((h) => [h.poseFrame, h.frames])).toEqual(
      plan.timing.exposures.map((e) => [e.firstFrame, e.frames]),
    );
    // Exposures that show the pose before them again keep its number.
    for (const hold of exposed) {
      const pose = plan.poses.find((p) => p.firstFrame <= hold.poseFrame && hold.poseFrame < p.firstFrame + p.frames)!;
      expect(hold.poseNumber).toBe(pose.number);
      expect(hold.takeSec).toBe(plan.timing.takeTimeSec[hold.poseFrame]);
    }
  });

  it('have names of their own', () => {
    const names = (['popThrough', 'asExposed'] as const).flatMap((of) =>
      (['photo', 'puppet'] as const).map((shows) => movieName(of, shows)),
    );
    expect(names).toEqual(['pop-through', 'pop-through-puppet', 'as-exposed', 'as-exposed-puppet']);
  });
});

it('sizes are said in kilobytes and megabytes', () => {
  expect([3, 84_400, 999_600, 12_345_678].map(sizeWords)).toEqual(['1 kB', '84 kB', '1.0 MB', '12.3 MB']);
});
