import { describe, expect, it } from 'vitest';
import { detectedJoints, furtherJoints } from '../../src/base/joints.ts';
import { measureTake, turningKeys } from '../../src/cli/benchAccuracy.ts';
import { scoreHolds, scoreKeys } from '../../src/cli/benchKeys.ts';
import { accuracyReport } from '../../src/cli/benchReport.ts';
import { digits, textTable } from '../../src/cli/benchTable.ts';
import { truthTakes } from '../../src/cli/benchTruth.ts';
import type { Key } from '../../src/timing/timing.ts';
import { cell } from '../../src/track/sighting.ts';
import { keptSightings } from '../track/keptSightings.ts';

const takesFolder = new URL('../../fixtures/takes', import.meta.url).pathname;
const frameSec = 1 / 24;
const key = (frames: number): Key => ({
  id: `${frames}`,
  frameIndex: Math.round(frames),
  takeSec: frames * frameSec,
  anchorSec: frames * frameSec,
  kind: 'key',
  reasons: ['made'],
  locked: false,
  name: '',
});
const turns = (frames: number) => ({ arriveSec: frames * frameSec, leaveSec: frames * frameSec });
const rests = (from: number, to: number) => ({ arriveSec: from * frameSec, leaveSec: to * frameSec });

describe('scoreKeys', () => {
  it('wants a turning point within one frame', () => {
    expect(scoreKeys([key(11), key(20)], [turns(10), turns(22)], frameSec)).toEqual({
      authored: 2,
      found: 2,
      hit: 1,
      extra: 1,
    });
  });

  it('takes a held pose found two frames before its hold, and both ends of it as one pose', () => {
    expect(scoreKeys([key(8), key(30)], [rests(10, 30)], frameSec)).toEqual({
      authored: 1,
      found: 2,
      hit: 1,
      extra: 0,
    });
  });

  it('does not let one key stand for two poses', () => {
    expect(scoreKeys([key(10)], [turns(10), turns(10.5)], frameSec).hit).toBe(1);
  });
});

describe('scoreHolds', () => {
  const times = Float64Array.from({ length: 48 }, (_, k) => k * frameSec);
  const hold = (firstFrame: number, frames: number) => ({
    firstFrame,
    frames,
    fromSec: 0,
    toSec: 0,
    kind: 'hold' as const,
    warning: '',
  });

  it('wants both ends within two frames', () => {
    const truth = [rests(10, 20), rests(30, 40)].map((h) => ({ startSec: h.arriveSec, endSec: h.leaveSec }));
    const found = [hold(8, 15), hold(30, 7)];
    expect(scoreHolds(found, truth, times, frameSec)).toEqual({ authored: 2, found: 2, hit: 1, extra: 1 });
  });
});

it('tables line up, and print a dash where nothing was measured', () => {
  expect(
    textTable(
      ['take', 'ones'],
      [
        ['lift', digits(0.5)],
        ['a', digits(Number.NaN)],
      ],
    ),
  ).toBe('take  ones\n────  ────\nlift  0.50\na        –');
});

describe('truthTakes', () => {
  it('takes those with a performer, others beside them or not, with poses that are held as one span each', () => {
    const takes = truthTakes(takesFolder);
    const names = takes.map((take) => take.name);
    for (const name of ['keeper', 'no_feet', 'short', 'two_people']) expect(names).toContain(name);
    for (const name of ['fall', 'nobody', 'two_frames']) expect(names).not.toContain(name);
    // Two people stand beside each other throughout; in the other take they only come past.
    expect(takes.filter((take) => take.isShared).map((take) => take.name)).toEqual(['two_people']);
    expect(names).toContain('passed_by');
    const short = takes.find((take) => take.name === 'short')!;
    // The COCO set, hands, heels and toes; the truth has no mouth.
    expect(short.truth.joints.size).toBe(23);
    expect(short.truth.timesSec).toHaveLength(36);
    // Authored in fixtures: ready until 0.3 s, arms spread at 0.8 s and held.
    expect(short.keys![0]).toMatchObject({ arriveSec: 0, leaveSec: 0.3 });
    expect(short.keys![1]!.arriveSec).toBeCloseTo(0.8, 2);
    expect(short.holds!.length).toBe(2);
  });
});

describe('measureTake', () => {
  const [take] = truthTakes(takesFolder).filter(({ name }) => name === 'snap60');
  const sightings = keptSightings('snap60');
  const footage = {
    name: 'snap60.mp4',
    widthPx: sightings.widthPx,
    heightPx: sightings.heightPx,
    timesSec: sightings.timesSec,
    endSec: sightings.timesSec.at(-1)! + 1 / 60,
    firstStampSec: 0,
    medianFps: 60,
    variableFrameRate: false,
    codec: 'avc',
    turnedDeg: 0,
    notes: [],
  } as const;

  it('looks for turns at poses that only turn, and everywhere where all poses are held', () => {
    const poses = [turns(0), rests(3, 9), turns(12), turns(20)];
    expect(turningKeys(poses)).toEqual([poses[2]!.arriveSec, poses[3]!.arriveSec]);
    expect(turningKeys([turns(0), rests(3, 9)])).toBeNull();
  });

  it('measures head, arms and legs apart, and each joint in one of them', () => {
    const { scores, groups, torsoPx } = measureTake(take!, { footage, sightings });
    const three = [groups.head, groups.arms, groups.legs];
    expect(three.reduce((sum, group) => sum + group!.ours.samples, 0)).toBe(scores.ours.samples);
    expect(groups.arms!.ours.onesP95).toBeGreaterThan(groups.legs!.ours.onesP95);
    expect(torsoPx).toBeCloseTo(79, 0);
  });

  it('measures hands and feet where the model sees them, and leaves the whole body’s numbers alone', () => {
    const xPx = sightings.xPx.slice();
    for (let i = 0; i < sightings.readCount; i++)
      for (const joint of furtherJoints) xPx[cell(i, detectedJoints.indexOf(joint))] = Number.NaN;
    const without = measureTake(take!, { footage, sightings: { ...sightings, xPx } });
    expect(without.groups['hands & feet']).toBeUndefined();
    const seen = measureTake(take!, { footage, sightings });
    expect(seen.groups['hands & feet']?.raw.samples).toBeGreaterThan(200);
    expect(seen.scores.raw).toEqual(without.scores.raw);
  });

  it('is printed in no more than 120 columns, all groups of all ways if wished', () => {
    const measured = measureTake(take!, { footage, sightings });
    const short = accuracyReport([measured, measured], false);
    const wide = accuracyReport([measured], true);
    for (const line of [...short.split('\n'), ...wide.split('\n')]) expect([...line].length).toBeLessThanOrEqual(120);
    expect(short).toMatch(/^mean$/m);
    expect(short).toMatch(/^ours, legs +\d/m);
    expect(wide).toMatch(/^legs: raw +\d/m);
  });
});
