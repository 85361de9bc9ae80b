import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { detectedJoints } from '../../src/base/joints.ts';
import { type Book, newBook, nothingAside, type ReplanChoice } from '../../src/project/book.ts';
import { packBookFile, unpackBookFile } from '../../src/project/bookFile.ts';
import { type CutSources, joinParts, layParts, type Stretch, stretchOf } from '../../src/project/cut.ts';
import { replansAside } from '../../src/project/cutReplans.ts';
import { cutTogether, type PickedStretch } from '../../src/project/cutTogether.ts';
import { applyEdit } from '../../src/project/edits.ts';
import { readBook, writeBook } from '../../src/project/schema.ts';
import { makeTimeMap, type TimeKnot } from '../../src/timing/timeMap.ts';
import { cell } from '../../src/track/sighting.ts';
import { evenTimes, hold, makeSightings } from '../make.ts';

const place = { kind: 'place', joint: 'nose', xPx: 1, yPx: 2, reachSec: 0.3 } as const;

/** A take of two seconds with a lock and a correction in each half second, and one span across its middle. */
function take(takeId: string, firstPicture: number, lastPicture: number): PickedStretch {
  const sightings = makeSightings({
    timesSec: evenTimes(60, 30),
    body: hold(takeId === 'a' ? 400 : 500, 280),
    noisePx: 1,
  });
  const footage = {
    ...{ name: `${takeId}.mp4`, widthPx: 960, heightPx: 540, timesSec: sightings.timesSec, endSec: 2 },
    ...{ firstStampSec: 0, medianFps: 30, variableFrameRate: false, codec: 'avc', turnedDeg: 0, notes: [] },
  };
  const at = [0.21, 0.71, 1.21, 1.71];
  const book: Book = {
    ...newBook(takeId),
    corrections: [
      ...at.map((takeSec) => ({ ...place, takeSec })),
      { kind: 'hide', joint: 'leftWrist', startSec: 0.7, endSec: 1.3 },
    ],
    pinnedKeys: at.map((takeSec, i) => ({ id: `${takeId}${i}`, takeSec, kind: 'key' as const, name: `${takeId}${i}` })),
  };
  return { takeId, book, reading: { footage, sightings }, firstPicture, lastPicture };
}

function cutOf(...picks: PickedStretch[]): { book: Book; sources: CutSources } {
  const made = cutTogether('best', picks);
  if (!made.ok) throw new Error(made.failure.sentence);
  return { book: made.value.book, sources: made.value.sources! };
}

/** Another begin and end for one stretch, in pictures of its take. */
const trimmed = (book: Book, sources: CutSources, k: number, firstPicture: number, lastPicture: number): Book => {
  const stretches = book.cut.map((part, i) => ({
    ...stretchOf(part),
    ...(i === k ? { firstPicture, lastPicture } : {}),
  }));
  return applyEdit(book, { kind: 'setCut', cut: layParts(stretches, sources) });
};
const reordered = (book: Book, sources: CutSources, order: readonly number[]): Book =>
  applyEdit(book, {
    kind: 'setCut',
    cut: layParts(
      order.map((k) => stretchOf(book.cut[k]!)),
      sources,
    ),
  });

/** The moment of its take that stands at a time of the shot, as "a 0.710". */
function momentAt(book: Book, sec: number): string {
  const part = book.cut.findLast((p) => p.startSec <= sec + 1e-6)!;
  return `${part.takeId} ${(sec - part.startSec + part.fromSec).toFixed(3)}`;
}

/** Book without the last bits of times that were added and taken away again. */
const rounded = (book: Book): unknown =>
  JSON.parse(
    JSON.stringify({ ...book, frameNotes: [...book.frameNotes] }, (_, v: unknown) =>
      typeof v === 'number' ? Math.round(v * 1e6) / 1e6 : v,
    ),
  );

