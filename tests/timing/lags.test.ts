import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Part } from '../../src/base/joints.ts';
import { bodyChains } from '../../src/timing/chains.ts';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import { minimumJerk } from '../../src/timing/ease.ts';
import { type Lag, measureLags } from '../../src/timing/lags.ts';
import type { TimingChoices } from '../../src/timing/timing.ts';
import { fitTracks } from '../../src/track/fitTracks.ts';
import type { Tracks } from '../../src/track/motion.ts';
import { keptSightings } from '../track/keptSightings.ts';
import { type Places, tracksThrough, wander } from './authored.ts';
import { choicesFor } from './choices.ts';
import { type MadeArms, madeArms, madePoints } from './madeArms.ts';

const height = 330;

/** An arm raised and lowered with rests between: shoulder first, then forearm and hand as authored. */
const raising: Omit<MadeArms, 'foreLag' | 'handLag'> = {
  moves: [
    { startSec: 0.5, endSec: 1.0, upperDeg: 65, foreDeg: 80, bendDeg: -40 },
    { startSec: 1.8, endSec: 2.25, upperDeg: -55, foreDeg: -75, bendDeg: 40 },
  ],
  sides: ['left'],
  heightPx: height,
  endSec: 3.2,
};

function lagsOf(tracks: Tracks, endSec: number, changes: Partial<TimingChoices> = {}): Lag[] {
  return measureLags(tracks, computeTiming(tracks, choicesFor(endSec, changes)), bodyChains);
}

const arm = (made: Partial<MadeArms>, noise: number | null = null, seed = 1): Places => {
  const places = madeArms({ ...raising, foreLag: 0, handLag: 0, ...made });
  return noise === null ? places : wander(places, seed, noise, 0.12, 0.01);
};
const onTracks = (places: Places, sdPx: number) => tracksThrough(places, height, sdPx);
const told = (lags: readonly Lag[], follower: string) => lags.filter((l) => l.follower === follower);

describe('delays of directions down an arm', () => {
  test.each([1, 1.5, 2, 2.5, 3, 3.5, 4])('of %s frames are found within a tenth of a frame in exact tracks', (lag) => {
    const lags = lagsOf(onTracks(arm({ foreLag: lag, handLag: lag / 2 }), 0), 3.2);
    const fore = told(lags, 'left forearm');
    expect(fore).toHaveLength(2);
    for (const l of fore) expect(Math.abs(l.lagFrames! - lag)).toBeLessThan(0.1);
    for (const l of told(lags, 'left hand')) {
      expect(l.follows).toBe('carried');
      expect(Math.abs(l.lagFrames! - lag / 2)).toBeLessThan(0.15);
    }
  });

  test.each([1, 1.5, 2, 2.5, 3, 3.5, 4])('of %s frames are found within half a frame where tracks wander', (lag) => {
    const errors: number[] = [];
    for (let seed = 1; seed <= 8; seed++) {
      // 0.2 % of the body height, alike for 0.12 s; fine readings of our takes wander by 0.02 to 0.1 %.
      const lags = lagsOf(onTracks(arm({ foreLag: lag }, 0.002 * height, seed), 1), 3.2);
      // Noise may make keys of its own in the rests, between which nothing turns.
      for (const l of told(lags, 'left forearm')) if (l.lagFrames !== null) errors.push(l.lagFrames - lag);
    }
    expect(errors).toHaveLength(16);
    for (const error of errors) expect(Math.abs(error)).toBeLessThan(0.5);
  });

  test('that lead are negative', () => {
    const [first] = told(lagsOf(onTracks(arm({ foreLag: -2 }), 0), 3.2), 'left forearm');
    expect(first!.lagFrames!).toBeCloseTo(-2, 0);
  });

  test('are the same for the other side in the mirrored picture', () => {
    const there = told(lagsOf(onTracks(arm({ foreLag: 2.5 }), 0), 3.2), 'left forearm');
    const mirrored = told(lagsOf(onTracks(arm({ foreLag: 2.5, sides: ['right'] }), 0), 3.2), 'right forearm');
    expect(mirrored.map((l) => l.lagFrames!.toFixed(3))).toEqual(there.map((l) => l.lagFrames!.toFixed(3)));
  });

  test('do not depend on when the take begins, nor on how large the picture is', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 20 }), fc.double({ min: 0.5, max: 3, noNaN: true }), (frames, scale) => {
        const shiftSec = frames / 30;
        const plain = told(lagsOf(onTracks(arm({ foreLag: 3 }), 0), 3.2), 'left forearm');
        const shifted = tracksThrough(
          arm({ foreLag: 3, shiftSec, endSec: 3.2 + shiftSec, heightPx: scale * height }),
          scale * height,
          0,
        );
        const later = told(lagsOf(shifted, 3.2 + shiftSec), 'left forearm');
        expect(later).toHaveLength(plain.length);
        later.forEach((l, i) => {
          expect(Math.abs(l.lagFrames! - plain[i]!.lagFrames!)).toBeLessThan(0.1);
          expect(Math.abs(l.firstFrame - plain[i]!.firstFrame - frames * 0.8)).toBeLessThanOrEqual(1);
        });
      }),
      { numRuns: 6 },
    );
  });

  test('grow with the span that the animator stretches', () => {
    const tracks = onTracks(arm({ foreLag: 2 }), 0);
    // Knots far outside too: near the outermost ones time eases back into the take's own.
    const retiming = { knots: [-4, -2, 5, 7].map((takeSec) => ({ takeSec, shotSec: 2 * takeSec })) };
    const plain = told(lagsOf(tracks, 3.2), 'left forearm');
    const slow = told(lagsOf(tracks, 3.2, { retiming }), 'left forearm');
    expect(slow).toHaveLength(2);
    slow.forEach((l, i) => {
      expect(l.moveId).toBe(plain[i]!.moveId);
      expect(l.lagSec).toBeCloseTo(plain[i]!.lagSec!, 3);
      expect(l.lagFrames! / plain[i]!.lagFrames!).toBeCloseTo(2, 1);
      expect(l.sdFrames! / plain[i]!.sdFrames!).toBeCloseTo(2, 1);
      expect(Math.abs(l.frames - 2 * plain[i]!.frames)).toBeLessThanOrEqual(2);
    });
  });
});

