import { describe, expect, it } from 'vitest';
import { type CocoJoint, cocoJoints, type Joint, sidePairs } from '../../src/base/joints.ts';
import type { Correction } from '../../src/track/correction.ts';
import { fitTracks } from '../../src/track/fitTracks.ts';
import type { Motion } from '../../src/track/motion.ts';
import { cell, type Sightings } from '../../src/track/sighting.ts';
import { editable, evenTimes, hold, type MadeMovement, makeSightings, pendulum, standing, straight } from '../make.ts';

const number = (joint: CocoJoint): number => cocoJoints.indexOf(joint);

/** Exchanges left and right of these joints in these pictures, as a confused detector does. */
function confuse(seen: Sightings, pictures: readonly number[], of: (left: CocoJoint) => boolean): void {
  for (const [left, right] of sidePairs) {
    if (!of(left)) continue;
    for (const i of pictures)
      for (const column of [seen.xPx, seen.yPx, seen.confidence]) {
        const [a, b] = [cell(i, number(left)), cell(i, number(right))];
        [column[a], column[b]] = [column[b]!, column[a]!];
      }
  }
}

const span = (from: number, to: number): number[] => Array.from({ length: to - from }, (_, k) => from + k);
const legs = (left: CocoJoint): boolean => /Hip|Knee|Ankle/.test(left);
const worst = (motion: Motion, joint: Joint, truth: MadeMovement): number => {
  const path = motion.paths.get(joint)!;
  return Math.max(
    ...Array.from(motion.timesSec, (t, k) => Math.hypot(path.xPx[k]! - truth(t).x, path.yPx[k]! - truth(t).y)),
  );
};

/** Feet that pass each other again and again, as in a walk on the spot seen from the side. */
const leftFoot = pendulum(480, 476, 70, 1.1);
const rightFoot: MadeMovement = (t) => leftFoot(t + 0.55);
const walking = (noisePx: number) =>
  makeSightings({
    timesSec: evenTimes(90, 30),
    joints: {
      leftAnkle: leftFoot,
      rightAnkle: rightFoot,
      leftKnee: (t) => ({ ...leftFoot(t), x: 480 + (leftFoot(t).x - 480) / 2, y: 378 }),
      rightKnee: (t) => ({ ...rightFoot(t), x: 480 + (rightFoot(t).x - 480) / 2, y: 378 }),
    },
    noisePx,
  });

