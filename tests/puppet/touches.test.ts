import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bigHeadedPuppet, realisticPuppet } from '../../src/puppet/builtIn.ts';
import { type PuppetProfile, scaledPuppet, standingHeightMm } from '../../src/puppet/profile.ts';
import { findTouches } from '../../src/puppet/touches.ts';
import {
  fromTheFront,
  fromTheSide,
  madeMotion,
  mirrored,
  type PuppetPose,
  performerOf,
  type SidePose,
} from './madePuppet.ts';

function find(poses: readonly SidePose[], profile: PuppetProfile, asSeen = (pose: PuppetPose) => pose, sdMm = 0.05) {
  const person = poses.map((pose) => asSeen(fromTheSide(realisticPuppet, pose)));
  const mmPerPx = standingHeightMm(profile) / standingHeightMm(realisticPuppet);
  return findTouches(
    madeMotion(
      poses.map((pose) => asSeen(fromTheSide(profile, pose))),
      { profile, mmPerPx, followed: performerOf(person) },
      sdMm,
    ),
  );
}

/** A hand before the chin, without touching it. */
const handUp: SidePose = { armDeg: 60, elbowDeg: 130 };

describe('findTouches', () => {
  it('leaves a puppet alone that is built like the performer', () => {
    expect(find([handUp, {}, { armDeg: 10 }, { armDeg: 60, elbowDeg: 140 }], realisticPuppet)).toEqual([]);
  });

  it('tells where a bigger head comes in the way of an arm, how deep and when', () => {
    const found = find([{}, { armDeg: 90 }, handUp, handUp, { armDeg: 90 }], bigHeadedPuppet);
    const head = found.filter(({ sentence }) => sentence.includes('the head'));
    const left = head.find(({ part }) => part === 'left forearm and hand')!;
    expect(left).toMatchObject({ kind: 'touch', firstFrame: 2, frames: 2 });
    expect(left.worst).toBeGreaterThan(2);
    expect(left.worst).toBeLessThan((bigHeadedPuppet.sizes.headWidthMm + bigHeadedPuppet.sizes.armThickMm) / 2 + 1e-9);
    expect(left.sentence).toMatch(
      /^The left forearm and hand may touch the head, \d+\.\d mm deep, frames 3 to 4; worst at [34]\.$/,
    );
  });

  it('tells of a body that is thicker than the performer’s, where arms do not hang beside it', () => {
    const stout = { ...realisticPuppet, sizes: { ...realisticPuppet.sizes, trunkThickMm: 90 } };
    const touch = (outDeg: number) =>
      findTouches(
        madeMotion([fromTheFront(stout, { outDeg })], {
          profile: stout,
          followed: performerOf([fromTheFront(realisticPuppet, { outDeg })]),
        }),
      ).map(({ sentence }) => sentence);
    expect(touch(0)[0]).toMatch(/^The left forearm and hand may touch the body, \d+\.\d mm deep, frame 1\.$/);
    expect(touch(60)).toEqual([]);
    expect(find([{}], stout)).toEqual([]);
  });

  it('says nothing where the performer’s own arm is before the body or the face', () => {
    const across = fromTheFront(realisticPuppet, { outDeg: -25 });
    expect(findTouches(madeMotion([across], { followed: performerOf([across]) }))).toEqual([]);
    const hanging = performerOf([fromTheFront(realisticPuppet)]);
    expect(findTouches(madeMotion([across], { followed: hanging }))).not.toEqual([]);
    const nobody = { timesSec: Float64Array.of(0), paths: new Map() };
    expect(findTouches(madeMotion([across], { followed: nobody }))).toEqual([]);
    expect(find([{ armDeg: 130, elbowDeg: 110 }], realisticPuppet)).toEqual([]);
  });

  it('keeps to itself what the tracks are not sure of', () => {
    expect(find([handUp], bigHeadedPuppet, undefined, 40)).toEqual([]);
  });

  it('is mirrored with the picture and scales with the puppet', () => {
    const angle = (min: number, max: number) => fc.double({ min, max, noNaN: true });
    fc.assert(
      fc.property(
        angle(0, 180),
        angle(0, 150),
        fc.double({ min: 0.3, max: 3, noNaN: true }),
        (armDeg, elbowDeg, by) => {
          const told = (found: ReturnType<typeof find>, scale = 1) =>
            found.map(({ id, worst }) => [id, (worst / scale).toFixed(6)]);
          const pose = { armDeg, elbowDeg };
          const plain = told(find([pose], bigHeadedPuppet, undefined, 0));
          expect(told(find([pose], bigHeadedPuppet, mirrored, 0))).toEqual(plain);
          expect(told(find([pose], scaledPuppet(bigHeadedPuppet, by), undefined, 0), by)).toEqual(plain);
        },
      ),
      { numRuns: 60 },
    );
  });
});