test('a hold laid into the middle of a move is no drag', () => {
  const tracks = onTracks(arm({ foreLag: 2 }), 0);
  const plain = told(lagsOf(tracks, 3.2), 'left forearm');
  for (const at of [0.72, 0.78, 0.84]) {
    const knots = [
      { takeSec: at, shotSec: at },
      { takeSec: at, shotSec: at + 0.5 },
    ];
    const held = told(lagsOf(tracks, 3.2, { retiming: { knots } }), 'left forearm');
    expect(held.map((l) => l.moveId)).toEqual(plain.map((l) => l.moveId));
    held.forEach((l, i) => {
      expect(Math.abs(l.lagFrames! - plain[i]!.lagFrames!)).toBeLessThan(0.05);
    });
  }
});

describe('a delay is not told', () => {
  test('where a limb hardly turns', () => {
    const still = { moves: [{ startSec: 0.5, endSec: 1, upperDeg: 60, foreDeg: 2, bendDeg: 0 }] };
    const [fore] = told(lagsOf(onTracks(arm(still), 0), 3.2), 'left forearm');
    expect(fore).toMatchObject({
      lagFrames: null,
      sdFrames: null,
      confidence: 0,
      why: 'left forearm hardly turns here',
    });
  });

  test('where a limb points out of the picture while it moves', () => {
    const places = arm({ foreLag: 2 });
    const elbow = places.places.get('leftElbow')!;
    const wrist = places.places.get('leftWrist')!;
    const { timesSec } = places;
    // From before the first move to after it the forearm shows a fifth of its length.
    for (const axis of ['x', 'y'] as const)
      wrist[axis].forEach((v, i) => {
        if (timesSec[i]! > 0.2 && timesSec[i]! < 1.5) wrist[axis][i] = elbow[axis][i]! + 0.2 * (v - elbow[axis][i]!);
      });
    const [fore] = told(lagsOf(onTracks(places, 0), 3.2), 'left forearm');
    expect(fore!.lagFrames).toBeNull();
    expect(fore!.why).toBe('left forearm points out of the picture here');
  });

  test('where a joint is filled in', () => {
    const exact = onTracks(arm({ foreLag: 2 }), 0);
    const hidden: Tracks = {
      ...exact,
      at: (timesSec) => {
        const motion = exact.at(timesSec);
        const wrist = motion.paths.get('leftWrist')!;
        const guessed = Uint8Array.from(timesSec, (sec) => (sec > 0.5 && sec < 1.2 ? 1 : 0));
        return { ...motion, paths: new Map([...motion.paths, ['leftWrist', { ...wrist, guessed }]]) };
      },
    };
    const [first, second] = told(lagsOf(hidden, 3.2), 'left forearm');
    expect(first).toMatchObject({ lagFrames: null, why: 'left forearm is not seen here' });
    expect(second!.lagFrames).not.toBeNull();
  });

  test('where one does something else than the other', () => {
    const other = madeArms({ ...raising, foreLag: 0, handLag: 0 });
    const elbow = other.places.get('leftElbow')!;
    const wrist = other.places.get('leftWrist')!;
    // The forearm waves three times while the upper arm rises.
    other.timesSec.forEach((sec, i) => {
      const angle = 0.7 * Math.sin(2 * Math.PI * 3.3 * (sec - 0.5)) * (sec > 0.5 && sec < 1.4 ? 1 : 0);
      wrist.x[i] = elbow.x[i]! + 0.15 * height * Math.sin(angle + 0.5);
      wrist.y[i] = elbow.y[i]! + 0.15 * height * Math.cos(angle + 0.5);
    });
    const [fore] = told(lagsOf(onTracks(other, 0), 3.2), 'left forearm');
    expect(fore!.lagFrames).toBeNull();
    expect(fore!.why).toBe('left forearm does not do what left upper arm does');
  });
});

