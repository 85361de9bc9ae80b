import { describe, expect, it } from 'vitest';
import {
  bodyCentre,
  deLevaFemale,
  deLevaMale,
  deLevaMean,
  dempsterTable,
  type SegmentTable,
  sumOfShares,
} from '../../src/base/segmentMasses.ts';

type Places = Readonly<Record<string, readonly [number, number]>>;

/** Poses made for this check: x forward, y up, millimetres, both sides alike. */
const legs: Places = { midHip: [0, 930], hip: [0, 930], knee: [0, 500], ankle: [0, 80], heel: [-60, 0], toe: [200, 0] };
const upright: Places = {
  ...legs,
  vertex: [0, 1750],
  cervicale: [0, 1500],
  midShoulder: [0, 1440],
  shoulder: [0, 1440],
  elbow: [0, 1140],
  wrist: [0, 880],
  knuckles: [0, 790],
};
const armsForward: Places = { ...upright, elbow: [300, 1440], wrist: [560, 1440], knuckles: [650, 1440] };
const [s, c] = [Math.sin(Math.PI / 6), Math.cos(Math.PI / 6)];
const leant = (height: number): [number, number] => [s * (height - 930), 930 + c * (height - 930)];
const [shoulderX, shoulderY] = leant(1440);
const leaning: Places = {
  ...legs,
  vertex: leant(1750),
  cervicale: leant(1500),
  midShoulder: leant(1440),
  shoulder: leant(1440),
  elbow: [shoulderX, shoulderY - 300],
  wrist: [shoulderX, shoulderY - 560],
  knuckles: [shoulderX, shoulderY - 650],
};

describe('the tables of segment masses', () => {
  it('add up to a whole body', () => {
    expect(sumOfShares(deLevaMale)).toBeCloseTo(1, 9);
    // As printed, four digits each.
    expect(sumOfShares(deLevaFemale)).toBeCloseTo(0.9999, 9);
    expect(sumOfShares(deLevaMean)).toBeCloseTo(0.99995, 9);
    expect(sumOfShares(dempsterTable)).toBeCloseTo(1, 9);
  });

  it('add up to Winter’s combined pieces', () => {
    // Winter, table 4.1: total arm 0.050, total leg 0.161, head and trunk 0.578.
    const { upperArm, forearm, hand, thigh, shank, foot, head, trunk } = dempsterTable;
    expect(upperArm.share + forearm.share + hand.share).toBeCloseTo(0.05, 9);
    expect(thigh.share + shank.share + foot.share).toBeCloseTo(0.161, 9);
    expect(head.share + trunk.share).toBeCloseTo(0.578, 9);
  });
});

describe('bodyCentre', () => {
  const centre = (of: SegmentTable, places: Places) => bodyCentre(of, (landmark) => places[landmark]!);

  // Computed by hand from the printed table, tolerance 0.05 mm.
  it.each([
    ['standing', upright, [1.501, 995.504], [1.145, 1001.258]],
    ['both arms straight forward', armsForward, [32.159, 1026.161], [28.528, 1028.641]],
    ['leaning 30° forward, arms hanging', leaning, [113.868, 965.395], [114.899, 970.778]],
  ] as const)('is where de Leva’s numbers put it: %s', (_, places, men, women) => {
    for (const [of, right] of [
      [deLevaMale, men],
      [deLevaFemale, women],
    ] as const) {
      const [x, y] = centre(of, places);
      expect(Math.abs(x - right[0])).toBeLessThan(0.05);
      expect(Math.abs(y - right[1])).toBeLessThan(0.05);
    }
  });

  it('takes Dempster’s landmarks', () => {
    const places = { ...upright, ear: [0, 1610] as const, ball: [150, 20] as const };
    const [x, y] = centre(dempsterTable, places);
    expect(x).toBeCloseTo(2 * 0.0145 * 75, 9);
    expect(y).toBeGreaterThan(930);
    expect(y).toBeLessThan(1060);
  });
});