describe('sides', () => {
  it('feet that cross keep their sides', () => {
    const tracks = fitTracks(walking(1.5), []);
    const motion = tracks.at(evenTimes(70, 24));
    expect(worst(motion, 'leftAnkle', leftFoot)).toBeLessThan(8);
    expect(worst(motion, 'rightAnkle', rightFoot)).toBeLessThan(8);
    expect(tracks.doubts.filter((d) => d.code === 'swapped')).toEqual([]);
  });

  it.each([
    ['a few pictures', span(20, 25)],
    ['half a second', span(40, 56)],
    ['the beginning', span(0, 21)],
    ['twice', [...span(20, 26), ...span(60, 70)]],
  ])('legs that the detector confuses for %s are set right, and it is told', (_, pictures) => {
    const seen = editable(walking(1.5));
    confuse(seen, pictures, legs);
    const tracks = fitTracks(seen, []);
    const motion = tracks.at(evenTimes(70, 24));
    expect(worst(motion, 'leftAnkle', leftFoot)).toBeLessThan(8);
    const told = tracks.doubts.filter((d) => d.code === 'swapped');
    expect(told.length).toBeGreaterThan(0);
    expect(told[0]!.startSec).toBeGreaterThan(pictures[0]! / 30 - 0.1);
    expect(told[0]!.startSec).toBeLessThan(pictures[0]! / 30 + 0.1);
  });

  it('the animator’s word on sides is laid on top of the settled ones', () => {
    const corrections: Correction[] = [{ kind: 'swapSides', part: 'all', startSec: 1, endSec: 1.5 }];
    const motion = fitTracks(makeSightings({ noisePx: 1 }), corrections).at(Float64Array.of(0.5, 1.25, 1.9));
    const x = motion.paths.get('leftShoulder')!.xPx;
    expect(x[0]).toBeCloseTo(520, -1);
    expect(x[1]).toBeCloseTo(440, -1);
    expect(x[2]).toBeCloseTo(520, -1);
  });

  it('a mirrored take exchanges left and right and keeps every pixel', () => {
    const seen = makeSightings({ joints: { leftWrist: pendulum(560, 300, 60, 1.2) }, noisePx: 1.5 });
    const at = evenTimes(46, 24);
    const plain = fitTracks(seen, []).at(at);
    const mirrored = fitTracks(seen, [], { mirrored: true }).at(at);
    expect(mirrored.paths.get('rightWrist')!.xPx).toEqual(plain.paths.get('leftWrist')!.xPx);
    expect(mirrored.paths.get('leftKnee')!.yPx).toEqual(plain.paths.get('rightKnee')!.yPx);
    expect(mirrored.paths.get('nose')!.xPx).toEqual(plain.paths.get('nose')!.xPx);
  });

  it('the mirror image of the sightings gives the mirror image of the tracks', () => {
    const seen = makeSightings({ joints: { leftWrist: pendulum(560, 300, 60, 1.2) }, noisePx: 1.5 });
    const image = editable(seen);
    image.xPx.forEach((x, i) => {
      image.xPx[i] = 960 - x;
    });
    confuse(image, span(0, 60), () => true);
    const at = evenTimes(46, 24);
    const plain = fitTracks(seen, []).at(at);
    const turned = fitTracks(image, []).at(at);
    for (const [left, right] of sidePairs)
      at.forEach((_, k) => {
        expect(turned.paths.get(right)!.xPx[k]).toBeCloseTo(960 - plain.paths.get(left)!.xPx[k]!, 2);
        expect(turned.paths.get(right)!.yPx[k]).toBeCloseTo(plain.paths.get(left)!.yPx[k]!, 2);
      });
  });
});

describe('corrections', () => {
  it('a placed joint is where it was placed, between its neighbours’ sightings, and the rest stays', () => {
    const seen = makeSightings({ noisePx: 1 });
    const place: Correction = { kind: 'place', joint: 'leftWrist', takeSec: 1.0, xPx: 560, yPx: 330, reachSec: 0 };
    const at = Float64Array.of(0.3, 1.0, 1.7);
    const before = fitTracks(seen, []).at(at).paths;
    const after = fitTracks(seen, [place]).at(at).paths;
    expect(Math.hypot(after.get('leftWrist')!.xPx[1]! - 560, after.get('leftWrist')!.yPx[1]! - 330)).toBeLessThan(2);
    expect(after.get('leftWrist')!.sdPx[1]!).toBeLessThan(1);
    expect(after.get('leftWrist')!.xPx[0]!).toBeCloseTo(before.get('leftWrist')!.xPx[0]!, -1);
    expect(after.get('leftWrist')!.xPx[2]!).toBeCloseTo(before.get('leftWrist')!.xPx[2]!, -1);
    expect(after.get('rightWrist')!.xPx).toEqual(before.get('rightWrist')!.xPx);
  });

  it('placing twice at one moment keeps the later word; a placement between pictures counts as well', () => {
    const place = (takeSec: number, xPx: number): Correction => ({
      kind: 'place',
      joint: 'nose',
      takeSec,
      xPx,
      yPx: 130,
      reachSec: 0,
    });
    const path = fitTracks(makeSightings(), [place(0.5, 470), place(0.5, 490), place(1.017, 495)])
      .at(Float64Array.of(0.5, 1.017))
      .paths.get('nose')!;
    expect(path.xPx[0]).toBeCloseTo(490, 0);
    expect(path.xPx[1]).toBeCloseTo(495, 0);
  });

  it('sightings in a hidden span do not matter, and the span is told as filled in', () => {
    const truth = straight(500, 300, 30, 0);
    const seen = editable(makeSightings({ joints: { rightWrist: truth } }));
    for (let i = 20; i < 40; i++) seen.yPx[cell(i, number('rightWrist'))]! += 60;
    const hide: Correction = { kind: 'hide', joint: 'rightWrist', startSec: 20 / 30 - 0.01, endSec: 39 / 30 + 0.01 };
    const shown = fitTracks(seen, []);
    const hidden = fitTracks(seen, [hide]);
    const at = Float64Array.of(1.0);
    expect(shown.at(at).paths.get('rightWrist')!.yPx[0]! - 300).toBeGreaterThan(40);
    expect(Math.abs(hidden.at(at).paths.get('rightWrist')!.yPx[0]! - 300)).toBeLessThan(0.5);
    expect(hidden.at(at).paths.get('rightWrist')!.guessed[0]).toBe(1);
    const told = hidden.doubts.find((d) => d.code === 'guessed' && d.joint === 'rightWrist')!;
    expect(told.startSec).toBeCloseTo(21 / 30, 1);
    expect(told.endSec).toBeCloseTo(38 / 30, 1);
  });
});

