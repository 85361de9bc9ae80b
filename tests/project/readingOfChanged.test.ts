import { describe, expect, it } from 'vitest';
import type { Footage } from '../../src/base/footage.ts';
import type { PropId } from '../../src/base/joints.ts';
import { type Reading, readingOfChanged } from '../../src/project/reading.ts';
import type { FollowedLeg } from '../../src/track/followedProp.ts';
import { cell, checkSightings } from '../../src/track/sighting.ts';
import { evenTimes, hold, makeSightings } from '../make.ts';

const stills = (count: number): Footage => ({
  ...{ name: 'l_1.jpg', widthPx: 960, heightPx: 540, timesSec: evenTimes(count, 24), endSec: count / 24 },
  ...{ firstStampSec: 0, medianFps: 24, variableFrameRate: false, codec: 'stills', turnedDeg: 0, notes: [] },
});

const leg = (fromPicture: number, toPicture: number): FollowedLeg => {
  const timesSec = evenTimes(24, 24).slice(fromPicture, toPicture + 1);
  const column = timesSec.map(() => 5);
  return {
    ...{ mark: { takeSec: timesSec[0]!, xPx: 5, yPx: 5 }, direction: 1, timesSec },
    ...{ xPx: column, yPx: column, sdPx: column, lost: null },
  };
};

/** Eight stills, all looked at in every way. */
function readBefore(): Reading {
  const seen = makeSightings({ timesSec: evenTimes(8, 24), body: hold(400, 280), noisePx: 1 });
  for (const name of ['onwardXPx', 'onwardYPx', 'onwardSdPx'] as const) seen[name].fill(0.5);
  return {
    footage: stills(8),
    sightings: {
      ...seen,
      ...{ readCount: 8, fineCount: 8, followCount: 8 },
      peopleSeen: [
        { timeSec: 0, count: 1 },
        { timeSec: 6 / 24, count: 1 },
      ],
    },
    followed: new Map([['prop:1' as PropId, [leg(0, 3), leg(3, 7)]]]),
  };
}

describe('readingOfChanged', () => {
  it('keeps all that was seen when stills were added; only the step to the first new one is measured again', () => {
    const before = readBefore();
    const { sightings, footage, followed } = readingOfChanged(before, 8, stills(11));
    checkSightings(sightings);
    expect(footage.timesSec).toHaveLength(11);
    expect([sightings.readCount, sightings.fineCount, sightings.followCount]).toEqual([8, 8, 7]);
    expect(sightings.xPx.slice(0, cell(8, 0))).toEqual(before.sightings.xPx);
    expect(sightings.xPx.slice(cell(8, 0)).every(Number.isNaN)).toBe(true);
    expect(sightings.onwardXPx[cell(6, 0)]).toBe(0.5);
    expect(sightings.onwardXPx[cell(7, 0)]).toBeNaN();
    expect(followed).toEqual(before.followed);
  });

  it('forgets what was seen from a still on that was shot anew', () => {
    const before = readBefore();
    const { sightings, followed } = readingOfChanged(before, 5, stills(8));
    checkSightings(sightings);
    expect([sightings.readCount, sightings.fineCount, sightings.followCount]).toEqual([5, 5, 4]);
    expect(sightings.xPx[cell(4, 5)]).toBe(before.sightings.xPx[cell(4, 5)]);
    expect(sightings.xPx[cell(5, 5)]).toBeNaN();
    expect(sightings.peopleSeen).toHaveLength(1);
    expect(followed?.get('prop:1' as PropId)).toHaveLength(1);
  });

  it('goes with a shot of which the last stills were taken away, and one of which none is left as it was', () => {
    expect(readingOfChanged(readBefore(), 3, stills(3)).sightings.readCount).toBe(3);
    const none = readingOfChanged(readBefore(), 0, stills(4));
    checkSightings(none.sightings);
    expect([none.sightings.readCount, none.sightings.followCount, none.followed]).toEqual([0, 0, undefined]);
  });

  it('keeps how far a stopped reading had come', () => {
    const before = readBefore();
    const { fineCount: _, ...quick } = { ...before.sightings, readCount: 4, followCount: undefined };
    const { sightings } = readingOfChanged({ ...before, sightings: quick }, 8, stills(9));
    expect([sightings.readCount, sightings.fineCount, sightings.followCount]).toEqual([4, 0, 0]);
  });
});
