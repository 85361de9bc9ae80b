import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { realisticPuppet } from '../../src/puppet/builtIn.ts';
import { facingOf } from '../../src/puppet/facing.ts';
import { findLimits } from '../../src/puppet/limits.ts';
import { type PuppetProfile, personLimitsDeg } from '../../src/puppet/profile.ts';
import { fromTheFront, fromTheSide, madeMotion, mirrored, type SidePose } from './madePuppet.ts';

const find = (pose: SidePose, profile: PuppetProfile = realisticPuppet, sdMm = 0.1) =>
  findLimits(madeMotion([fromTheSide(profile, pose)], { profile }, sdMm));
const kindsOf = (pose: SidePose) => find(pose).map(({ kind, part }) => `${kind} ${part}`);

describe('facingOf', () => {
  it('tells the side from which a body is seen', () => {
    const side = madeMotion([fromTheSide(realisticPuppet)]);
    expect(facingOf(side, 'Shoulder', 0)).toMatchObject({ view: 'side', toward: 1 });
    const other = madeMotion([mirrored(fromTheSide(realisticPuppet))]);
    expect(facingOf(other, 'Hip', 0)).toMatchObject({ view: 'side', toward: -1 });
    expect(facingOf(madeMotion([fromTheFront(realisticPuppet)]), 'Hip', 0)?.view).toBe('front');
    expect(facingOf(madeMotion([fromTheFront(realisticPuppet, { yawDeg: 180 })]), 'Shoulder', 0)?.view).toBe('back');
    expect(facingOf(madeMotion([fromTheFront(realisticPuppet, { yawDeg: 55 })]), 'Shoulder', 0)?.view).toBe(
      'threeQuarter',
    );
  });
});

