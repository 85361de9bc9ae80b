import { describe, expect, it } from 'vitest';
import { applyFixes } from '../../src/puppet/applyFixes.ts';
import { bigHeadedPuppet, builtInPuppets, longArmedPuppet, realisticPuppet } from '../../src/puppet/builtIn.ts';
import { findHitches } from '../../src/puppet/hitches.ts';
import { type PuppetProfile, standingHeightMm } from '../../src/puppet/profile.ts';
import type { Planted, PuppetJoint, PuppetMotion, StepPlan } from '../../src/puppet/puppetMotion.ts';
import { retarget } from '../../src/puppet/retarget.ts';
import { fromTheFront, fromTheSide, madeMotion, type PuppetPose, performerOf } from './madePuppet.ts';
import { trueTake } from './truthMotion.ts';

function onPuppet(
  name: string,
  puppet: PuppetProfile,
  steps: StepPlan = 'sameSteps',
  contacts: readonly { hand: 'leftWrist' | 'rightWrist'; startSec: number; endSec: number }[] = [],
): PuppetMotion {
  const take = trueTake(name);
  const motion = take.at(Float64Array.from({ length: Math.floor(take.durationSec * 24) }, (_, k) => k / 24));
  return retarget(motion, { heightPx: take.heightPx, lengths: null }, puppet, {
    fps: 24,
    steps,
    handContacts: contacts.map((c, i) => ({ id: `c${i}`, ...c })),
    tail: null,
  });
}

const at = ({ paths }: PuppetMotion, joint: PuppetJoint, k: number) =>
  [paths.get(joint)!.xMm[k]!, paths.get(joint)!.yMm[k]!] as const;

function expectWhole(fixed: PuppetMotion, before: PuppetMotion, words = ''): void {
  const { sizes: s } = fixed.profile;
  const pieces: readonly (readonly [PuppetJoint, PuppetJoint, number])[] = (['left', 'right'] as const).flatMap(
    (side) => [
      [`${side}Shoulder`, `${side}Elbow`, s.upperArmMm] as const,
      [`${side}Elbow`, `${side}Wrist`, s.forearmMm] as const,
      [`${side}Hip`, `${side}Knee`, s.thighMm] as const,
      [`${side}Knee`, `${side}Ankle`, s.shankMm] as const,
    ],
  );
  for (const [from, to, mm] of pieces) {
    const [a, b] = [fixed.paths.get(from)!, fixed.paths.get(to)!];
    for (let k = 0; k < a.xMm.length; k++)
      expect(Math.hypot(b.xMm[k]! - a.xMm[k]!, b.yMm[k]! - a.yMm[k]!, b.zMm[k]!)).toBeCloseTo(mm, 6);
  }
  // A foot may roll over its toes: then these stand, where they stood.
  const frames = (of: PuppetMotion) => of.planted.reduce((sum, p) => sum + p.frames, 0);
  expect(frames(fixed)).toBe(frames(before));
  for (const { side, on, firstFrame, frames } of fixed.planted)
    for (let k = firstFrame; k < firstFrame + frames; k++) {
      const joint = `${side}${{ foot: 'Ankle', heel: 'Heel', toe: 'Toe' }[on]}` as PuppetJoint;
      expect(at(fixed, joint, k), `${joint} at ${k + 1} ${words}`).toEqual(at(before, joint, k));
    }
}

const shots = ['enters', 'keeper', 'same_large'].flatMap((name) =>
  builtInPuppets.flatMap((puppet) =>
    (['sameSteps', 'sameGround'] as const).map((steps) => [name, puppet.name, steps, puppet] as const),
  ),
);

/** Kind and parts, without the frame. */
const whatOf = (id: string) => id.slice(0, id.lastIndexOf(':'));

