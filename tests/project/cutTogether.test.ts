import { strFromU8, strToU8, unzipSync, zipSync } from 'fflate';
import { describe, expect, it } from 'vitest';
import { detectedJoints } from '../../src/base/joints.ts';
import { type Book, newBook } from '../../src/project/book.ts';
import { packBookFile, unpackBookFile } from '../../src/project/bookFile.ts';
import { correctionsWithin, sightingsOfPart } from '../../src/project/cut.ts';
import { cutTogether, type PickedStretch } from '../../src/project/cutTogether.ts';
import { readBook, writeBook } from '../../src/project/schema.ts';
import { cell, type Sightings } from '../../src/track/sighting.ts';
import { evenTimes, hold, makeSightings } from '../make.ts';

function take(
  name: string,
  x: number,
  firstPicture: number,
  lastPicture: number,
  book: Partial<Book> = {},
): PickedStretch {
  const sightings: Sightings = makeSightings({ timesSec: evenTimes(60, 30), body: hold(x, 280), noisePx: 1 });
  sightings.onwardXPx.fill(0.5);
  const footage = {
    ...{ name: `${name}.mp4`, widthPx: 960, heightPx: 540, timesSec: sightings.timesSec, endSec: 2 },
    ...{ firstStampSec: 0.25, medianFps: 30, variableFrameRate: false, codec: 'avc', turnedDeg: 0, notes: [] },
  };
  return {
    takeId: name,
    book: { ...newBook(name), ...book },
    reading: { footage, sightings },
    firstPicture,
    lastPicture,
  };
}

const joined = (...picks: PickedStretch[]) => {
  const outcome = cutTogether('best', picks);
  if (!outcome.ok) throw new Error(outcome.failure.sentence);
  return { book: outcome.value.book, ...outcome.value.reading! };
};

