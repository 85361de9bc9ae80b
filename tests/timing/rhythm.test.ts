import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Joint, Part } from '../../src/base/joints.ts';
import { beatsIn } from '../../src/base/tempo.ts';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import { keyRooms } from '../../src/timing/keyRooms.ts';
import type { Onset } from '../../src/timing/onsets.ts';
import { periodOfMovement } from '../../src/timing/period.ts';
import { moveAnchor } from '../../src/timing/retime.ts';
import { snapToBeats } from '../../src/timing/snapToBeats.ts';
import { shiftOntoSounds, tempoOfSound } from '../../src/timing/soundTempo.ts';
import { tempoOfTaps } from '../../src/timing/tapTempo.ts';
import type { Key } from '../../src/timing/timing.ts';
import type { JointPath, Motion } from '../../src/track/motion.ts';
import { gaussian, seeded } from '../make.ts';
import { authoredMotion, tracksThrough } from './authored.ts';
import { choicesFor } from './choices.ts';

const range = (n: number) => Array.from({ length: n }, (_, i) => i);

describe('tempoOfTaps', () => {
  it('gives a steady tapping back exactly, from two taps on', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 30, max: 300, noNaN: true }),
        fc.double({ min: -5, max: 5, noNaN: true }),
        fc.integer({ min: 2, max: 30 }),
        (bpm, first, n) => {
          const tempo = tempoOfTaps(range(n).map((i) => first + (i * 60) / bpm))!;
          expect(tempo.beatsPerMinute).toBeCloseTo(bpm, 6);
          expect(tempo.firstBeatSec).toBeCloseTo(first, 6);
          expect(tempo.used).toBe(n);
        },
      ),
    );
  });

  it('is within 1 % of the tempo for twelve taps of a human hand, with a missed tap and a slip', () => {
    for (let seed = 1; seed <= 40; seed++) {
      const draw = gaussian(seeded(seed));
      // 20 ms: how far trained tappers stray (from memory, Repp 2005: 10 to 30 ms).
      const taps = range(12)
        .filter((i) => i !== 4)
        .map((i) => 2 + i * 0.5 + 0.02 * draw() + (i === 7 ? 0.19 : 0));
      const tempo = tempoOfTaps(taps)!;
      expect(Math.abs(tempo.beatsPerMinute - 120)).toBeLessThan(2.4);
      expect(Math.abs(tempo.firstBeatSec - 2)).toBeLessThan(0.04);
      expect(tempo.used).toBe(10);
    }
    const worst = range(200).map((seed) => {
      const draw = gaussian(seeded(seed + 1));
      return Math.abs(tempoOfTaps(range(12).map((i) => i * 0.5 + 0.02 * draw()))!.beatsPerMinute - 120);
    });
    expect(worst.sort((a, b) => a - b)[190]!).toBeLessThan(1.2);
  });

  it('says nothing of one tap, nor of a trembling finger', () => {
    expect(tempoOfTaps([])).toBeNull();
    expect(tempoOfTaps([1])).toBeNull();
    expect(tempoOfTaps([1, 1.05])).toBeNull();
  });
});

describe('tempoOfSound', () => {
  const onset = (takeSec: number, strength = 1): Onset => ({ takeSec, strength, peakDb: -6, louderDb: 20, why: '' });

  it('finds the tempo and the beat of a struck bell between other sounds', () => {
    for (const bpm of [72, 80, 96, 112, 120, 140]) {
      const beats = range(10).map((i) => onset(0.4 + (i * 60) / bpm));
      const others = [1.13, 2.91, 3.37].map((sec) => onset(sec, 0.4));
      const heard = [...beats, ...others].sort((a, b) => a.takeSec - b.takeSec);
      const tempo = tempoOfSound(heard, 0, 20)!;
      expect(tempo.beatsPerMinute).toBeCloseTo(bpm, 0);
      expect(tempo.confidence).toBeGreaterThan(0.85);
      const away = (tempo.firstBeatSec - 0.4) / (60 / bpm);
      expect(Math.abs(away - Math.round(away))).toBeLessThan(0.02);
    }
  });

  it('stands tapped beats on the sounds they were tapped to, whatever else is heard', () => {
    // Tapped 60 ms late at 80 a minute; two other sounds fall between the beats.
    const sounds = [...range(6).map((i) => 2.96 + i * 0.75), 3.35, 5.6];
    expect(shiftOntoSounds(80, 2.96 - 3 * 0.75 + 0.06, sounds)).toBeCloseTo(-0.06, 3);
    expect(shiftOntoSounds(80, 0.02, [0.77])).toBeNull();
  });

  it('finds no tempo in sounds at random', () => {
    const found = range(30).filter((seed) => {
      const random = seeded(seed + 3);
      const heard = range(14)
        .map(() => onset(random() * 12, 0.5 + 0.5 * random()))
        .sort((a, b) => a.takeSec - b.takeSec);
      return (tempoOfSound(heard, 0, 12)?.confidence ?? 0) > 0.75;
    });
    expect(found.length).toBeLessThan(3);
  });
});

