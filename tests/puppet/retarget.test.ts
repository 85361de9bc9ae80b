import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { hinges, type Joint } from '../../src/base/joints.ts';
import { bigHeadedPuppet, builtInPuppets, longArmedPuppet, realisticPuppet } from '../../src/puppet/builtIn.ts';
import { findStands } from '../../src/puppet/feet.ts';
import { measurePerformer } from '../../src/puppet/performer.ts';
import { type PuppetProfile, scaledPuppet } from '../../src/puppet/profile.ts';
import type { PuppetJoint, PuppetMotion } from '../../src/puppet/puppetMotion.ts';
import { type RetargetChoices, retarget } from '../../src/puppet/retarget.ts';
import { fitTracks } from '../../src/track/fitTracks.ts';
import type { HandContact } from '../../src/track/handContact.ts';
import type { JointPath, Motion } from '../../src/track/motion.ts';
import { keptSightings } from '../track/keptSightings.ts';
import { trueTake } from './truthMotion.ts';

const fps = 24;
const plain: RetargetChoices = { fps, steps: 'sameSteps', handContacts: [], tail: null };
const takes = ['keeper', 'enters', 'snap60', 'same_large', 'far_left'] as const;

function motionOf(name: string): { motion: Motion; heightPx: number; take: ReturnType<typeof trueTake> } {
  const take = trueTake(name);
  const count = Math.round(take.durationSec * fps);
  return { motion: take.at(Float64Array.from({ length: count }, (_, k) => k / fps)), heightPx: take.heightPx, take };
}

const onto = (name: string, puppet: PuppetProfile, choices: Partial<RetargetChoices> = {}) => {
  const { motion, heightPx } = motionOf(name);
  return { motion, made: retarget(motion, { heightPx, lengths: null }, puppet, { ...plain, ...choices }) };
};

/** Limbs of a puppet: the joint that carries, the limb's end, how long it is. */
const limbs = ({ sizes: s, tail }: PuppetProfile): [PuppetJoint, PuppetJoint, number][] => [
  ...(['left', 'right'] as const).flatMap((side): [PuppetJoint, PuppetJoint, number][] => [
    [`${side}Shoulder`, `${side}Elbow`, s.upperArmMm],
    [`${side}Elbow`, `${side}Wrist`, s.forearmMm],
    [`${side}Wrist`, `${side}Hand`, s.handMm],
    [`${side}Hip`, `${side}Knee`, s.thighMm],
    [`${side}Knee`, `${side}Ankle`, s.shankMm],
    ['neck', `${side}Shoulder`, s.shouldersMm / 2],
    ['pelvis', `${side}Hip`, s.hipsMm / 2],
  ]),
  ['pelvis', 'neck', s.trunkMm],
  ...(tail?.piecesMm.map((mm, i): [PuppetJoint, PuppetJoint, number] => [
    i === 0 ? 'pelvis' : `tail${i}`,
    `tail${i + 1}`,
    mm,
  ]) ?? []),
];

function at(made: PuppetMotion, joint: PuppetJoint, k: number): [number, number, number] {
  const path = made.paths.get(joint);
  return [path?.xMm[k] ?? Number.NaN, path?.yMm[k] ?? Number.NaN, path?.zMm[k] ?? Number.NaN];
}

