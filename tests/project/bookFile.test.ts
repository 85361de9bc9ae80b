import { strToU8, unzipSync, zipSync } from 'fflate';
import { describe, expect, it } from 'vitest';
import type { Footage } from '../../src/base/footage.ts';
import { cocoJoints } from '../../src/base/joints.ts';
import { type AnimatedShot, newBook } from '../../src/project/book.ts';
import { packBookFile, unpackBookFile } from '../../src/project/bookFile.ts';
import { readBook, writeBook } from '../../src/project/schema.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import type { PoseFix } from '../../src/puppet/poseFix.ts';
import { puppetOfHeight } from '../../src/puppet/profile.ts';
import { type Correction, usualReachSec } from '../../src/track/correction.ts';
import type { FollowedLeg, FollowedProps } from '../../src/track/followedProp.ts';
import { cell, jointsPerPicture, type Sightings } from '../../src/track/sighting.ts';
import { mix, soundtrackOf, tone } from '../madeSound.ts';

function madeReading(): { footage: Footage; sightings: Sightings } {
  const timesSec = Float64Array.of(0, 1001 / 30000, 0.0701, 0.1);
  const n = timesSec.length * jointsPerPicture;
  const column = (k: number) =>
    Float32Array.from({ length: n }, (_, i) => (i % 7 === 3 ? Number.NaN : Math.sqrt(i + k)));
  return {
    footage: {
      name: 'lamp room.mp4',
      widthPx: 960,
      heightPx: 540,
      timesSec,
      endSec: 0.1334,
      firstStampSec: 0.5,
      medianFps: Number.NaN,
      variableFrameRate: true,
      codec: 'avc',
      turnedDeg: 90,
      notes: [{ code: 'gap', firstPicture: 1, lastPicture: 2, sentence: 'A gap.' }],
    },
    sightings: {
      detector: { model: 'movenet-thunder', backend: 'wasm', millisecondsPerFrame: 100, readSeconds: Number.NaN },
      widthPx: 960,
      heightPx: 540,
      timesSec,
      xPx: column(1),
      yPx: column(2),
      confidence: Float32Array.from({ length: n }, () => 0.5),
      depthPx: column(3),
      onwardXPx: column(4),
      onwardYPx: column(5),
      onwardSdPx: column(6),
      readCount: 3,
      peopleSeen: [{ timeSec: 0, count: 2 }],
    },
  };
}

