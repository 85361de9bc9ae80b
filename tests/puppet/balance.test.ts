import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { findBalance } from '../../src/puppet/balance.ts';
import { longArmedPuppet, realisticPuppet } from '../../src/puppet/builtIn.ts';
import { centreOfPuppet, massesOf } from '../../src/puppet/masses.ts';
import { scaledPuppet } from '../../src/puppet/profile.ts';
import { fromTheSide, madeMotion } from './madePuppet.ts';

const find = findBalance;
const upright = fromTheSide(realisticPuppet);
const leaning = fromTheSide(realisticPuppet, { trunkDeg: 60, thighDeg: -12 });

const ownGrams = {
  head: 60,
  trunk: 100,
  upperArm: 10,
  forearm: 6,
  hand: 3,
  thigh: 20,
  shank: 12,
  foot: 9,
};

describe('massesOf', () => {
  it('takes the puppet’s own grams only where all pieces were weighed', () => {
    expect(massesOf({ ...realisticPuppet, massesG: ownGrams })).toMatchObject({ of: ownGrams, arePersons: false });
    const { hand: _, ...some } = ownGrams;
    expect(massesOf({ ...realisticPuppet, massesG: some })).toMatchObject({ arePersons: true });
    expect(massesOf({ ...longArmedPuppet, massesG: ownGrams }).tailLeftOut).toBe(true);
    expect(massesOf({ ...longArmedPuppet, massesG: { ...ownGrams, tail: 20 } })).toMatchObject({ tailLeftOut: false });
  });
});

describe('centreOfPuppet', () => {
  it('is as high as a person’s who stands', () => {
    // de Leva: 0.57 of the height for men, 0.58 in these proportions, arms hanging.
    const { xMm, yMm, sdMm } = centreOfPuppet(madeMotion([upright]));
    expect(yMm[0]! / (1700 / 6)).toBeGreaterThan(0.55);
    expect(yMm[0]! / (1700 / 6)).toBeLessThan(0.59);
    expect(Math.abs(xMm[0]!)).toBeLessThan(1);
    expect(sdMm[0]).toBeLessThan(0.1);
  });

  it('goes up with a heavy head, and is not known where a knee is not', () => {
    const heavy = { ...realisticPuppet, massesG: { ...ownGrams, head: 200 } };
    expect(centreOfPuppet(madeMotion([upright], { profile: heavy })).yMm[0]).toBeGreaterThan(
      centreOfPuppet(madeMotion([upright])).yMm[0]! + 20,
    );
    const { leftKnee: _, ...hidden } = upright;
    expect(centreOfPuppet(madeMotion([hidden])).xMm[0]).toBeNaN();
    const { leftHand: __, ...handless } = upright;
    expect(centreOfPuppet(madeMotion([handless])).xMm[0]).not.toBeNaN();
  });

  it('takes a tail by its own weight', () => {
    const tail = {
      tail1: [-34, 60],
      tail2: [-66, 60],
      tail3: [-96, 60],
      tail4: [-122, 60],
      tail5: [-144, 60],
    } as const;
    const pose = { ...fromTheSide(longArmedPuppet), ...tail };
    const of = (massesG: typeof ownGrams & { tail?: number }) =>
      centreOfPuppet(madeMotion([pose], { profile: { ...longArmedPuppet, massesG } })).xMm[0]!;
    expect(of({ ...ownGrams, tail: 60 })).toBeLessThan(of(ownGrams) - 5);
  });
});