function motionOf(
  paths: ReadonlyMap<Part, (sec: number) => readonly [number, number]>,
  sec: number,
  fps: number,
  noisePx = 0,
  seed = 1,
): Motion {
  const draw = gaussian(seeded(seed));
  const n = Math.round(sec * fps) + 1;
  const nothing = () => new Float64Array(n);
  const columns = [...paths].map(([part, at]): [Part, JointPath] => {
    const places = range(n).map((i) => at(i / fps));
    return [
      part,
      {
        xPx: Float64Array.from(places, ([x]) => x + noisePx * draw()),
        yPx: Float64Array.from(places, ([, y]) => y + noisePx * draw()),
        vxPx: nothing(),
        vyPx: nothing(),
        sdPx: nothing(),
        confidence: new Float32Array(n).fill(1),
        guessed: new Uint8Array(n),
      },
    ];
  });
  return { timesSec: Float64Array.from(range(n), (i) => i / fps), paths: new Map(columns) };
}

/** A walk: hips go on and bob, limbs swing about them, left and right half a stride apart. */
function walk(
  strideSec: number,
  view: 'side' | 'front',
): ReadonlyMap<Part, (sec: number) => readonly [number, number]> {
  const w = (2 * Math.PI) / strideSec;
  const hips = (t: number): [number, number] => [view === 'side' ? 100 + 90 * t : 300, 250 + 4 * Math.cos(2 * w * t)];
  const limb =
    (dx: number, dy: number, swing: number, lift: number, turn: number) =>
    (t: number): [number, number] => {
      const [x, y] = hips(t);
      const up = lift * Math.max(0, Math.cos(w * t + turn)) ** 2;
      const along = view === 'side' ? swing * Math.sin(w * t + turn) : 0.1 * swing * Math.sin(w * t + turn);
      return [x + dx + along, y + dy - up - (view === 'front' ? 0.3 * swing * Math.sin(w * t + turn) : 0)];
    };
  const beside = view === 'front' ? 25 : 5;
  const made: [Joint, (t: number) => readonly [number, number]][] = [
    ['pelvis', hips],
    ['nose', limb(0, -160, 3, 0, 0)],
    ['leftHip', limb(beside, 0, 3, 0, 0)],
    ['rightHip', limb(-beside, 0, 3, 0, Math.PI)],
    ['leftKnee', limb(beside, 70, 30, 12, 0)],
    ['rightKnee', limb(-beside, 70, 30, 12, Math.PI)],
    ['leftAnkle', limb(beside, 140, 60, 25, 0)],
    ['rightAnkle', limb(-beside, 140, 60, 25, Math.PI)],
    ['leftWrist', limb(beside, -10, 35, 8, Math.PI)],
    ['rightWrist', limb(-beside, -10, 35, 8, 0)],
  ];
  return new Map(made);
}