const range = fc.tuple(fc.integer({ min: 0, max: 57 }), fc.integer({ min: 2, max: 59 })).filter(([a, b]) => b - a >= 2);

describe('stretches of a cut shot', () => {
  it('made shorter and then as long as before, give the same book: nothing that was decided is lost', () => {
    fc.assert(
      fc.property(range, range, fc.nat(1), ([a0, a1], [t0, t1], k) => {
        const { book, sources } = cutOf(take('a', a0, a1), take('b', 10, 50));
        const part = stretchOf(book.cut[k]!);
        const there = trimmed(book, sources, k, t0, t1);
        const back = trimmed(there, sources, k, part.firstPicture, part.lastPicture);
        expect(
          rounded({ ...back, cut: back.cut.map((p) => ({ ...p, aside: { ...p.aside, corrections: [] } })) }),
        ).toEqual(rounded({ ...book, cut: book.cut.map((p) => ({ ...p, aside: { ...p.aside, corrections: [] } })) }));
        const spans = (b: Book) => [...b.corrections, ...b.cut.flatMap((p) => p.aside.corrections)].length;
        expect(spans(back)).toBe(spans(book));
      }),
      { numRuns: 60 },
    );
  });

  it('keep the moment whose pose is neutral, as long as it is in the shot', () => {
    const { book: whole, sources } = cutOf(take('a', 10, 50), take('b', 0, 59));
    const chosen = { ...whole, exaggeration: { amount: 1.2, neutralSec: 10 / 30 } };
    expect(momentAt(chosen, 10 / 30)).toBe('a 0.667');
    const book = reordered(trimmed(chosen, sources, 0, 19, 29), sources, [1, 0]);
    expect(momentAt(book, book.exaggeration.neutralSec!)).toBe('a 0.667');
    expect(trimmed(chosen, sources, 0, 30, 50).exaggeration.neutralSec).toBeNull();
  });

  it('hold the keys and corrections of their moments, and no others', () => {
    fc.assert(
      fc.property(range, range, ([a0, a1], [b0, b1]) => {
        const start = cutOf(take('a', 20, 40), take('b', 20, 40));
        let book = trimmed(start.book, start.sources, 0, a0, a1);
        book = reordered(trimmed(book, start.sources, 1, b0, b1), start.sources, [1, 0]);
        const inside = (takeId: string, first: number, last: number) =>
          [0.21, 0.71, 1.21, 1.71]
            .filter((s) => s >= first / 30 && s < (last + 1) / 30)
            .map((s) => `${takeId} ${s.toFixed(3)}`);
        const wanted = [...inside('b', b0, b1), ...inside('a', a0, a1)];
        expect(book.pinnedKeys.map((key) => momentAt(book, key.takeSec))).toEqual(wanted);
        const placed = book.corrections.flatMap((c) => (c.kind === 'place' ? [c.takeSec] : [])).sort((x, y) => x - y);
        expect(placed.map((sec) => momentAt(book, sec))).toEqual(wanted);
        for (const key of book.pinnedKeys)
          expect(key.name).toBe(
            `${momentAt(book, key.takeSec)[0]}${[0.21, 0.71, 1.21, 1.71].findIndex((s) => momentAt(book, key.takeSec).endsWith(s.toFixed(3)))}`,
          );
      }),
      { numRuns: 60 },
    );
  });

  it('keep the time that was given to them: a hold stays in its stretch wherever that goes', () => {
    const { book, sources } = cutOf(take('a', 0, 29), take('b', 0, 29));
    // In the second stretch half a second is held at its moment 0.5 s, 1.5 s of the shot.
    const held = {
      ...book,
      retiming: {
        knots: [
          { takeSec: 0, shotSec: 0 },
          { takeSec: 1.5, shotSec: 1.5 },
          { takeSec: 1.5, shotSec: 2 },
          { takeSec: 2, shotSec: 2.5 },
        ],
      },
      frameNotes: new Map([[36, { action: 'waits', dialogue: '', camera: '' }]]),
      exposedFrames: [36],
    };
    const shorter = trimmed(held, sources, 0, 15, 29);
    const map = makeTimeMap(shorter.retiming, 0, 1.5);
    expect(map.lengthSec).toBeCloseTo(2, 6);
    expect(map.shotAt(1)).toBeCloseTo(1, 6);
    expect(map.lastShotAt(1)).toBeCloseTo(1.5, 6);
    expect([...shorter.frameNotes.keys()]).toEqual([24]);
    expect(shorter.exposedFrames).toEqual([24]);
    const first = reordered(held, sources, [1, 0]);
    const turned = makeTimeMap(first.retiming, 0, 2);
    expect(turned.shotAt(0.5)).toBeCloseTo(0.5, 6);
    expect(turned.lastShotAt(0.5)).toBeCloseTo(1, 6);
    expect(turned.lengthSec).toBeCloseTo(2.5, 6);
  });

  it('are joined anew out of their takes, which come along in the book file', () => {
    const { book, sources } = cutOf(take('a', 0, 29), take('b', 0, 29));
    const file = packBookFile({ book, reading: joinParts('best', book.cut, sources), sources });
    const read = unpackBookFile(file);
    if (!read.ok) throw new Error(read.failure.sentence);
    expect([...read.value.sources!.keys()]).toEqual(['a', 'b']);
    const longer = trimmed(read.value.book, read.value.sources!, 1, 0, 59);
    const { footage, sightings } = joinParts('best', longer.cut, read.value.sources!);
    expect(footage.timesSec).toHaveLength(90);
    const nose = detectedJoints.indexOf('nose');
    expect(sightings.xPx[cell(89, nose)]).toBe(sources.get('b')!.reading.sightings.xPx[cell(59, nose)]);
    expect(longer.pinnedKeys.map((k) => k.name)).toEqual(['a0', 'a1', 'b0', 'b1', 'b2', 'b3']);
  });

  it('of one take picked twice have keys of their own', () => {
    const { book } = cutOf(take('a', 0, 29), take('a', 10, 40));
    expect(new Set(book.pinnedKeys.map((k) => k.id)).size).toBe(book.pinnedKeys.length);
  });

  it('may be new: their decisions come along', () => {
    const { book, sources } = cutOf(take('a', 0, 29), take('b', 0, 29));
    const { corrections, pinnedKeys } = take('a', 0, 1).book;
    const more: Stretch = {
      ...stretchOf(book.cut[0]!),
      id: 'cut9',
      firstPicture: 30,
      lastPicture: 59,
      aside: { ...nothingAside, corrections, pinnedKeys },
    };
    const cut = layParts([...book.cut.map(stretchOf), more], sources);
    const longer = applyEdit(book, { kind: 'setCut', cut });
    expect(longer.pinnedKeys.map((k) => k.name)).toEqual(['a0', 'a1', 'b0', 'b1', 'a2', 'a3']);
  });
});