describe('a performer on a puppet', () => {
  it('stands on feet that do not move by a hair during any authored contact', () => {
    for (const name of takes) {
      const { motion, heightPx, take } = motionOf(name);
      const stands = findStands(motion, heightPx);
      for (const puppet of builtInPuppets) {
        const made = retarget(motion, { heightPx, lengths: null }, puppet, plain);
        for (const { side, startSec, endSec } of take.contacts) {
          const frames = [...motion.timesSec.keys()].filter(
            (k) => motion.timesSec[k]! >= startSec - 1e-6 && motion.timesSec[k]! <= endSec + 1e-6,
          );
          for (const k of frames) {
            expect(stands[side][k], `${name}: ${side} foot at frame ${k}`).not.toBeNull();
            const planted = made.planted.find(
              (p) => p.side === side && k >= p.firstFrame && k < p.firstFrame + p.frames,
            )!;
            const joint = `${side}${{ foot: 'Ankle', heel: 'Heel', toe: 'Toe' }[planted.on]}` as Joint;
            const [x, y] = at(made, joint, k);
            expect(x).toBe(planted.xMm);
            expect(y).toBe(planted.yMm);
          }
          // From one kind of stand to the next the foot does not jump either: the whole foot's heel and toe are where they were.
          for (const part of ['Heel', 'Toe'] as const) {
            const places = made.planted.filter((p) => p.side === side && p.on === part.toLowerCase());
            for (const p of places) {
              const k = p.firstFrame > 0 ? p.firstFrame - 1 : p.firstFrame;
              if (stands[side][k] !== 'foot') continue;
              const [x, y] = at(made, `${side}${part}`, k);
              expect(Math.hypot(x - p.xMm, y - p.yMm)).toBeLessThan(1e-9);
            }
          }
        }
      }
    }
  });

  it('has limbs of exactly its own lengths in every frame, in space', () => {
    for (const name of takes)
      for (const puppet of builtInPuppets) {
        const { motion, made } = onto(name, puppet);
        for (const [from, to, mm] of limbs(puppet))
          for (const k of motion.timesSec.keys()) {
            const [a, b] = [at(made, from, k), at(made, to, k)];
            const long = Math.hypot(b[0] - a[0], b[1] - a[1], b[2]);
            if (!Number.isNaN(long)) expect(Math.abs(long - mm), `${name}: ${to} in frame ${k}`).toBeLessThan(1e-9);
          }
      }
  });

  it('bends its elbows and knees as the performer does, within a degree where nothing stood in the way', () => {
    const bends = hinges.filter((h) => /Knee|Elbow/.test(h.name));
    const share = (name: string, puppet: PuppetProfile): { within: number; worst: number; worstStanding: number } => {
      const { motion, made } = onto(name, puppet);
      const stands = (side: string, k: number) =>
        made.planted.some((p) => p.side === side && k >= p.firstFrame && k < p.firstFrame + p.frames);
      const off = bends.flatMap((hinge) =>
        [...motion.timesSec.keys()].flatMap((k) => {
          const own = angle(
            [hinge.a, hinge.at, hinge.b].map((j) => [motion.paths.get(j)!.xPx[k]!, motion.paths.get(j)!.yPx[k]!]),
          );
          const its = angle([hinge.a, hinge.at, hinge.b].map((j) => at(made, j, k).slice(0, 2)));
          const isFree = hinge.name.endsWith('Elbow') || stands(hinge.name.startsWith('left') ? 'left' : 'right', k);
          return Number.isNaN(own + its) ? [] : [{ deg: Math.abs(own - its), isFree }];
        }),
      );
      return {
        within: off.filter(({ deg }) => deg <= 1).length / off.length,
        worst: Math.max(...off.map(({ deg }) => deg)),
        worstStanding: Math.max(...off.filter(({ isFree }) => isFree).map(({ deg }) => deg)),
      };
    };
    // Standing and acting with the arms: always.
    for (const puppet of builtInPuppets)
      for (const name of ['snap60', 'same_large', 'far_left', 'drags'])
        expect(share(name, puppet).worst).toBeLessThanOrEqual(1);
    // Crouching and walking on both feet, too. On legs of quite other proportions a foot that swings is led to where it lands and
    // lifted over the floor; arms and legs that stand are as the performer’s.
    for (const puppet of builtInPuppets) expect(share('keeper', puppet).worst).toBeLessThanOrEqual(1);
    expect(share('enters', realisticPuppet).worst).toBeLessThanOrEqual(1);
    for (const puppet of builtInPuppets) {
      expect(share('enters', puppet).worstStanding).toBeLessThanOrEqual(1);
      expect(share('enters', puppet).within).toBeGreaterThan(0.9);
    }
  });

  it('bends them so on what a detector saw, as well', () => {
    const bends = hinges.filter((h) => /Knee|Elbow/.test(h.name));
    for (const name of ['keeper', 'drags', 'uneven2997']) {
      const tracks = fitTracks(keptSightings(name), []);
      const lengths = measurePerformer(tracks.at(tracks.timesSec), tracks.bodyHeightPx);
      const times = Float64Array.from({ length: Math.floor(tracks.timesSec.at(-1)! * fps) }, (_, k) => k / fps);
      const motion = tracks.at(times);
      for (const puppet of builtInPuppets) {
        const made = retarget(motion, { heightPx: tracks.bodyHeightPx, lengths }, puppet, plain);
        for (const hinge of bends)
          for (const k of times.keys()) {
            const joints = [hinge.a, hinge.at, hinge.b];
            const own = angle(joints.map((j) => [motion.paths.get(j)!.xPx[k]!, motion.paths.get(j)!.yPx[k]!]));
            const its = angle(joints.map((j) => at(made, j, k).slice(0, 2)));
            expect(Math.abs(own - its), `${name}: ${hinge.name} in frame ${k}`).toBeLessThanOrEqual(1);
          }
      }
    }
  });

  it('moves as smoothly as the performer: no frame jumps where feet land and lift', () => {
    const jolt = (x: ArrayLike<number>, y: ArrayLike<number>) => {
      let most = 0;
      for (let k = 1; k + 1 < x.length; k++)
        most = Math.max(most, Math.hypot(x[k + 1]! - 2 * x[k]! + x[k - 1]!, y[k + 1]! - 2 * y[k]! + y[k - 1]!) || 0);
      return most;
    };
    for (const name of takes) {
      const { motion, made } = onto(name, realisticPuppet);
      for (const joint of ['pelvis', 'leftAnkle', 'rightAnkle', 'leftKnee', 'rightKnee', 'nose'] as const) {
        const [own, its] = [motion.paths.get(joint)!, made.paths.get(joint)!];
        const limit = 1.3 * made.mmPerPx * jolt(own.xPx, own.yPx) + 1.2;
        expect(jolt(its.xMm, its.yMm), `${name}: ${joint}`).toBeLessThan(limit);
      }
    }
  });

  it('is the same wherever the picture is and however large, and its mirror image in the mirror', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...takes),
        fc.double({ min: 0.4, max: 3, noNaN: true }),
        fc.integer({ min: -300, max: 300 }),
        (name, scale, shift) => {
          const { motion, heightPx } = motionOf(name);
          const own = retarget(motion, { heightPx, lengths: null }, bigHeadedPuppet, plain);
          const moved = changed(
            motion,
            (x, y) => [scale * x + shift, scale * y - shift],
            (j) => j,
          );
          const same = retarget(moved, { heightPx: scale * heightPx, lengths: null }, bigHeadedPuppet, plain);
          const mirrored = changed(motion, (x, y) => [-x, y], otherSide);
          const mirror = retarget(mirrored, { heightPx, lengths: null }, bigHeadedPuppet, plain);
          const x0 = at(own, 'pelvis', 0)[0];
          for (const joint of own.paths.keys())
            for (const k of [0, 11, motion.timesSec.length - 1]) {
              const [a, b, c] = [at(own, joint, k), at(same, joint, k), at(mirror, otherSide(joint as Joint), k)];
              expect(b[0] - at(same, 'pelvis', 0)[0]).toBeCloseTo(a[0] - x0, 5);
              expect(b[1]).toBeCloseTo(a[1], 5);
              expect(c[0] - at(mirror, 'pelvis', 0)[0]).toBeCloseTo(x0 - a[0], 5);
              expect(c[1]).toBeCloseTo(a[1], 5);
            }
        },
      ),
      { numRuns: 6 },
    );
  });

  it('is twice as large where it is built twice as large', () => {
    const [one, two] = [onto('keeper', longArmedPuppet), onto('keeper', scaledPuppet(longArmedPuppet, 2))];
    for (const [joint, path] of one.made.paths)
      for (const k of [0, 40, 100]) {
        const [x, y] = at(two.made, joint, k);
        expect(x).toBeCloseTo(2 * path.xMm[k]!, 6);
        expect(y).toBeCloseTo(2 * path.yMm[k]!, 6);
      }
  });

  it('keeps a hand exactly where it touched for as long as it touches, and comes off softly', () => {
    const contact: HandContact = { id: 'h', hand: 'rightWrist', startSec: 1.25, endSec: 2 };
    const { made } = onto('keeper', longArmedPuppet, { handContacts: [contact] });
    const free = onto('keeper', longArmedPuppet).made;
    const first = 30;
    const [x, y] = at(made, 'rightWrist', first);
    expect(at(free, 'rightWrist', first).slice(0, 2)).toEqual([x, y]);
    for (let k = first; k <= 48; k++) expect(at(made, 'rightWrist', k).slice(0, 2)).toEqual([x, y]);
    expect(Math.hypot(at(free, 'rightWrist', 48)[0] - x, at(free, 'rightWrist', 48)[1] - y)).toBeGreaterThan(1);
    for (const k of [60, 80]) expect(at(made, 'rightWrist', k)).toEqual(at(free, 'rightWrist', k));
    // Somewhere it cannot reach is told.
    const far = onto('keeper', bigHeadedPuppet, { handContacts: [{ ...contact, startSec: 0, endSec: 5 }] }).made;
    expect(far.outOfReach.map((o) => o.limb)).toContain('rightArm');
  });

  it('falls as far as the performer at its scale while neither foot stands', () => {
    // A body that jumps: up at 3 m/s, 250 pixels a metre.
    const [perM, v, g] = [250, 3, 9.81];
    const height = (sec: number) => {
      const t = sec - 0.5;
      return t < 0 || t > (2 * v) / g ? 0 : v * t - (g / 2) * t * t;
    };
    const times = Float64Array.from({ length: 36 }, (_, k) => k / fps);
    const up = (y: number) => (sec: number) => [400, y - perM * height(sec)] as const;
    const places: [Joint, number, number][] = [
      ['pelvis', 0, 300],
      ['neck', 0, 180],
      ['leftShoulder', 45, 180],
      ['rightShoulder', -45, 180],
      ['leftHip', 25, 300],
      ['rightHip', -25, 300],
      ['leftKnee', 25, 404],
      ['rightKnee', -25, 404],
      ['leftAnkle', 25, 508],
      ['rightAnkle', -25, 508],
      ['leftHeel', 20, 520],
      ['rightHeel', -20, 520],
      ['leftToe', 60, 522],
      ['rightToe', -60, 522],
    ];
    const paths = new Map(
      places.map(([joint, dx, y]) => [joint, pathOf(times, (sec) => [up(y)(sec)[0] + dx, up(y)(sec)[1]])]),
    );
    const heightPx = 425;
    const made = retarget({ timesSec: times, paths }, { heightPx, lengths: null }, realisticPuppet, plain);
    expect(made.unplanted).toMatchObject([{ how: 'air' }]);
    const { firstFrame, frames } = made.unplanted[0]!;
    expect(firstFrame).toBeGreaterThanOrEqual(12);
    expect(frames).toBeGreaterThan(10);
    const y0 = at(made, 'pelvis', 0)[1];
    for (let k = firstFrame; k < firstFrame + frames; k++)
      expect(at(made, 'pelvis', k)[1] - y0).toBeCloseTo(perM * height(times[k]!) * made.mmPerPx, 1);
  });

  it('has its floor under the lowest foot where none ever stands', () => {
    const { motion, heightPx } = motionOf('snap60');
    // Everything is carried along the picture: no foot rests.
    const carried = new Map(
      [...motion.paths].map(([joint, path]) => [
        joint,
        { ...path, xPx: path.xPx.map((x, k) => x + 0.02 * heightPx * k), yPx: path.yPx.map((y) => y - 77) },
      ]),
    );
    const made = retarget({ ...motion, paths: carried }, { heightPx, lengths: null }, realisticPuppet, plain);
    expect(made.planted).toEqual([]);
    const ankles = (['leftAnkle', 'rightAnkle'] as const).flatMap((joint) => [...made.paths.get(joint)!.yMm]);
    expect(Math.min(...ankles)).toBeCloseTo(realisticPuppet.sizes.ankleMm, 6);
  });

  it('goes as the performer’s hips do where no foot was seen, and says so', () => {
    const { motion, heightPx } = motionOf('snap60');
    const legless = new Map([...motion.paths].filter(([joint]) => !/Ankle|Heel|Toe|Knee/.test(joint)));
    const made = retarget({ ...motion, paths: legless }, { heightPx, lengths: null }, realisticPuppet, plain);
    expect(made.feetSeen).toBe(false);
    expect(made.planted).toEqual([]);
    expect(made.unplanted).toEqual([]);
    const own = motion.paths.get('pelvis')!;
    const [a, b] = [at(made, 'pelvis', 0), at(made, 'pelvis', 50)];
    expect(b[0] - a[0]).toBeCloseTo((own.xPx[50]! - own.xPx[0]!) * made.mmPerPx, 6);
    const { ankleMm, shankMm, thighMm } = realisticPuppet.sizes;
    expect(a[1]).toBeCloseTo(ankleMm + shankMm + thighMm, 6);
    expect(at(made, 'leftWrist', 5).every((v) => Number.isFinite(v))).toBe(true);
    expect(made.paths.has('leftKnee')).toBe(false);
  });
});