describe('the body', () => {
  it('has the height that its limbs tell, also when it never stands upright', () => {
    const upright = fitTracks(makeSightings({ noisePx: 2 }), []);
    expect(upright.bodyHeightPx / 400).toBeGreaterThan(0.95);
    expect(upright.bodyHeightPx / 400).toBeLessThan(1.05);
    expect(upright.torsoPx).toBeCloseTo(115, -1);
    // Sits: thighs toward the lens, half as long in the picture.
    const [hipY, kneeY] = [standing.leftHip[1], standing.leftKnee[1]];
    const sunk = (joint: CocoJoint): MadeMovement => {
      const [x, y] = standing[joint];
      return hold(480 + x, 280 + y - (y > hipY ? (kneeY - hipY) / 2 : 0));
    };
    const names: CocoJoint[] = ['leftKnee', 'rightKnee', 'leftAnkle', 'rightAnkle'];
    const seated = fitTracks(makeSightings({ joints: Object.fromEntries(names.map((j) => [j, sunk(j)])) }), []);
    expect(seated.bodyHeightPx / 400).toBeGreaterThan(0.85);
  });

  it('neck, chest and pelvis lie on the middle line, the chin under the mouth', () => {
    const tracks = fitTracks(makeSightings(), []);
    expect(tracks.joints).toEqual([...cocoJoints, 'neck', 'pelvis', 'chest', 'chin']);
    const at = (joint: Joint) => {
      const path = tracks.at(Float64Array.of(1)).paths.get(joint)!;
      return [path.xPx[0]!, path.yPx[0]!, path.sdPx[0]!] as const;
    };
    expect(at('neck')[1]).toBeCloseTo(280 - 115, 1);
    expect(at('pelvis')[1]).toBeCloseTo(280, 1);
    expect(at('chest')[1]).toBeCloseTo(280 - 115 * (2 / 3), 1);
    expect(at('chin')[0]).toBeCloseTo(480, 1);
    // A chin lies 0.870 of the height above the floor (Drillis & Contini, from memory): 128 px above the hips here.
    expect(280 - at('chin')[1]).toBeGreaterThan(118);
    expect(280 - at('chin')[1]).toBeLessThan(138);
    expect(at('neck')[2]).toBeLessThan(at('leftShoulder')[2]);
    expect(at('chin')[2]).toBeGreaterThan(2 * at('nose')[2]);
  });

  it('a constructed joint is missing when one of its parts is', () => {
    const seen = editable(makeSightings());
    for (let i = 0; i < 60; i++) seen.confidence[cell(i, number('leftHip'))] = 0;
    const { joints } = fitTracks(seen, []);
    expect(joints).toContain('neck');
    expect(joints).not.toContain('pelvis');
    expect(joints).not.toContain('chest');
  });
});