describe('.nudgebook file', () => {
  it('gives back book, footage and sightings to the last bit', () => {
    const file = { book: { ...newBook('lamp'), puppet: puppetOfHeight(newPuppet, 285) }, reading: madeReading() };
    expect(unpackBookFile(packBookFile(file))).toEqual({ ok: true, value: file });
  });

  it('gives the sound back to the last bit, and leaves out what does not fit rather than refuse the book', () => {
    const sound = soundtrackOf(mix(0.7, [{ atSec: 0.2, samples: tone(440, 0.3) }], 0.01), -0.007);
    const file = { book: newBook('lamp'), reading: { ...madeReading(), sound } };
    const packed = packBookFile(file);
    expect(unpackBookFile(packed)).toEqual({ ok: true, value: file });
    const files = unzipSync(packed);
    const broken = zipSync({ ...files, 'sound.bin': files['sound.bin']!.slice(1) });
    expect(unpackBookFile(broken)).toEqual({ ok: true, value: { ...file, reading: madeReading() } });
  });

  it('keeps every kind of changed pose, and refuses one that no puppet has', () => {
    const span = { startSec: 0.5, endSec: 1 };
    const poseFixes: PoseFix[] = [
      { ...span, id: 'a', kind: 'limit', joint: 'leftAnkle' },
      { ...span, id: 'b', kind: 'overFeet' },
      { ...span, id: 'c', kind: 'reach', limb: 'rightArm' },
      { ...span, id: 'd', kind: 'apart', moving: 'leftForearm', other: 'head' },
      { ...span, id: 'e', kind: 'apart', moving: 'leftShank', other: 'rightThigh' },
    ];
    const file = { book: { ...newBook('lamp'), poseFixes }, reading: null };
    expect(unpackBookFile(packBookFile(file))).toEqual({ ok: true, value: file });
    const odd = { ...span, id: 'f', kind: 'apart', moving: 'leftWing', other: 'head' } as unknown as PoseFix;
    expect(unpackBookFile(packBookFile({ ...file, book: { ...file.book, poseFixes: [odd] } })).ok).toBe(false);
  });

  it('keeps how a shot is laid over its plan; of before that could be chosen, a ruler counted as soon as it was there', () => {
    const ruler = { from: [10, 20.5], to: [300, 20], lengthMm: 100 } as const;
    const animated: AnimatedShot = {
      bookId: 'shot',
      pictures: null,
      gaps: 'jumps',
      firstFrame: 4,
      mirrored: false,
      laid: 'angles',
      ruler,
      joints: ['nose', 'pelvis'],
      frames: { firstFrame: 2, frames: 30 },
    };
    const text = writeBook({ ...newBook('lamp'), animated });
    const read = readBook(text);
    expect(read.ok && read.value.animated).toEqual(animated);
    expect(readBook(text.replace('"angles"', '"wings"')).ok).toBe(false);
    const { laid: _laid, joints: _joints, frames: _frames, gaps: _gaps, ...before } = animated;
    for (const [was, laid] of [
      [before, 'ruler'],
      [{ ...before, ruler: null }, 'joints'],
    ] as const) {
      const old = readBook(JSON.stringify({ ...JSON.parse(text), animated: was }));
      expect(old.ok && old.value.animated).toEqual({ ...was, laid, gaps: null, joints: null, frames: null });
    }
  });

  it('opens without a reading when none was made', () => {
    const file = { book: newBook('lamp'), reading: null };
    expect(unpackBookFile(packBookFile(file))).toEqual({ ok: true, value: file });
  });

  it('keeps every kind of correction; one of before reaches and parts could be chosen gets the usual ones', () => {
    const corrections: Correction[] = [
      { kind: 'place', joint: 'leftHand', takeSec: 1.25, xPx: 410.5, yPx: 220, reachSec: 0 },
      { kind: 'hide', joint: 'nose', startSec: 1, endSec: 2 },
      { kind: 'swapSides', part: 'legs', startSec: 0.5, endSec: 0.75 },
      { kind: 'performer', takeSec: 0.1, xPx: 300, yPx: 200 },
    ];
    const text = writeBook({ ...newBook('lamp'), corrections });
    const read = readBook(text);
    expect(read.ok && read.value.corrections).toEqual(corrections);
    const old = readBook(text.replace(/,?\s*"reachSec": 0/, '').replace(/"part": "legs",?/, ''));
    expect(old.ok && old.value.corrections.slice(0, 3)).toEqual([
      { ...corrections[0], reachSec: usualReachSec },
      corrections[1],
      { ...corrections[2], part: 'all' },
    ]);
    expect(readBook(text.replace('"legs"', '"wings"')).ok).toBe(false);
  });

  it('refuses a cut file, a foreign zip, falling times and columns that do not fit, each with a next step', () => {
    const whole = packBookFile({ book: newBook('lamp'), reading: madeReading() });
    const parts = unzipSync(whole);
    const head = new TextDecoder().decode(parts['reading.json']);
    const broken = [
      whole.slice(0, whole.length / 2),
      zipSync({ 'readme.txt': strToU8('hello') }),
      zipSync({ ...parts, 'reading.json': strToU8(head.replace('0.0701', '0.0001')) }),
      zipSync({ ...parts, 'reading.f32': parts['reading.f32']!.slice(4) }),
      zipSync({ ...parts, 'reading.json': strToU8(head.replace('"readCount": 3', '"readCount": 9')) }),
    ];
    for (const bytes of broken) {
      const opened = unpackBookFile(bytes);
      expect(opened.ok).toBe(false);
      if (!opened.ok) expect(opened.failure.sentence).toMatch(/open|copy/i);
    }
  });
});