/** Frames of the second of 24 in which half a second more is held, from this one on. */
const heldFrom = 10;
const heldFor = 12;

/**
 * Two takes filmed at the shot's own rate, a second of each; in the second one a pose is held. Beside every frame its moment is
 * written, every fifth is locked, and some of each are by hand on other frames.
 */
function written(): { book: Book; sources: CutSources } {
  const at24 = (takeId: string): PickedStretch => {
    const sightings = makeSightings({ timesSec: evenTimes(48, 24), body: hold(400, 280), noisePx: 1 });
    const { reading } = take(takeId, 0, 1);
    const footage = { ...reading.footage, timesSec: sightings.timesSec, medianFps: 24 };
    return { takeId, book: newBook(takeId), reading: { footage, sightings }, firstPicture: 12, lastPicture: 35 };
  };
  const { book, sources } = cutOf(at24('a'), at24('b'));
  const knot = (takeFrame: number, shotFrame: number): TimeKnot => ({
    takeSec: takeFrame / 24,
    shotSec: shotFrame / 24,
  });
  const held = 24 + heldFrom;
  const knots = [knot(0, 0), knot(held, held), knot(held, held + heldFor), knot(48, 48 + heldFor)];
  const timed: Book = { ...book, retiming: { knots } };
  const frames = Array.from({ length: 48 + heldFor }, (_, frame) => frame);
  return {
    sources,
    book: {
      ...timed,
      frameNotes: new Map(frames.map((f) => [f, { action: shownAt(timed, f), dialogue: '', camera: '' }])),
      exposedFrames: frames.filter((f) => f % 5 === 0),
      exposureSpans: [
        { firstFrame: 3, frames: 6, onFrames: 3 },
        { firstFrame: 26, frames: 4, onFrames: 1 },
      ],
      removedKeysSec: [0.3, 0.8, 1.2, 1.9],
      replans: frames.filter((f) => f % 7 === 3 && f + 4 < frames.length).map((f) => replanAt(timed, f)),
    },
  };
}