describe('a shot cut together', () => {
  it('has the picked pictures one after another on a clock of its own, with what was seen in them', () => {
    const [a, b] = [take('a', 400, 30, 44), take('b', 500, 6, 20)];
    const { book, footage, sightings } = joined(a, b);
    expect(footage.timesSec).toHaveLength(30);
    expect(footage.endSec).toBeCloseTo(1, 9);
    footage.timesSec.forEach((sec, i) => {
      expect(sec).toBeCloseTo(i / 30, 9);
    });
    const nose = detectedJoints.indexOf('nose');
    expect(sightings.xPx[cell(3, nose)]).toBe(a.reading.sightings.xPx[cell(33, nose)]);
    expect(sightings.xPx[cell(17, nose)]).toBe(b.reading.sightings.xPx[cell(8, nose)]);
    // The step from one take into another was never filmed.
    expect(sightings.onwardXPx[cell(13, nose)]).toBe(0.5);
    expect(sightings.onwardXPx[cell(14, nose)]).toBeNaN();
    expect(book.cut.map((p) => [p.takeId, p.firstPicture, p.pictures])).toEqual([
      ['a', 0, 15],
      ['b', 15, 15],
    ]);
    expect(book.cut[1]!.startSec).toBeCloseTo(0.5, 9);
    expect(book.cut[1]!.fromSec).toBeCloseTo(0.2, 9);
    expect(sightings.readCount).toBe(30);
  });

  it('takes corrections and locked keys of each stretch along, shortened to it, and no others', () => {
    const place = { kind: 'place', joint: 'nose', xPx: 1, yPx: 2, reachSec: 0.3 } as const;
    const b = take('b', 500, 30, 44, {
      corrections: [
        { ...place, takeSec: 1.1 },
        { ...place, takeSec: 0.2 },
        { kind: 'swapSides', part: 'all', startSec: 0.5, endSec: 1.2 },
        { kind: 'performer', takeSec: 1.1, xPx: 3, yPx: 4 },
      ],
      pinnedKeys: [
        { id: 'k1', takeSec: 1.3, kind: 'key', name: 'looks up' },
        { id: 'k2', takeSec: 1.9, kind: 'key', name: 'leaves' },
      ],
    });
    const { book } = joined(take('a', 400, 0, 14), b);
    expect(book.corrections).toHaveLength(2);
    const placed = book.corrections.find((c) => c.kind === 'place');
    const swapped = book.corrections.find((c) => c.kind === 'swapSides');
    expect(placed).toMatchObject({ kind: 'place', xPx: 1 });
    expect((placed as { takeSec: number }).takeSec).toBeCloseTo(0.6, 9);
    expect((swapped as { startSec: number }).startSec).toBeCloseTo(0.5, 9);
    expect((swapped as { endSec: number }).endSec).toBeCloseTo(0.7, 9);
    expect(book.pinnedKeys.map((k) => k.name)).toEqual(['looks up']);
    expect(book.pinnedKeys[0]!.takeSec).toBeCloseTo(0.8, 9);
  });

  it('gives every key an id of its own where one stretch is picked twice', () => {
    const pinnedKeys = [{ id: 'k1', takeSec: 0.3, kind: 'key', name: '' }] as const;
    const { book } = joined(take('a', 400, 0, 20, { pinnedKeys }), take('a', 400, 0, 20, { pinnedKeys }));
    expect(new Set(book.pinnedKeys.map((k) => k.id)).size).toBe(2);
  });

  it('turns a mirrored take the way the first one is', () => {
    const { sightings, book } = joined(take('a', 400, 0, 9), take('b', 400, 0, 9, { mirrored: true }));
    const at = (joint: (typeof detectedJoints)[number], picture: number) =>
      sightings.xPx[cell(picture, detectedJoints.indexOf(joint))]!;
    expect(book.mirrored).toBe(false);
    expect(at('leftWrist', 3)).toBeGreaterThan(at('rightWrist', 3));
    expect(at('leftWrist', 13)).toBeLessThan(at('rightWrist', 13));
  });

  it('gives the sightings of each part back as they were cut in', () => {
    const [a, b] = [take('a', 400, 30, 44), take('b', 500, 6, 20)];
    const { book, sightings } = joined(a, b);
    const part = sightingsOfPart(sightings, book.cut[1]!);
    const nose = detectedJoints.indexOf('nose');
    expect(part.readCount).toBe(15);
    expect(part.timesSec[0]).toBeCloseTo(0.5, 9);
    expect(part.yPx[cell(4, nose)]).toBe(b.reading.sightings.yPx[cell(10, nose)]);
  });

  it('refuses what does not join, and says what to do', () => {
    const small = take('b', 500, 0, 9);
    const other = { ...small, reading: { ...small.reading, footage: { ...small.reading.footage, widthPx: 640 } } };
    const part = { ...small, reading: { ...small.reading, sightings: { ...small.reading.sightings, readCount: 5 } } };
    const a = take('a', 400, 0, 9);
    for (const picks of [[], [a, other], [a, part], [take('a', 400, 5, 5)]]) {
      const outcome = cutTogether('best', picks);
      expect(outcome.ok ? '' : outcome.failure.code).toBe('takes-do-not-join');
    }
  });

  it('is saved and opened again; a book of before cuts opens without one', () => {
    const cut = cutTogether('best', [take('a', 400, 0, 14), take('b', 500, 0, 14)]);
    if (!cut.ok) throw new Error(cut.failure.sentence);
    const packed = packBookFile(cut.value);
    const opened = unpackBookFile(packed);
    expect(opened.ok && opened.value.book).toEqual(cut.value.book);
    const old = JSON.parse(writeBook(newBook('old'))) as Record<string, unknown>;
    delete old.cut;
    expect(readBook(JSON.stringify(old))).toEqual({ ok: true, value: newBook('old') });
    // Parts that overlap cannot be right.
    const files = unzipSync(packed);
    const text = strFromU8(files['book.json']!).replace('"firstPicture": 15', '"firstPicture": 12');
    expect(unpackBookFile(zipSync({ ...files, 'book.json': strToU8(text) })).ok).toBe(false);
  });
});

describe('corrections within a stretch', () => {
  it('are those that touch it, ends included', () => {
    const hide = { kind: 'hide', joint: 'nose', startSec: 1, endSec: 2 } as const;
    expect(correctionsWithin([hide], 2, 3)).toEqual([{ ...hide, startSec: 2 }]);
    expect(correctionsWithin([hide], 2.1, 3)).toEqual([]);
  });
});