test('a chain of marked points tells the delay from each to the next, by where they go and how they turn', () => {
  const tail: Part[] = ['prop:root', 'prop:middle', 'prop:tip', 'prop:end'];
  const lag = 1.5 / 24;
  const swing = (sec: number) => minimumJerk((sec - 0.5) / 0.6) - minimumJerk((sec - 1.7) / 0.5);
  const segment = (k: number, sec: number): readonly [number, number] => {
    const angle = swing(sec - k * lag);
    return [0.12 * Math.sin(angle), 0.12 * Math.cos(angle)];
  };
  const at = (k: number) => (sec: number) =>
    Array.from({ length: k }, (_, i) => segment(i, sec)).reduce<readonly [number, number]>(
      ([x, y], [dx, dy]) => [x + dx, y + dy],
      [0.02 * swing(sec), 0],
    );
  const places = madePoints(30, 3, height, new Map(tail.map((part, k) => [part, at(k)])));
  const tracks = tracksThrough(places, height, 0);
  const timing = computeTiming(tracks, choicesFor(3));
  const chain = { id: 'tail', name: 'tail', parts: tail };
  const lags = measureLags(tracks, timing, [chain], ['turning', 'going'], (part) => part.slice(5));
  const turning = lags.filter((l) => l.measure === 'turning');
  const going = lags.filter((l) => l.measure === 'going');
  expect(turning.map((l) => l.follower)).toEqual(['middle to tip', 'tip to end', 'middle to tip', 'tip to end']);
  for (const l of turning) expect(Math.abs(l.lagFrames! - 1.5)).toBeLessThan(0.15);
  expect(going).toHaveLength(6);
  for (const l of going) {
    expect(l.lagFrames!).toBeGreaterThan(-0.3);
    expect(l.lagFrames!).toBeLessThan(1.6);
  }
});

describe('on a filmed take', () => {
  const truth = JSON.parse(readFileSync(new URL('../../fixtures/takes/drags.truth.json', import.meta.url), 'utf8'));
  const tracks = fitTracks(keptSightings('drags'), []);
  const lags = lagsOf(tracks, truth.duration);

  test('the forearm’s drags of 1, 2, 3 and 4 frames are read within half a frame, and the other arm’s none', () => {
    const authored: number[] = truth.lags
      .filter((l: { from: string }) => l.from === 'shoulder')
      .map((l: { frames24: number }) => l.frames24);
    const fore = told(lags, 'left forearm');
    expect(authored).toEqual([1, 2, 3, 4]);
    expect(fore).toHaveLength(4);
    fore.forEach((l, i) => {
      expect(Math.abs(l.lagFrames! - authored[i]!)).toBeLessThan(0.5);
      expect(l.confidence).toBeGreaterThan(0.9);
    });
    for (const l of told(lags, 'right forearm')) expect(Math.abs(l.lagFrames!)).toBeLessThan(0.5);
  });

  test('a hand that the model sees badly is told with less confidence, or not', () => {
    for (const l of told(lags, 'left hand')) expect(l.confidence).toBeLessThan(0.9);
  });
});
