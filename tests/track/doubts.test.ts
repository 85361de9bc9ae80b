import { describe, expect, it } from 'vitest';
import { type CocoJoint, cocoJoints } from '../../src/base/joints.ts';
import { groupDoubts } from '../../src/track/doubtGroups.ts';
import { fitTracks } from '../../src/track/fitTracks.ts';
import type { Doubt } from '../../src/track/motion.ts';
import { cell, jointsPerPicture, type Sightings } from '../../src/track/sighting.ts';
import { editable, evenTimes, hold, type MadeMovement, makeSightings, pendulum } from '../make.ts';

const number = (joint: CocoJoint): number => cocoJoints.indexOf(joint);
/** The made performer's left forearm, from (526, 239) to (528, 297) in the picture. */
const elbow = [526, 239] as const;
const forearmPx = Math.hypot(2, 58);

/** Turns the left forearm out of the picture by this angle from second 2 on. */
function turnedOut(angleDeg: number): MadeMovement {
  const share = Math.cos((angleDeg * Math.PI) / 180);
  return (t) => hold(elbow[0] + (t < 2 ? 2 : 2 * share), elbow[1] + (t < 2 ? 58 : 58 * share))(t);
}

const seenTurned = (angleDeg: number, noisePx = 1): Sightings =>
  makeSightings({ timesSec: evenTimes(120, 30), noisePx, joints: { leftWrist: turnedOut(angleDeg) } });

/** Depths of the wrist relative to the elbow from second 2 on, in shares of the forearm; negative = nearer to the lens. */
function withDepth(seen: Sightings, share: number): Sightings {
  const depthPx = new Float32Array(seen.timesSec.length * jointsPerPicture);
  for (const [i, sec] of seen.timesSec.entries())
    depthPx[cell(i, number('leftWrist'))] = sec < 2 ? 0 : share * forearmPx;
  return { ...seen, depthPx };
}

const outOfPlane = (seen: Sightings): Doubt | undefined =>
  fitTracks(seen, []).doubts.find((d) => d.code === 'out-of-plane' && d.joint === 'leftWrist');

describe('a limb that points out of the picture', () => {
  it.each([58, 65, 75])(
    'by %s° is measured to 3° with a pixel of noise, and its hidden length to 4 % of it',
    (angle) => {
      const { plane } = outOfPlane(seenTurned(angle))!;
      expect(Math.abs(plane!.angleDeg - angle)).toBeLessThan(3);
      expect(Math.abs(plane!.truePx - forearmPx) / forearmPx).toBeLessThan(0.04);
      const hidden = forearmPx * (1 - Math.cos((angle * Math.PI) / 180));
      expect(Math.abs(plane!.hiddenPx - hidden) / forearmPx).toBeLessThan(0.04);
    },
  );

  it('by 40° is not worth a word', () => {
    expect(outOfPlane(seenTurned(40))).toBeUndefined();
  });

  it('is told with the side that the depth estimate gives, or with its disagreement', () => {
    const sine = Math.sin((65 * Math.PI) / 180);
    const opinions = [-sine, sine, 0].map((share) => outOfPlane(withDepth(seenTurned(65), share))!);
    expect(opinions.map((d) => d.plane!.depth)).toEqual(['toward the lens', 'away from the lens', 'disagrees']);
    expect(opinions[0]!.sentence).toMatch(/points toward the lens here.* The depth estimate agrees\.$/);
    expect(outOfPlane(seenTurned(65))!.plane!.depth).toBeNull();
  });
});

describe('a fast joint', () => {
  // At 30 pictures a second and half a shutter, v px/s smear v/60 px; the made torso is 115 px, so 4 % are 276 px/s.
  const swinging = (amplitude: number) =>
    fitTracks(
      makeSightings({ timesSec: evenTimes(90, 30), joints: { rightWrist: pendulum(430, 300, amplitude, 1.5) } }),
      [],
    ).doubts.filter((d) => d.code === 'blurred');

  it('is told as smeared where the shutter draws it out, with the pixels', () => {
    // Fastest 2π · 100 / 1.5 = 419 px/s: 7.0 px.
    const told = swinging(100);
    expect(told.length).toBeGreaterThan(1);
    expect(told.every((d) => d.joint === 'rightWrist')).toBe(true);
    expect(Number(told[1]!.sentence.match(/about (\d+) pixels/)![1])).toBe(6);
  });

  it('is not, when a little slower', () => {
    expect(swinging(55)).toEqual([]);
  });
});

describe('doubts in groups', () => {
  const doubt = (
    code: Doubt['code'],
    joint: Doubt['joint'],
    startSec: number,
    endSec: number,
    worth: number,
  ): Doubt => ({
    code,
    joint,
    startSec,
    endSec,
    worth,
    headline: `${joint} ${code}`,
    sentence: `${startSec}`,
    plane: null,
  });
  const doubts = [
    doubt('hidden', 'leftWrist', 0.1, 0.4, 0.1),
    doubt('blurred', 'leftWrist', 0.5, 0.7, 0.01),
    doubt('guessed', 'rightWrist', 1, 2, 0.3),
    doubt('hidden', 'leftWrist', 3, 3.5, 0.2),
  ];

  it('one line for each joint and kind, with all its spans, the worst speaking for them', () => {
    const groups = groupDoubts(doubts, 'time');
    expect(groups.map((g) => g.headline)).toEqual(['leftWrist hidden', 'leftWrist blurred', 'rightWrist guessed']);
    expect(groups[0]!.spans).toEqual([doubts[0], doubts[3]]);
    expect(groups[0]!.worst).toBe(doubts[3]);
    expect(groups[0]!.weight).toBeCloseTo(0.03 + 0.1, 9);
  });

  it('worst first puts what is far off for long before what is a little off for a moment', () => {
    expect(groupDoubts(doubts, 'worst').map((g) => g.headline)).toEqual([
      'rightWrist guessed',
      'leftWrist hidden',
      'leftWrist blurred',
    ]);
  });

  it('a take that hides its hands forty times gives two lines', () => {
    const seen = editable(makeSightings({ timesSec: evenTimes(1200, 30), noisePx: 1 }));
    for (let i = 0; i < 1200; i++)
      if (i % 60 >= 30 && i % 60 < 42)
        for (const joint of ['leftWrist', 'rightWrist'] as const) seen.confidence[cell(i, number(joint))] = 0.2;
    const { doubts } = fitTracks(seen, []);
    expect(doubts.length).toBe(40);
    expect(groupDoubts(doubts, 'worst').map((g) => [g.headline, g.spans.length])).toEqual([
      ['left hand hard to see', 20],
      ['right hand hard to see', 20],
    ]);
  });

  it('what the animator has placed is doubted no more', () => {
    const seen = editable(makeSightings({ timesSec: evenTimes(90, 30), noisePx: 1 }));
    for (let i = 30; i < 42; i++) seen.confidence[cell(i, number('leftWrist'))] = 0.2;
    const told = (reachSec: number) =>
      fitTracks(seen, [{ kind: 'place', joint: 'leftWrist', takeSec: 36 / 30, xPx: 528, yPx: 297, reachSec }]).doubts;
    expect(fitTracks(seen, []).doubts.map((d) => d.code)).toEqual(['hidden']);
    expect(told(0.6)).toEqual([]);
  });
});