describe('periodOfMovement', () => {
  it('gives the period of a pendulum within 1 %, to fractions of a frame', () => {
    for (const [lengthM, fps] of [
      [0.25, 24],
      [0.5, 24],
      [1, 25],
      [1, 24],
      [0.7, 30],
    ] as const) {
      // Small swings: 2π √(l / g).
      const period = 2 * Math.PI * Math.sqrt(lengthM / 9.80665);
      const bob = new Map<Part, (t: number) => readonly [number, number]>([
        [
          'prop:bob',
          (t) => [300 + 80 * Math.cos((2 * Math.PI * t) / period), 200 - 5 * Math.cos((4 * Math.PI * t) / period)],
        ],
      ]);
      for (const noise of [0, 1.5]) {
        const found = periodOfMovement(motionOf(bob, 6, fps, noise), 1 / fps)!;
        expect(Math.abs(found.periodSec / period - 1)).toBeLessThan(0.01);
        expect(found.periodFrames).toBeCloseTo(found.periodSec * fps, 9);
        expect(found.stepSec).toBeNull();
        expect(found.confidence).toBeGreaterThan(0.6);
      }
    }
  });

  it('tells a walk’s stride from its step, from the side and from the front, within 1 %', () => {
    for (const view of ['side', 'front'] as const)
      for (const stride of [0.93, 1, 1.13, 1.21])
        for (const noise of [0, 1.5]) {
          const found = periodOfMovement(motionOf(walk(stride, view), 4.1, 24, noise), 1 / 24)!;
          expect(Math.abs(found.periodSec / stride - 1)).toBeLessThan(0.01);
          expect(Math.abs(found.stepSec! / (stride / 2) - 1)).toBeLessThan(0.01);
          expect(found.stepFrames).toBeCloseTo(12 * found.periodSec, 9);
        }
  });

  it('does not call it steps when both arms move together', () => {
    const wave = (t: number) => 40 * Math.sin((2 * Math.PI * t) / 0.8);
    const arms = new Map<Part, (t: number) => readonly [number, number]>([
      ['pelvis', () => [200, 200]],
      ['leftWrist', (t) => [260 + wave(t), 100 + wave(t)]],
      ['rightWrist', (t) => [140 - wave(t), 100 + wave(t)]],
    ]);
    const found = periodOfMovement(motionOf(arms, 4, 24, 1), 1 / 24)!;
    expect(found.periodSec).toBeCloseTo(0.8, 1);
    expect(found.stepSec).toBeNull();
  });

  it('looks only where there is movement: pauses before and after change nothing', () => {
    const waved = (t: number): readonly [number, number] => {
      const u = Math.min(Math.max(t - 1.5, 0), 3);
      return [200 + 50 * Math.sin((2 * Math.PI * u) / 0.75), 100];
    };
    const found = periodOfMovement(motionOf(new Map<Part, typeof waved>([['rightWrist', waved]]), 7, 24), 1 / 24)!;
    expect(Math.abs(found.periodSec / 0.75 - 1)).toBeLessThan(0.01);
    expect(found.firstFrame).toBeGreaterThan(33);
    expect(found.lastFrame).toBeLessThan(112);
  });

  it('looks only between the frames asked for, each stretch having a rhythm of its own', () => {
    // Three seconds at 0.5 s, a second of rest, four seconds at 0.9 s.
    const waved = (t: number): readonly [number, number] =>
      t < 3
        ? [200 + 50 * Math.sin((2 * Math.PI * t) / 0.5), 100]
        : t < 4
          ? [200, 100]
          : [200 + 50 * Math.sin((2 * Math.PI * (t - 4)) / 0.9), 100];
    const motion = motionOf(new Map<Part, typeof waved>([['rightWrist', waved]]), 8, 24);
    const between = (firstFrame: number, lastFrame: number) =>
      periodOfMovement(motion, 1 / 24, ['rightWrist'], { firstFrame, lastFrame });
    const [early, late] = [between(0, 71)!, between(97, 190)!];
    expect(Math.abs(early.periodSec / 0.5 - 1)).toBeLessThan(0.01);
    expect(early.lastFrame).toBeLessThanOrEqual(71);
    expect(Math.abs(late.periodSec / 0.9 - 1)).toBeLessThan(0.01);
    expect(late.firstFrame).toBeGreaterThanOrEqual(97);
    expect(between(73, 95)).toBeNull();
    // Less than two periods of it.
    expect(between(97, 130)).toBeNull();
    expect(between(190, 400)?.lastFrame ?? 0).toBeLessThan(192);
    expect(between(50, 40)).toBeNull();
  });

  it('finds no period in a move from one pose to another, in a hold, nor in wandering', () => {
    const rest = new Map<Part, (t: number) => readonly [number, number]>([['rightWrist', () => [10, 10]]]);
    expect(periodOfMovement(motionOf(rest, 4, 24), 1 / 24)).toBeNull();
    const reach = new Map<Part, (t: number) => readonly [number, number]>([
      ['rightWrist', (t) => [100 * Math.min(1, t / 3) ** 2, 100]],
    ]);
    expect(periodOfMovement(motionOf(reach, 4, 24, 0.5), 1 / 24)).toBeNull();
    const found = range(40).filter((seed) => {
      const draw = gaussian(seeded(seed + 11));
      const knots = range(12).map(() => [40 * draw(), 40 * draw()] as const);
      const wander = (t: number): readonly [number, number] => {
        const i = Math.min(10, Math.floor(t * 2));
        const u = (1 - Math.cos(Math.PI * (t * 2 - i))) / 2;
        return [0, 1].map((axis) => knots[i]![axis]! * (1 - u) + knots[i + 1]![axis]! * u) as [number, number];
      };
      return periodOfMovement(motionOf(new Map([['rightWrist' as Part, wander]]), 5, 24), 1 / 24) !== null;
    });
    expect(found.length).toBeLessThan(5);
  });
});