/** The moment of its take that a frame shows. */
function shownAt(book: Book, frame: number): string {
  return momentAt(book, shownSec(book, frame) + 1e-7);
}

/** The same on the clock of the cut shot. */
function shownSec(book: Book, frame: number): number {
  const last = book.cut.at(-1)!;
  return makeTimeMap(book.retiming, 0, last.startSec + last.lengthSec).takeAt(frame / 24 + 1e-9);
}

/** Moves go on from a frame to the pose four frames later, two frames late; it is known again by its height. */
function replanAt(book: Book, frame: number): ReplanChoice {
  const pose = [{ joint: 'nose', xMm: frame, yMm: 1, sdMm: 0.1 }] as const;
  return {
    stance: {
      firstFrame: frame,
      frames: 1,
      planFrame: frame - 2,
      pose,
      before: { frames: 1, planFrame: frame - 3, pose },
    },
    takeSec: shownSec(book, frame),
    keySec: shownSec(book, frame + 4),
    keyAside: null,
    heightMm: 100 + frame,
  };
}

/** Every frame whose moment was written beside is written beside as before, and no other. */
function expectWritten(now: Book): void {
  const was = written().book;
  const all = new Set([...was.frameNotes.values()].map((note) => note.action));
  const last = now.cut.at(-1)!;
  const count = Math.round(makeTimeMap(now.retiming, 0, last.startSec + last.lengthSec).lengthSec * 24);
  for (let f = 0; f < count; f++) {
    const shown = shownAt(now, f);
    expect(now.frameNotes.get(f)?.action).toBe(all.has(shown) ? shown : undefined);
  }
  for (const frame of now.frameNotes.keys()) expect(frame).toBeLessThan(count);
  // Moves go on from the poses they went on from, as late as before, to the keys they went to.
  const shown = now.replans.map(({ stance, heightMm }) => [heightMm, shownAt(now, stance.firstFrame)]);
  const wanted = was.replans.map(({ heightMm }) => [heightMm, shownAt(was, heightMm - 100)]);
  const inShot = new Set(Array.from({ length: count }, (_, f) => shownAt(now, f)));
  expect([...shown].sort()).toEqual(wanted.filter(([, moment]) => inShot.has(String(moment))).sort());
  for (const { stance, takeSec, keySec } of now.replans) {
    expect(takeSec).toBeCloseTo(shownSec(now, stance.firstFrame), 6);
    const asWritten = stance.pose[0]!.xMm;
    expect(stance.planFrame).toBe(stance.firstFrame - 2);
    expect(stance.before!.planFrame).toBe(stance.firstFrame - 3);
    const key = momentAt(was, shownSec(was, asWritten + 4) + 1e-7);
    // Of one that is gone the stance's own moment is left, at which no key lies ahead.
    expect(momentAt(now, keySec + 1e-7)).toBe(isInPart(now, key) ? key : momentAt(now, takeSec + 1e-7));
  }
}