describe('findLimits', () => {
  it('lets pass what people can do', () => {
    // Means of adults, passive (CDC Normal Joint Range of Motion Study, Soucie et al. 2011): shoulder flexion 172 and 169, elbow 145 (men),
    // hip flexion 130 lies above the textbook's 120, knee 138 above 135 by less than its spread: see the next test.
    expect(find({ armDeg: 170 })).toEqual([]);
    expect(find({ elbowDeg: 144 })).toEqual([]);
    expect(find({ thighDeg: 110, kneeDeg: 130 }).filter(({ part }) => !part.includes('ankle'))).toEqual([]);
    expect(find({})).toEqual([]);
  });

  it('has a person’s limits within published ranges', () => {
    // American Academy of Orthopaedic Surgeons / American Medical Association / Boone & Azen 1979 (men), and CDC as above: least and most.
    const published: Partial<Record<keyof typeof personLimitsDeg, readonly [number, number]>> = {
      shoulderForward: [167, 180],
      shoulderBack: [50, 62],
      shoulderOut: [170, 184],
      elbowBend: [140, 150],
      wristBend: [60, 80],
      wristBack: [60, 75],
      hipForward: [120, 134],
      hipBack: [17, 30],
      hipOut: [45, 45],
      kneeBend: [135, 142],
      ankleUp: [12, 20],
      ankleDown: [45, 62],
      neckForward: [45, 90],
      neckBack: [45, 55],
      neckSide: [45, 45],
    };
    for (const [name, [least, most]] of Object.entries(published)) {
      expect(personLimitsDeg[name as keyof typeof personLimitsDeg]).toBeGreaterThanOrEqual(least);
      expect(personLimitsDeg[name as keyof typeof personLimitsDeg]).toBeLessThanOrEqual(most);
    }
  });

  it('tells how far a joint is beyond, where worst, and whose limit it is', () => {
    const poses = [100, 140, 160, 158, 120].map((kneeDeg) => fromTheSide(realisticPuppet, { thighDeg: 30, kneeDeg }));
    const knee = findLimits(madeMotion(poses)).find(({ part }) => part === 'left knee')!;
    expect(knee).toMatchObject({ firstFrame: 1, frames: 3, worstFrame: 2, unit: 'deg' });
    expect(knee.worst).toBeCloseTo(25, 6);
    expect(knee.sentence).toBe('The left knee bends by 160°, 25° beyond a person’s 135°, frames 2 to 4; worst at 3.');
    const own = { ...realisticPuppet, limitsDeg: { kneeBend: 90 } };
    const [first] = find({ kneeDeg: 100, thighDeg: 40 }, own).filter(({ part }) => part === 'left knee');
    expect(first!.sentence).toContain('by 100°, 10° beyond this puppet’s 90°, frame 1');
  });

  it('keeps to itself what the tracks are not sure of', () => {
    expect(find({ elbowDeg: 154 }, realisticPuppet, 0.1)).toHaveLength(2);
    expect(find({ elbowDeg: 154 }, realisticPuppet, 3)).toEqual([]);
  });

  it('takes the limit that the view shows', () => {
    expect(kindsOf({ armDeg: -80 })).toEqual(['jointLimit left shoulder', 'jointLimit right shoulder']);
    expect(find({ armDeg: -80 })[0]!.sentence).toContain('left arm goes back by 80°, 20° beyond a person’s 60°');
    expect(kindsOf({ armDeg: 80 })).toEqual([]);
    const stiff = { ...realisticPuppet, limitsDeg: { shoulderOut: 70 } };
    const front = (outDeg: number, yawDeg = 0) =>
      findLimits(madeMotion([fromTheFront(stiff, { outDeg, yawDeg })], { profile: stiff }));
    expect(front(90)).toMatchObject([{ part: 'left shoulder' }, { part: 'right shoulder' }]);
    expect(front(90)[0]!.worst).toBeCloseTo(20, 6);
    expect(front(60)).toEqual([]);
    // At a slant the arm may also have gone forward.
    expect(front(90, 50)).toEqual([]);
  });

  it('sees knees and elbows that bend backward', () => {
    expect(kindsOf({ kneeDeg: -25 })).toContain('bendsBackward left knee');
    expect(find({ kneeDeg: -25 }).find(({ part }) => part === 'left knee')!.worst).toBeCloseTo(15, 6);
    expect(kindsOf({ elbowDeg: -25 })).toEqual(['bendsBackward left elbow', 'bendsBackward right elbow']);
    expect(kindsOf({ elbowDeg: -8, kneeDeg: -8 })).toEqual([]);
  });

  it('says of a foreshortened bend only what it must be at least', () => {
    const pose = fromTheSide(realisticPuppet, { armDeg: 0, elbowDeg: 178 });
    const half = (from: readonly [number, number], to: readonly [number, number]) =>
      [from[0] + (to[0] - from[0]) / 2, from[1] + (to[1] - from[1]) / 2] as const;
    const elbow = half(pose.leftShoulder!, pose.leftElbow!);
    const wrist = [elbow[0] + 1, elbow[1] + realisticPuppet.sizes.forearmMm / 2] as const;
    const deep = { ...pose, leftElbow: elbow, leftWrist: wrist, leftHand: wrist };
    expect(findLimits(madeMotion([deep])).map(({ part }) => part)).toEqual(['right elbow']);
  });

  it('is mirrored with the picture', () => {
    const angle = fc.double({ min: -60, max: 200, noNaN: true });
    fc.assert(
      fc.property(
        angle,
        angle,
        angle,
        fc.double({ min: -30, max: 60, noNaN: true }),
        (armDeg, elbowDeg, kneeDeg, trunkDeg) => {
          const pose = fromTheSide(realisticPuppet, { armDeg, elbowDeg, kneeDeg, trunkDeg });
          const told = (p: typeof pose) =>
            findLimits(madeMotion([p])).map(({ part, sentence, worst }) => [part, sentence, worst.toFixed(6)]);
          expect(told(mirrored(pose))).toEqual(told(pose));
        },
      ),
    );
  });
});