describe('the nearest pose the puppet can do', () => {
  it.each(shots)('takes away what it was offered for: %s, %s, %s', (name, _, steps, puppet) => {
    const before = onPuppet(name, puppet, steps);
    for (const hitch of findHitches(before).hitches) {
      const { fix } = hitch;
      if (!fix) continue;
      const after = applyFixes(before, [fix]);
      const left = findHitches(after).hitches.filter(
        (h) =>
          whatOf(h.id) === whatOf(hitch.id) &&
          h.firstFrame < hitch.firstFrame + hitch.frames &&
          hitch.firstFrame < h.firstFrame + h.frames,
      );
      expect(
        left.map((h) => h.sentence),
        `${hitch.sentence} ${fix.kind}`,
      ).toEqual([]);
      expectWhole(after, before, hitch.sentence);
    }
  });

  it('leans the body until a short arm reaches, and the hands stay where they hold on', () => {
    // Both hands on a thing from where they are at 0.5 s; the body goes on.
    const contacts = (['leftWrist', 'rightWrist'] as const).map((hand) => ({ hand, startSec: 0.5, endSec: 2.5 }));
    const before = onPuppet('keeper', { ...longArmedPuppet, ...bigHeadedPuppet }, 'sameSteps', contacts);
    const hitch = findHitches(before).hitches.find((h) => h.fix?.kind === 'reach')!;
    expect(hitch.worst).toBeGreaterThan(1);
    const after = applyFixes(before, [hitch.fix!]);
    const short = (motion: PuppetMotion) => motion.outOfReach.find((o) => o.limb === hitch.part.replace(' arm', 'Arm'));
    expect(short(before)).toBeDefined();
    expect(short(after)).toBeUndefined();
    for (const { side, firstFrame, frames, xMm, yMm } of after.held.filter((h) => hitch.part.startsWith(h.side)))
      for (let k = firstFrame; k < firstFrame + frames; k++) {
        const [x, y] = at(after, `${side}Wrist`, k);
        expect(Math.hypot(x - xMm, y - yMm)).toBeLessThan(1e-3);
      }
    expectWhole(after, before);
    // Far from it nothing has changed.
    const far = hitch.firstFrame + hitch.frames + 5;
    expect(at(after, 'neck', far)).toEqual(at(before, 'neck', far));
  });

  it('turns the head aside where the hand holds on to something', () => {
    const pose = (profile: PuppetProfile) => fromTheSide(profile, { armDeg: 60, elbowDeg: 130 });
    const one = pose(bigHeadedPuppet);
    const [xMm, yMm] = one.leftWrist!;
    const motion = madeMotion([one, one], {
      profile: bigHeadedPuppet,
      mmPerPx: standingHeightMm(bigHeadedPuppet) / standingHeightMm(realisticPuppet),
      followed: performerOf([pose(realisticPuppet), pose(realisticPuppet)]),
      held: [{ side: 'left', firstFrame: 0, frames: 2, xMm, yMm }],
    });
    const hitch = findHitches(motion).hitches.find(({ id }) => id.startsWith('touch:leftForearm-head'))!;
    const after = applyFixes(motion, [hitch.fix!]);
    expect(findHitches(after).hitches.some(({ id }) => id === hitch.id)).toBe(false);
    expect(at(after, 'leftWrist', 0)).toEqual([xMm, yMm]);
    expect(at(after, 'nose', 0)).not.toEqual(at(motion, 'nose', 0));
  });

  it('moves a leg that swings out of the way of another, and leaves one that stands', () => {
    const thick = { ...realisticPuppet, sizes: { ...realisticPuppet.sizes, legThickMm: 34 } };
    const stood = fromTheFront(thick);
    // The left leg swings in over the right one.
    const crossed: PuppetPose = {
      ...stood,
      leftKnee: [-4, stood.leftKnee![1]],
      leftAnkle: [-12, stood.leftAnkle![1]],
      leftHeel: [-12, 0],
      leftToe: [-12, 0],
    };
    const followed = performerOf([stood, stood]);
    const find = (planted: Planted[]) =>
      findHitches(madeMotion([crossed, crossed], { profile: thick, followed, planted })).hitches.filter(
        ({ kind }) => kind === 'touch',
      );
    const right: Planted = { side: 'right', on: 'foot', firstFrame: 0, frames: 2, xMm: -20, yMm: 10 };
    const [shanks] = find([right]);
    expect(shanks!.sentence).toMatch(
      /^The left shank may touch the right shank, \d+\.\d mm deep, frames 1 to 2; worst at 1\.$/,
    );
    const swinging = madeMotion([crossed, crossed], { profile: thick, followed, planted: [right] });
    const after = applyFixes(swinging, [shanks!.fix!]);
    expect(findHitches(after).hitches.some(({ id }) => id === shanks!.id)).toBe(false);
    expect(after.paths.get('rightAnkle')!.xMm).toEqual(swinging.paths.get('rightAnkle')!.xMm);
    expect(find([right, { ...right, side: 'left' }])[0]!.fix).toBeNull();
  });

  it('is not offered for a tail, which is told where it lies across a limb and not where it hangs', () => {
    const pose = fromTheSide(longArmedPuppet);
    const [hipX, hipY] = pose.pelvis!;
    const tail = (dx: number, dy: number): PuppetPose =>
      Object.fromEntries([1, 2, 3, 4, 5].map((i) => [`tail${i}`, [hipX + i * dx, hipY + i * dy] as const]));
    const touches = (tailed: PuppetPose) =>
      findHitches(madeMotion([{ ...pose, ...tailed }], { profile: longArmedPuppet })).hitches.filter(({ part }) =>
        part.startsWith('tail'),
      );
    const across = touches(tail(2, -25));
    expect(across.map(({ sentence }) => sentence)).toContainEqual(
      expect.stringMatching(/^The tail’s piece \d may touch the left shank, \d+\.\d mm deep, frame 1\.$/),
    );
    expect(across.every(({ fix }) => fix === null)).toBe(true);
    expect(touches(tail(-25, 5))).toEqual([]);
    expect(touches(tail(0, -25))).toEqual([]);
  });

  it('is not offered where a hand that holds on would have to let go', () => {
    const contacts = [{ hand: 'rightWrist' as const, startSec: 0, endSec: 9 }];
    for (const name of ['enters', 'same_large'])
      for (const puppet of [realisticPuppet, longArmedPuppet])
        for (const { kind, part, fix } of findHitches(onPuppet(name, puppet, 'sameSteps', contacts)).hitches)
          if (kind === 'touch' && part.startsWith('right')) expect(fix).toBeNull();
  });
});