/** Does a moment lie within a stretch? What lies at its very end does not, though a hold may show it there. */
function isInPart(book: Book, moment: string): boolean {
  const sec = Number(moment.slice(2));
  return book.cut.some((p) => p.takeId === moment[0] && sec > p.fromSec - 1e-3 && sec < p.fromSec + p.lengthSec - 1e-3);
}

const within = fc
  .tuple(fc.integer({ min: 0, max: 45 }), fc.integer({ min: 2, max: 47 }))
  .filter(([a, b]) => b - a >= 2);

describe('what is written at the frames of a cut shot', () => {
  const { book, sources } = written();

  it('stays with its pose when stretches are trimmed, change places or are left out', () => {
    fc.assert(
      fc.property(within, within, fc.constantFrom([0, 1], [1, 0], [0], [1]), ([a0, a1], [b0, b1], order) => {
        const apart = trimmed(trimmed(book, sources, 0, a0, a1), sources, 1, b0, b1);
        for (const now of [
          reordered(apart, sources, order),
          trimmed(reordered(book, sources, order), sources, 0, a0, a1),
        ])
          expectWritten(now);
      }),
      // The second take begins with the held pose, whose moment is not the same to the last digit.
      {
        numRuns: 60,
        examples: [
          [
            [1, 34],
            [22, 24],
            [0, 1],
          ],
        ],
      },
    );
  });

  it('keeps to a pose that nobody touched, where another stretch or its own end is trimmed', () => {
    const shorter = trimmed(book, sources, 0, 12, 23);
    expect(shorter.frameNotes.get(6)?.action).toBe(book.frameNotes.get(6)?.action);
    expect(shorter.exposureSpans[0]).toEqual({ firstFrame: 3, frames: 6, onFrames: 3 });
    expect(shorter.exposureSpans[1]).toEqual({ firstFrame: 14, frames: 4, onFrames: 1 });
    const swapped = reordered(book, sources, [1, 0]);
    expect(swapped.exposureSpans).toContainEqual({ firstFrame: 2, frames: 4, onFrames: 1 });
    expect(swapped.exposureSpans).toContainEqual({ firstFrame: 3 + 24 + heldFor, frames: 6, onFrames: 3 });
    expect(swapped.exposedFrames).toContain(5 + 24 + heldFor);
  });

  it('comes back with the time that was given, when a stretch is as long as before', () => {
    fc.assert(
      fc.property(within, fc.nat(1), fc.boolean(), ([t0, t1], k, twice) => {
        // The cut, once changed, has knots at its joints.
        const start = trimmed(book, sources, k, 12, 35);
        expect(rounded({ ...start, retiming: book.retiming })).toEqual(rounded(book));
        let there = trimmed(start, sources, k, t0, t1);
        if (twice) there = trimmed(there, sources, k, 20, 23);
        const back = trimmed(there, sources, k, 12, 35);
        expect(rounded({ ...back, retiming: book.retiming, cut: [] })).toEqual(
          rounded({ ...start, retiming: book.retiming, cut: [] }),
        );
        const [a, b] = [start, back].map((each) => makeTimeMap(each.retiming, 0, 2));
        for (let f = 0; f <= 60; f++) expect(b!.takeAt(f / 24 + 1e-7)).toBeCloseTo(a!.takeAt(f / 24 + 1e-7), 6);
      }),
      { numRuns: 60 },
    );
  });

  it('lets moves go on from a shot pose only where that pose stands by now, whatever lies between two frames', () => {
    const [a, b] = [take('a', 0, 29), take('b', 0, 29)];
    const { book: cut, sources: takes } = cutOf(a, b);
    const withReplans = (on: Book): Book => {
      const count = Math.floor((on.cut[1]!.startSec + on.cut[1]!.lengthSec) * 24);
      const replans = Array.from({ length: count }, (_, f) => replanAt(on, f));
      // One was told as out of date before: the pose of a tenth of a second later was meant.
      const outdated = { ...replans[1]!, takeSec: replans[1]!.takeSec + 0.1 };
      return { ...on, replans: replans.with(1, outdated) };
    };
    const away = (now: Book, { stance, takeSec }: ReplanChoice) => takeSec - shownSec(now, stance.firstFrame);
    fc.assert(
      fc.property(range, range, range, fc.nat(1), ([a0, a1], [b0, b1], [t0, t1], k) => {
        const own = withReplans(trimmed(trimmed(cut, takes, 0, a0, a1), takes, 1, b0, b1));
        const now = reordered(trimmed(own, takes, k, t0, t1), takes, [1, 0]);
        const frames = now.replans.map((r) => r.stance.firstFrame);
        expect(frames).toEqual([...new Set(frames)].sort((x, y) => x - y));
        // Twice gone along by whole frames: half a frame each time.
        for (const replan of now.replans) {
          if (Math.abs(away(now, replan)) > 0.25 / 24) continue;
          const [then, there] = [shownAt(own, replan.heightMm - 100), shownAt(now, replan.stance.firstFrame)];
          expect(there[0]).toBe(then[0]);
          expect(Math.abs(Number(there.slice(2)) - Number(then.slice(2)))).toBeLessThan(1 / 24 + 0.002);
          expect(replan.heightMm).not.toBe(101);
        }
      }),
      { numRuns: 200 },
    );
    // Two pictures of 30 in a second less are a frame and a half: those behind go along by two, and stay in force.
    const shorter = trimmed(withReplans(cut), takes, 0, 2, 29);
    const later = shorter.replans.filter((r) => r.heightMm > 124);
    expect(later.map((r) => r.stance.firstFrame)).toEqual(Array.from({ length: 23 }, (_, k) => 23 + k));
    for (const replan of later) expect(away(shorter, replan)).toBeCloseTo(0, 6);
  });

  it('is saved with what is set aside', () => {
    const shorter = trimmed(book, sources, 1, 30, 35);
    expect(replansAside(shorter)).toBe(book.replans.length - shorter.replans.length);
    expect(replansAside(shorter)).toBeGreaterThan(0);
    expect(shorter.cut[1]!.aside.knots.length).toBeGreaterThan(0);
    expect(shorter.cut[1]!.aside.frames.notes.length).toBeGreaterThan(0);
    const read = readBook(writeBook(shorter));
    expect(read.ok && read.value).toEqual(shorter);
    // Books of when re-plans stayed behind.
    const before = JSON.parse(writeBook(shorter)) as { cut: { aside: { frames: Record<string, unknown> } }[] };
    for (const { aside } of before.cut) delete aside.frames.replans;
    const without = readBook(JSON.stringify(before));
    expect(without.ok && without.value.cut[1]!.aside.frames.replans).toEqual([]);
    // Books of when only corrections and keys were set aside.
    const old = JSON.parse(writeBook(shorter)) as { cut: { aside: Record<string, unknown> }[] };
    for (const { aside } of old.cut) for (const name of ['knots', 'frames', 'removedKeysSec']) delete aside[name];
    const opened = readBook(JSON.stringify(old));
    expect(opened.ok && opened.value.cut[1]!.aside).toEqual(nothingAside);
  });

  it('keeps the trim of the shot only while the stretches keep their order', () => {
    const short = { ...book, trimStartSec: 0.25 };
    expect(trimmed(short, sources, 1, 12, 30).trimStartSec).toBeCloseTo(0.25, 9);
    expect(trimmed(short, sources, 0, 14, 35).trimStartSec).toBeCloseTo(0.25 - 2 / 24, 9);
    expect(reordered(short, sources, [1, 0]).trimStartSec).toBeNull();
  });
});