describe('doubts', () => {
  it('a good take raises none', () => {
    expect(fitTracks(makeSightings({ noisePx: 1 }), []).doubts).toEqual([]);
  });

  it('each fault is told once, with its span and joint', () => {
    const seen = editable(makeSightings({ timesSec: evenTimes(120, 30), noisePx: 1 }));
    const set = (joint: CocoJoint, from: number, to: number, confidence: number) => {
      for (const i of span(from, to)) seen.confidence[cell(i, number(joint))] = confidence;
    };
    set('leftWrist', 30, 50, 0.2);
    set('rightWrist', 40, 70, 0);
    for (const i of span(80, 120)) seen.xPx[cell(i, number('leftElbow'))]! += 700;
    const told = fitTracks(seen, []).doubts.map((d) => `${d.code} ${d.joint}`);
    expect(told.filter((d) => d === 'hidden leftWrist').length).toBe(1);
    expect(told.filter((d) => d === 'guessed rightWrist').length).toBe(1);
    expect(told.filter((d) => d === 'out-of-frame leftElbow').length).toBe(1);
  });

  it('feet below the picture, a limb toward the lens, a far performer, two people, an empty stretch', () => {
    const low = fitTracks(makeSightings({ body: hold(480, 345) }), []).doubts;
    expect(low.map((d) => `${d.code} ${d.joint}`)).toContain('out-of-frame leftAnkle');

    const toLens = makeSightings({
      timesSec: evenTimes(120, 30),
      joints: { leftWrist: (t) => hold(528, t < 2 ? 297 : 255)(t) },
    });
    const plane = fitTracks(toLens, []).doubts.find((d) => d.code === 'out-of-plane')!;
    expect(plane.joint).toBe('leftWrist');
    expect(plane.startSec).toBeCloseTo(2, 0);

    const far = editable(makeSightings());
    far.xPx.forEach((_, i) => {
      far.xPx[i]! *= 0.3;
      far.yPx[i]! *= 0.3;
    });
    expect(fitTracks(far, []).doubts.map((d) => d.code)).toContain('small');

    const peopleSeen = [0, 0.5, 1, 1.5].map((timeSec) => ({ timeSec, count: timeSec < 1 ? 2 : 1 }));
    const two = fitTracks({ ...makeSightings(), peopleSeen }, []).doubts.find((d) => d.code === 'two-people')!;
    expect([two.startSec, two.endSec]).toEqual([0, 0.5]);

    const empty = editable(makeSightings({ timesSec: evenTimes(90, 30) }));
    for (const i of span(30, 60)) for (const j of cocoJoints) empty.confidence[cell(i, number(j))] = 0;
    const told = fitTracks(empty, []).doubts;
    expect(told.map((d) => d.code)).toEqual(['nobody']);
    expect(told[0]!.startSec).toBeCloseTo(1, 1);

    empty.confidence.fill(0);
    expect(fitTracks(empty, []).doubts.map((d) => d.code)).toEqual(['nobody']);
  });

  it('takes a faint body, or one that flashes up for three pictures, for an empty room', () => {
    const room = editable(makeSightings({ timesSec: evenTimes(90, 30) }));
    room.confidence.fill(0.25);
    for (const i of span(0, 3)) for (const j of cocoJoints) room.confidence[cell(i, number(j))] = 0.4;
    expect(fitTracks(room, []).joints).toEqual([]);
    for (const i of span(3, 12)) for (const j of cocoJoints) room.confidence[cell(i, number(j))] = 0.4;
    expect(fitTracks(room, []).joints).not.toEqual([]);
  });
});
