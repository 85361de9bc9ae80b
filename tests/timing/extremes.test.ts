import { describe, expect, test } from 'vitest';
import { minimumJerk } from '../../src/timing/ease.ts';
import { extremesOf } from '../../src/timing/extremes.ts';
import { samplePoses } from '../../src/timing/poseSamples.ts';
import type { Tracks } from '../../src/track/motion.ts';
import { tracksThrough, wander } from './authored.ts';
import { oneJoint } from './choices.ts';

const seconds = 3;
const found = (tracks: Tracks) => extremesOf(tracks, 'leftWrist', samplePoses(tracks, 0, seconds));
const still = () => 50;

describe('extremes of a part', () => {
  test('are where it turns, between pictures, with how far it goes back', () => {
    // 0.1 body heights to either side of the middle, one second to and fro.
    const tracks = oneJoint(
      'leftWrist',
      30,
      seconds,
      400,
      (t) => 200 - 40 * Math.cos(2 * Math.PI * (t - 0.111)),
      still,
    );
    const told = found(tracks);
    expect(told.map((e) => e.kind)).toEqual(['left', 'right', 'left', 'right', 'left', 'right']);
    told.forEach((e, i) => {
      expect(Math.abs(e.takeSec - (0.111 + i / 2))).toBeLessThan(0.004);
    });
    for (const e of told.slice(1, -1)) expect(e.prominence).toBeCloseTo(0.2, 2);
  });

  test('tell highest from lowest, y being down, and change sides in the mirror', () => {
    const y = (t: number) => 200 - 60 * minimumJerk(t / 1.2) + 60 * minimumJerk((t - 1.2) / 1.2);
    const up = found(oneJoint('leftWrist', 30, seconds, 400, still, y));
    expect(up.map((e) => e.kind)).toEqual(['top']);
    expect(up[0]!.takeSec).toBeCloseTo(1.2, 1);
    expect(found(oneJoint('leftWrist', 30, seconds, 400, y, still)).map((e) => e.kind)).toEqual(['left']);
    expect(found(oneJoint('leftWrist', 30, seconds, 400, (t) => 640 - y(t), still)).map((e) => e.kind)).toEqual([
      'right',
    ]);
  });

  test('are stops where it goes on the same way afterwards', () => {
    const x = (t: number) => 100 + 80 * minimumJerk(t / 1) + 80 * minimumJerk((t - 1.5) / 1);
    const told = found(oneJoint('leftWrist', 30, seconds, 400, x, still));
    expect(told.map((e) => e.kind)).toEqual(['stop']);
    expect(told[0]!.takeSec).toBeGreaterThan(0.9);
    expect(told[0]!.takeSec).toBeLessThan(1.1);
  });

  test('are turns where it goes back along a slanting way', () => {
    const way = (t: number) => 60 * minimumJerk(t / 1) - 60 * minimumJerk((t - 1.3) / 1);
    const told = found(
      oneJoint(
        'leftWrist',
        30,
        seconds,
        400,
        (t) => 100 + way(t),
        (t) => 300 + way(t),
      ),
    );
    // It rests from 1 to 1.3: one extreme, where that begins.
    expect(told).toHaveLength(1);
    expect(Math.abs(told[0]!.takeSec - 1)).toBeLessThan(0.09);
  });

  test('are none in what a still joint wanders, and none of a part that is not known', () => {
    const timesSec = Float64Array.from({ length: 90 }, (_, i) => i / 30);
    const flat = { x: timesSec.map(() => 100), y: timesSec.map(() => 100) };
    const places = wander({ timesSec, places: new Map([['leftWrist', flat]]) }, 5, 0.6);
    const tracks = tracksThrough(places, 400, 3);
    expect(found(tracks)).toEqual([]);
    expect(extremesOf(tracks, 'prop:ball', samplePoses(tracks, 0, seconds))).toEqual([]);
  });
});
