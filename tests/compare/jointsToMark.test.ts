import { describe, expect, it } from 'vitest';
import { type Joint, joints } from '../../src/base/joints.ts';
import { doubtedJoints, jointsToMark, markableJoints } from '../../src/compare/jointsToMark.ts';

const planned = new Set<string>(joints);
const none = new Set<Joint>();

describe('the joints to mark on a puppet', () => {
  it('are those of a body from the trunk outward, one for the head among them', () => {
    expect(jointsToMark({ planned, marked: none, doubted: [] })).toEqual([
      'leftHip',
      'rightHip',
      'leftShoulder',
      'rightShoulder',
      'nose',
      'leftElbow',
      'rightElbow',
      'leftWrist',
      'rightWrist',
      'leftKnee',
      'rightKnee',
      'leftAnkle',
      'rightAnkle',
    ]);
  });

  it('are of those that the plan has, and not marked yet', () => {
    const few = new Set<string>(['pelvis', 'rightEar', 'leftEar', 'leftWrist', 'rightWrist', 'leftHand', 'prop:lamp']);
    expect(jointsToMark({ planned: few, marked: new Set<Joint>(['leftWrist']), doubted: [] })).toEqual([
      'leftEar',
      'rightWrist',
    ]);
    expect(markableJoints(few)).toEqual(['leftEar', 'rightEar', 'leftWrist', 'rightWrist', 'leftHand']);
  });

  it('are those that a detector hardly knows where there are such, with what hangs on them, the trunk first', () => {
    const doubted: Joint[] = ['rightWrist', 'leftShoulder'];
    expect(jointsToMark({ planned, marked: none, doubted })).toEqual([
      'leftShoulder',
      'leftElbow',
      'leftWrist',
      'rightWrist',
    ]);
    expect(jointsToMark({ planned, marked: new Set<Joint>(['leftElbow']), doubted })).toEqual([
      'leftShoulder',
      'leftWrist',
      'rightWrist',
    ]);
    // A hand or a heel is asked for where it is doubted itself.
    expect(jointsToMark({ planned, marked: none, doubted: ['leftHeel'] })).toEqual(['leftHeel']);
  });

  it('are not what is marked: where that was left out, what carries it and is not marked is doubted', () => {
    const elbow = { joint: 'leftElbow', carrier: 'leftShoulder', furtherMm: 6, sizeMm: 6, sdMm: 1 } as const;
    const comparison = { unsure: ['leftElbow', 'rightWrist'] as const, leftOut: [elbow], mistaken: [] };
    expect(doubtedJoints(comparison, none)).toEqual(['leftElbow', 'rightWrist']);
    const marked = new Set<Joint>(['leftElbow']);
    const beside = { unsure: [], leftOut: [elbow], mistaken: [] };
    expect(doubtedJoints(beside, marked)).toEqual(['leftShoulder']);
    expect(doubtedJoints(beside, new Set<Joint>(['leftElbow', 'leftShoulder']))).toEqual([]);
  });

  it('are those of limbs that were taken for each other, too', () => {
    const exchanged = { unsure: [], leftOut: [], mistaken: [{ limbs: 'legs', first: 3, last: 5 }] } as const;
    expect(doubtedJoints(exchanged, new Set<Joint>(['leftKnee']))).toEqual(['rightKnee', 'leftAnkle', 'rightAnkle']);
  });

  it('stand for those in the middle of them, and are the rest of the body once they are marked', () => {
    const below = ['leftHip', 'rightHip', 'leftKnee', 'rightKnee', 'leftAnkle', 'rightAnkle'];
    expect(jointsToMark({ planned, marked: none, doubted: ['pelvis'] })).toEqual(below);
    const marked = new Set<Joint>(['leftWrist']);
    const rest = jointsToMark({ planned, marked, doubted: ['leftWrist'] });
    expect(rest).toHaveLength(12);
    expect(rest).not.toContain('leftWrist');
    expect(jointsToMark({ planned, marked: new Set(joints), doubted: [] })).toEqual([]);
  });
});