describe('marked points in a book file', () => {
  const leg = (direction: 1 | -1, lost: FollowedLeg['lost']): FollowedLeg => ({
    mark: { takeSec: 0.1, xPx: 12.5, yPx: 80 },
    direction,
    timesSec: Float64Array.of(0.1, 0.1 + direction / 30),
    xPx: Float64Array.of(12.5, Number.NaN),
    yPx: Float64Array.of(80, Number.NaN),
    sdPx: Float64Array.of(0, Number.NaN),
    lost,
  });
  const followed: FollowedProps = new Map([
    ['prop:ball', [leg(1, null), leg(-1, { takeSec: 0.0667, why: 'covered', xPx: 12.5, yPx: 80 })]],
    ['prop:tail', [leg(1, null)]],
  ]);
  const packed = packBookFile({ book: newBook('Ball'), reading: { ...madeReading(), followed } });

  it('come back as they were followed', () => {
    const opened = unpackBookFile(packed);
    expect(opened.ok && opened.value.reading?.followed).toEqual(followed);
    const without = unpackBookFile(packBookFile({ book: newBook('Ball'), reading: madeReading() }));
    expect(without.ok && without.value.reading?.followed).toBeUndefined();
  });

  it('are left out, to be followed again, where head and numbers do not fit', () => {
    const parts = unzipSync(packed);
    const head = new TextDecoder().decode(parts['points.json']);
    for (const broken of [
      { ...parts, 'points.f64': parts['points.f64']!.slice(8) },
      { ...parts, 'points.json': strToU8(head.replace('"prop:tail"', '"tail"')) },
      { ...parts, 'points.json': strToU8(head.replace('"covered"', '"eaten"')) },
      { ...parts, 'points.json': strToU8('{') },
    ]) {
      const opened = unpackBookFile(zipSync(broken));
      expect(opened.ok && opened.value.reading).toBeTruthy();
      expect(opened.ok && opened.value.reading?.followed).toBeUndefined();
    }
  });
});

describe('a reading of an older version', () => {
  it('with the COCO joints and three columns only is read, the rest unseen', () => {
    const reading = madeReading();
    const files = unzipSync(packBookFile({ book: newBook('Old'), reading }));
    const head = JSON.parse(new TextDecoder().decode(files['reading.json']!));
    const { joints: _j, columns: _c, ...old } = head;
    const pictures = reading.footage.timesSec.length;
    const numbers = new Float32Array(pictures * cocoJoints.length * 3);
    for (let i = 0; i < numbers.length; i++) numbers[i] = i;
    const bytes = zipSync({
      'book.json': files['book.json']!,
      'reading.json': strToU8(JSON.stringify({ ...old, version: 1 })),
      'reading.f32': new Uint8Array(numbers.buffer),
    });
    const opened = unpackBookFile(bytes);
    if (!opened.ok) throw new Error(opened.failure.sentence);
    const { sightings } = opened.value.reading!;
    expect(sightings.xPx[cell(1, 2)]).toBe(cocoJoints.length + 2);
    expect(sightings.confidence[cell(0, 1)]).toBe(2 * pictures * cocoJoints.length + 1);
    expect(sightings.xPx[cell(1, cocoJoints.length)]).toBeNaN();
    expect(sightings.onwardXPx.every(Number.isNaN)).toBe(true);
  });

  it('and one of a newer version is refused', () => {
    const files = unzipSync(packBookFile({ book: newBook('New'), reading: madeReading() }));
    const head = JSON.parse(new TextDecoder().decode(files['reading.json']!));
    const opened = unpackBookFile(
      zipSync({ ...files, 'reading.json': strToU8(JSON.stringify({ ...head, version: 99 })) }),
    );
    expect(opened.ok ? null : opened.failure.code).toBe('book-newer');
  });
});