function angle(points: readonly (readonly number[])[]): number {
  const [a, b, c] = points as [number[], number[], number[]];
  const [u, v] = [
    [a[0]! - b[0]!, a[1]! - b[1]!],
    [c[0]! - b[0]!, c[1]! - b[1]!],
  ] as const;
  return (Math.atan2(Math.abs(u[0]! * v[1]! - u[1]! * v[0]!), u[0]! * v[0]! + u[1]! * v[1]!) * 180) / Math.PI;
}

function otherSide<T extends string>(joint: T): T {
  if (joint.startsWith('left')) return joint.replace('left', 'right') as T;
  return joint.startsWith('right') ? (joint.replace('right', 'left') as T) : joint;
}

function changed(
  motion: Motion,
  to: (x: number, y: number) => [number, number],
  name: (joint: Joint) => Joint,
): Motion {
  const paths = new Map<Joint, JointPath>();
  for (const [joint, path] of motion.paths) {
    const places = [...path.xPx].map((x, k) => to(x, path.yPx[k]!));
    paths.set(name(joint as Joint), {
      ...path,
      xPx: Float64Array.from(places, ([x]) => x),
      yPx: Float64Array.from(places, ([, y]) => y),
    });
  }
  return { timesSec: motion.timesSec, paths };
}

function pathOf(timesSec: Float64Array, place: (sec: number) => readonly [number, number]): JointPath {
  const n = timesSec.length;
  return {
    xPx: timesSec.map((t) => place(t)[0]),
    yPx: timesSec.map((t) => place(t)[1]),
    vxPx: new Float64Array(n),
    vyPx: new Float64Array(n),
    sdPx: new Float64Array(n).fill(0.1),
    confidence: new Float32Array(n).fill(1),
    guessed: new Uint8Array(n),
  };
}