describe('findBalance', () => {
  it('says nothing of a puppet that stands', () => {
    expect(find(madeMotion([upright, upright]))).toMatchObject({ hitches: [], rigFrames: [], tieDownFrames: [] });
  });

  it('tells how far a leaning puppet’s weight is beside its feet, and what to prepare', () => {
    const poses = [upright, upright, leaning, leaning, leaning, upright];
    const { hitches, outsideMm, tieDownFrames, rigFrames } = find(madeMotion(poses));
    const centre = centreOfPuppet(madeMotion([leaning])).xMm[0]!;
    const toes = realisticPuppet.sizes.footMm - realisticPuppet.sizes.heelMm;
    expect(hitches).toHaveLength(1);
    expect(hitches[0]).toMatchObject({ kind: 'offBalance', firstFrame: 2, frames: 3, support: 'tie-down' });
    expect(hitches[0]!.worst).toBeCloseTo(centre - toes, 9);
    expect(outsideMm[3]).toBeCloseTo(centre - toes, 9);
    expect(hitches[0]!.sentence).toMatch(/right of the feet that stand, frames 3 to 5; .*tie-downs on both feet/);
    expect(tieDownFrames).toEqual([{ firstFrame: 2, frames: 3 }]);
    expect(rigFrames).toEqual([]);
  });

  it('asks for a rig where the foot that stands cannot be held', () => {
    const motion = madeMotion([leaning, leaning], { profile: { ...realisticPuppet, tieDowns: 'left' } });
    const onlyRight = { ...motion, planted: motion.planted.filter(({ side }) => side === 'right') };
    expect(find(motion).hitches[0]!.sentence).toContain('a tie-down on the left foot');
    expect(find(onlyRight)).toMatchObject({ hitches: [{ support: 'rig' }], rigFrames: [{ firstFrame: 0, frames: 2 }] });
  });

  it('takes the feet in turn where one stands after the other', () => {
    const motion = madeMotion([leaning, leaning, leaning, leaning]);
    const planted = motion.planted.map((p) => ({ ...p, firstFrame: p.side === 'left' ? 0 : 2, frames: 2 }));
    expect(find({ ...motion, planted }).hitches[0]!.sentence).toMatch(/tie-downs on each foot in turn\.$/);
    const oneHole = { ...motion, planted, profile: { ...realisticPuppet, tieDowns: 'left' as const } };
    expect(find(oneHole).hitches[0]!.support).toBe('rig');
  });

  it('tells of a walk once, with the worst of its steps, yet knows which frames need holding', () => {
    const poses = Array.from({ length: 40 }, (_, k) => (k % 10 < 4 ? leaning : upright));
    const walk = { steps: 4, stepsForGround: 4, groundMm: 400, stepMm: 100 };
    const walking = find(madeMotion(poses, { walks: [{ ...walk, firstFrame: 2, frames: 37 }] }));
    const apart = find(madeMotion(poses));
    expect(apart.hitches).toHaveLength(4);
    expect(walking.hitches).toHaveLength(1);
    const [told] = walking.hitches;
    expect(told).toMatchObject({ kind: 'offBalance', firstFrame: 0, frames: 34, worst: apart.hitches[0]!.worst });
    expect(told!.sentence).toMatch(
      /^While it walks, frames 1 to 34, the weight lies beside the feet that stand 4 times, \d+\.\d mm at worst, at 1: prepare tie-downs on each foot in turn\.$/,
    );
    expect(walking.tieDownFrames).toEqual(apart.tieDownFrames);
    // What lies outside the walk is told by itself.
    const early = find(madeMotion(poses, { walks: [{ ...walk, firstFrame: 15, frames: 20 }] }));
    expect(early.hitches.map((h) => h.firstFrame).sort((a, b) => a - b)).toEqual([0, 10, 20]);
  });

  it('keeps to itself what the tracks are not sure of', () => {
    expect(find(madeMotion([leaning], {}, 200)).hitches).toEqual([]);
  });

  it('tells of both feet in the air, and of toes alone', () => {
    const flying = madeMotion([upright, upright], {
      planted: [],
      unplanted: [{ how: 'air', firstFrame: 0, frames: 2 }],
    });
    expect(find(flying)).toMatchObject({
      hitches: [
        { kind: 'airborne', support: 'rig', sentence: 'Both feet are off the floor, frames 1 to 2: prepare a rig.' },
      ],
      rigFrames: [{ firstFrame: 0, frames: 2 }],
    });
    const turning = { how: 'sliding', firstFrame: 0 } as const;
    const slid = (frames: number) =>
      find(madeMotion([upright, upright, upright], { planted: [], unplanted: [{ ...turning, frames }] }));
    expect(slid(3)).toMatchObject({
      hitches: [{ kind: 'sliding', support: 'tie-down' }],
      rigFrames: [],
      tieDownFrames: [{ firstFrame: 0, frames: 3 }],
    });
    // Two frames between stands are a detector's wavering.
    expect(slid(2).hitches).toEqual([]);
    const onToes = madeMotion([upright], {
      planted: [{ side: 'left', on: 'toe', firstFrame: 0, frames: 1, xMm: 0, yMm: 0 }],
    });
    expect(find(onToes).hitches).toMatchObject([{ kind: 'heelOrToe', support: 'tie-down' }]);
    expect(find(onToes).hitches[0]!.sentence).toContain('toes of the left foot alone, frame 1');
  });

  it('knows nothing of the ground where no feet were seen', () => {
    const blind = find(madeMotion([leaning], { feetSeen: false, planted: [] }));
    expect(blind.hitches).toEqual([]);
    expect(blind.cautions.at(-1)).toContain('Feet were not seen');
  });

  it('is mirrored with the picture and scales with the puppet', () => {
    const lean = fc.record({ trunkDeg: fc.double({ min: -80, max: 80, noNaN: true }) });
    fc.assert(
      fc.property(lean, fc.double({ min: 0.2, max: 4, noNaN: true }), (pose, by) => {
        const made = fromTheSide(realisticPuppet, pose);
        const plain = find(madeMotion([made], {}, 0)).outsideMm[0]!;
        const mirrored = Object.fromEntries(
          Object.entries(made).map(([joint, at]) => [joint, [-at![0], at![1]] as const]),
        );
        expect(find(madeMotion([mirrored], {}, 0)).outsideMm[0]).toBeCloseTo(-plain, 6);
        const profile = scaledPuppet(realisticPuppet, by);
        const large = find(madeMotion([fromTheSide(profile, pose)], { profile }, 0)).outsideMm[0]!;
        expect(large).toBeCloseTo(by * plain, 6);
      }),
    );
  });
});
