import { describe, expect, it } from 'vitest';
import { arcFaults } from '../../src/timing/arcFaults.ts';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import { minimumJerk } from '../../src/timing/ease.ts';
import { bouncesOf, heightAt } from '../../src/timing/idealFall.ts';
import type { Timing } from '../../src/timing/timing.ts';
import { fitProp, withProps } from '../../src/track/propTracks.ts';
import { choicesFor, oneJoint } from './choices.ts';
import { type MadeFilm, type MadePath, seenPoints, tracksOfPoints } from './madePoints.ts';

const [pxPerMetre, floorY] = [150, 430];
const releaseSec = 0.5;

/** Held for half a second and let go; drifts to the right. */
function dropped(restitution: number, dropHeightM = 1.8): MadePath {
  return (sec) => [
    150 + 40 * Math.max(0, sec - releaseSec),
    floorY - pxPerMetre * heightAt({ dropHeightM, restitution }, sec - releaseSec),
  ];
}

/** When it meets the floor within a shot, frames of the shot; those in the last three pictures have no flight after them. */
function contactFrames(restitution: number, seconds: number, fps = 24, dropHeightM = 1.8): number[] {
  return bouncesOf({ dropHeightM, restitution })
    .map((b) => b.sec + releaseSec)
    .filter((sec) => sec < seconds - 0.15)
    .map((sec) => sec * fps);
}

function timed(paths: Readonly<Record<string, MadePath>>, film: MadeFilm = {}, changes = {}) {
  return computeTiming(tracksOfPoints(seenPoints(paths, film)), choicesFor(film.seconds ?? 4, changes));
}