describe('snapToBeats', () => {
  const key = (frameIndex: number): Key => ({
    id: `k${frameIndex}`,
    frameIndex,
    takeSec: frameIndex / 24,
    anchorSec: frameIndex / 24,
    kind: 'key',
    reasons: ['turns'],
    locked: false,
    name: '',
  });
  const anywhere = (keys: readonly Key[]) => new Map(keys.map((k) => [k.id, { firstFrame: 0, lastFrame: 95 }]));
  const beats = beatsIn({ frames: 24, seconds: 1 }, 120, 0, 96);

  it('proposes the nearest beat, and nothing for a key that is on it', () => {
    const keys = [key(0), key(13), key(22), key(30)];
    const found = snapToBeats(keys, beats, 0, 4, anywhere(keys));
    expect(found.map((p) => [p.key.frameIndex, p.toFrame, p.byFrames])).toEqual([
      [13, 12, -1],
      [22, 24, 2],
    ]);
  });

  it('puts the body ahead of the sound by the lead', () => {
    expect(snapToBeats([key(13)], beats, 3, 4, anywhere([key(13)])).map((p) => p.toFrame)).toEqual([9]);
  });

  it('gives a beat to one key only, and keeps keys in order', () => {
    fc.assert(
      fc.property(
        fc.uniqueArray(fc.integer({ min: 0, max: 95 }), { minLength: 1, maxLength: 20 }),
        fc.double({ min: 60, max: 240, noNaN: true }),
        fc.integer({ min: 0, max: 4 }),
        (frames, bpm, lead) => {
          const keys = frames.sort((a, b) => a - b).map(key);
          const laid = beatsIn({ frames: 24, seconds: 1 }, bpm, 0.1, 96);
          const found = snapToBeats(keys, laid, lead, 6, anywhere(keys));
          const after = keys.map((k) => found.find((p) => p.key === k)?.toFrame ?? k.frameIndex);
          for (let i = 1; i < after.length; i++) expect(after[i]!).toBeGreaterThan(after[i - 1]!);
          for (const p of found) {
            expect(laid.some((beat) => beat.frame - lead === p.toFrame)).toBe(true);
            expect(Math.abs(p.byFrames)).toBeGreaterThan(0);
            expect(Math.abs(p.byFrames)).toBeLessThanOrEqual(6);
          }
        },
      ),
    );
  });

  it('offers only what can be had: put one after the other, all stand on their beats', () => {
    const shots = [1, 2, 3].map((seed) => {
      const { places, bodyHeightPx, truth } = authoredMotion(seed);
      const tracks = tracksThrough(places(30), bodyHeightPx, 0);
      return { tracks, timing: computeTiming(tracks, choicesFor(truth.durationSec)) };
    });
    const counts = { put: 0, hemmedIn: 0 };
    for (const { tracks, timing } of shots) {
      for (const bpm of [50, 80, 96, 150]) {
        const { frameCount } = timing.grid;
        const laid = beatsIn(timing.choices.rate, bpm, 0.2, frameCount);
        const whole = new Map(timing.keys.map((k) => [k.id, { firstFrame: 0, lastFrame: frameCount - 1 }]));
        const offers = snapToBeats(timing.keys, laid, 0, 6, keyRooms(timing));
        counts.hemmedIn += snapToBeats(timing.keys, laid, 0, 6, whole).length - offers.length;
        let now = timing;
        const order = [...offers.filter((o) => o.byFrames > 0).reverse(), ...offers.filter((o) => o.byFrames < 0)];
        for (const { key: k, toFrame } of order) {
          const { retiming } = moveAnchor(now, `key ${k.id}`, toFrame, 'absorb');
          now = computeTiming(tracks, { ...now.choices, retiming });
          counts.put++;
        }
        for (const o of offers) expect(now.keys.find((k) => k.id === o.key.id)?.frameIndex).toBe(o.toFrame);
      }
    }
    expect(counts.put).toBeGreaterThan(20);
    expect(counts.hemmedIn).toBeGreaterThan(0);
  });
});