describe('a take of marked points alone', () => {
  it.each([
    [24, 0.7, 3],
    [30, 0.78, 3.5],
    [60, 0.6, 2.8],
  ])('has a key at every bounce, and at most one more for each: %i pictures a second, e = %f', (fps, e, seconds) => {
    for (const seed of [1, 2, 3, 4]) {
      for (const onFrames of [1, 2] as const) {
        const timing = timed({ ball: dropped(e) }, { fps, seconds, seed, noisePx: 0.3 }, { onFrames });
        const frames = timing.keys.map((k) => k.frameIndex);
        const contacts = contactFrames(e, seconds);
        expect(contacts.length).toBeGreaterThan(2);
        for (const contact of contacts) {
          const key = timing.keys.find((k) => Math.abs(k.frameIndex - contact) < 1);
          expect(key?.reasons, `contact at ${contact} among ${frames}`).toContain('ball bounces');
          expect(timing.exposures.some((x) => x.firstFrame === key!.frameIndex)).toBe(true);
        }
        // The first pose, a bounce each, and a top or the end of the take after each.
        expect(frames.length).toBeLessThanOrEqual(1 + 2 * contacts.length + 1);
        expect(timing.keys.every((k) => k.kind === 'key')).toBe(true);
      }
    }
  });

  it('holds until it is let go, and from where it lands', () => {
    const timing = timed({ bag: (sec) => [150, dropped(0)(sec)![1]] }, { seconds: 2.5 });
    const landed = contactFrames(0, 2.5)[0]!;
    expect(timing.holds).toHaveLength(2);
    expect(Math.abs(timing.holds[0]!.frames - 1 - releaseSec * 24)).toBeLessThan(1.5);
    expect(timing.keys).toHaveLength(2);
    expect(Math.abs(timing.keys[1]!.frameIndex - landed)).toBeLessThan(1);
    expect(timing.keys[1]!.reasons).toContain('bag lands');
    expect(timing.holds[1]!.firstFrame + timing.holds[1]!.frames).toBe(timing.grid.frameCount);
  });

  it('has keys where something swings, and is moved by hand and stops', () => {
    const swing: MadePath = (sec) => {
      const a = 0.6 * Math.cos(2.4 * sec);
      return [320 + 240 * Math.sin(a), 70 + 240 * Math.cos(a)];
    };
    const swung = timed({ bob: swing }, { seconds: 5 });
    expect(swung.mmPerPx).toBeNaN();
    const turns = [1, 2, 3].map((n) => ((n * Math.PI) / 2.4) * 24);
    for (const turn of turns) expect(swung.keys.some((k) => Math.abs(k.frameIndex - turn) < 1)).toBe(true);
    expect(swung.keys.length).toBeLessThanOrEqual(5);

    const pushed: MadePath = (sec) => [100 + 300 * minimumJerk(Math.min(1, Math.max(0, (sec - 1) / 0.8))), 200];
    const moved = timed({ cup: pushed }, { seconds: 3 });
    expect(moved.keys.map((k) => Math.abs(k.frameIndex - (k.frameIndex < 20 ? 0 : 1.8 * 24)) < 2)).toEqual([
      true,
      true,
    ]);
    expect(moved.holds.map((h) => h.firstFrame)).toEqual([0, moved.keys[1]!.frameIndex]);
    expect(Math.abs(moved.holds[0]!.frames - 24)).toBeLessThan(3);
  });

  it('makes no key of an even way, however the point wavers', () => {
    for (const seed of [1, 2, 3, 4, 5]) {
      const timing = timed({ puck: (sec) => [50 + 40 * sec, 300] }, { seconds: 4, noisePx: 0.4, seed });
      expect(timing.keys.filter((k) => k.frameIndex > 1 && k.frameIndex < 94)).toEqual([]);
    }
  });

  it('is one pose where nothing moves', () => {
    const timing = timed({ cup: () => [100, 200] }, { seconds: 2 });
    expect(timing.keys).toHaveLength(1);
    expect(timing.holds).toMatchObject([{ firstFrame: 0, frames: 48, kind: 'hold' }]);
  });

  it('begins where a point comes into the picture, and knows nothing before', () => {
    const flies: MadePath = (sec) => (sec < 1 ? null : dropped(0.7)(sec - 0.5));
    const timing = timed({ ball: flies }, { seconds: 4 });
    expect(Math.abs(timing.keys[0]!.frameIndex - 24)).toBeLessThan(3);
    expect(timing.holds.every((h) => h.firstFrame + h.frames > 24)).toBe(true);
    for (const contact of contactFrames(0.7, 3.5).map((f) => f + 12))
      expect(timing.keys.some((k) => Math.abs(k.frameIndex - contact) < 1)).toBe(true);
  });

  it('has a key at the bounces of each of two balls', () => {
    const timing = timed({ heavy: dropped(0.35, 1.4), light: dropped(0.78, 1.4) }, { seconds: 3 });
    for (const contact of [...contactFrames(0.35, 1.5, 24, 1.4).slice(0, 2), ...contactFrames(0.78, 3, 24, 1.4)])
      expect(
        timing.keys.some((k) => Math.abs(k.frameIndex - contact) < 1.01),
        `contact at ${contact}`,
      ).toBe(true);
  });

  it('forces contacts where exposures are spent, each at its key', () => {
    const timing = timed({ ball: dropped(0.7) }, { seconds: 3 }, { exposureBudget: 24 });
    const shot = new Set(timing.exposures.map((e) => e.firstFrame));
    expect(timing.exposures.length).toBeLessThanOrEqual(30);
    for (const key of timing.keys) expect(shot.has(key.frameIndex)).toBe(true);
  });

  it('takes no bounce for a pose off its arc, yet one pose gone wrong', () => {
    const faults = (timing: Timing) => arcFaults(timing, 'exposures').filter((f) => f.kind !== 'holdDrift');
    for (const seed of [1, 2, 3, 4]) {
      const fell = timed({ ball: dropped(0.78, 2) }, { seconds: 4.6, seed });
      expect(faults(fell).map((f) => f.sentence)).toEqual([]);
    }
    const timing = timed({ puck: (sec) => [50 + 80 * sec, 300 - 40 * sec] }, { seconds: 3, noisePx: 0.1 });
    const { yPx, ...rest } = timing.motion.paths.get('prop:puck')!;
    const exposed = timing.exposures[12]!.firstFrame;
    const spiked = { ...rest, yPx: yPx.map((y, k) => (k === exposed ? y + 25 : y)) };
    const motion = { ...timing.motion, paths: new Map([['prop:puck' as const, spiked]]) };
    expect(faults({ ...timing, motion }).map((f) => f.atFrame)).toEqual([exposed]);
  });

  it('gives fewer keys and more when they are asked for', () => {
    for (const keyCount of [2, 4, 12, 16])
      expect(timed({ ball: dropped(0.7) }, { seconds: 3 }, { keyCount }).keys).toHaveLength(keyCount);
  });

  it('tells nothing of a point beside a performer, who tells the story alone', () => {
    const body = oneJoint(
      'leftWrist',
      30,
      4,
      300,
      (t) => 100 + 100 * minimumJerk(Math.min(1, Math.max(0, t - 1))),
      () => 90,
    );
    const ball = fitProp(seenPoints({ ball: dropped(0.7) })[0]!)!;
    const [alone, beside] = [body, withProps(body, [ball])].map((tracks) => computeTiming(tracks, choicesFor(4)));
    expect(beside!.keys).toEqual(alone!.keys);
    expect(beside!.holds).toEqual(alone!.holds);
  });
});
