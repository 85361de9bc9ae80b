import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { newBook } from '../../src/project/book.ts';
import { applyEdit, type Edit } from '../../src/project/edits.ts';
import {
  beginHistory,
  type History,
  record,
  recordMarks,
  redo,
  redoMarks,
  undo,
  undoLabel,
  undoMarks,
} from '../../src/project/history.ts';
import { readBook, writeBook } from '../../src/project/schema.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import { puppetOfHeight, standingHeightMm } from '../../src/puppet/profile.ts';

const sec = fc.double({ min: 0, max: 60, noNaN: true });
const pinned = fc.record({
  id: fc.constantFrom('a', 'b', 'c'),
  takeSec: sec,
  kind: fc.constantFrom('key' as const, 'breakdown' as const),
  name: fc.string(),
});
const anyEdit: fc.Arbitrary<Edit> = fc.oneof(
  fc.record({ kind: fc.constant('rename' as const), shotName: fc.string() }),
  fc.record({ kind: fc.constant('trim' as const), startSec: sec, endSec: fc.constant(null) }),
  fc.record({ kind: fc.constant('pinKey' as const), key: pinned }),
  fc.record({ kind: fc.constant('moveKey' as const), id: fc.constantFrom('a', 'b', 'z'), fromSec: sec, key: pinned }),
  fc.record({ kind: fc.constant('removeKey' as const), id: fc.constantFrom('a', 'b', 'z'), takeSec: sec }),
  fc.record({ kind: fc.constant('setKeyCount' as const), keyCount: fc.constantFrom(null, 2, 5, 9) }),
  fc.record({
    kind: fc.constant('correct' as const),
    correction: fc.record({
      kind: fc.constant('place' as const),
      joint: fc.constantFrom('leftWrist' as const, 'nose' as const),
      takeSec: sec,
      xPx: sec,
      yPx: sec,
      reachSec: sec,
    }),
  }),
  fc.record({
    kind: fc.constant('writeNote' as const),
    frameIndex: fc.nat(400),
    note: fc.record({ action: fc.string(), dialogue: fc.string(), camera: fc.constant('') }),
  }),
  fc.record({
    kind: fc.constant('retime' as const),
    retiming: fc.array(fc.tuple(sec, sec), { maxLength: 5 }).map((pairs) => {
      const take = pairs.map(([a]) => a).sort((a, b) => a - b);
      const shot = pairs.map(([, b]) => b).sort((a, b) => a - b);
      return { knots: take.map((takeSec, i) => ({ takeSec, shotSec: shot[i]! })) };
    }),
    moves: fc
      .uniqueArray(fc.nat(400), { maxLength: 4 })
      .map((from) =>
        from.sort((a, b) => a - b).map((fromFrame, i) => ({ fromFrame, toFrame: 3 * i + (fromFrame >> 1) })),
      ),
  }),
  fc.record({
    kind: fc.constant('exaggerate' as const),
    exaggeration: fc.record({ amount: fc.constantFrom(0.5, 1, 1.3), neutralSec: fc.constantFrom(null, 0.4) }),
  }),
  fc.record({ kind: fc.constant('setExposureBudget' as const), exposures: fc.constantFrom(null, 1, 40) }),
  fc.record({
    kind: fc.constant('setExposureSpans' as const),
    spans: fc.array(
      fc.record({
        firstFrame: fc.nat(400),
        frames: fc.integer({ min: 1, max: 90 }),
        onFrames: fc.constantFrom(1 as const, 4 as const),
      }),
      { maxLength: 4 },
    ),
  }),
  fc.record({ kind: fc.constant('setExposedFrames' as const), frames: fc.array(fc.nat(400), { maxLength: 6 }) }),
  fc.record({
    kind: fc.constant('namePhase' as const),
    id: fc.constantFrom('x', 'y'),
    name: fc.constantFrom('', 'wind-up'),
  }),
  fc.record({
    kind: fc.constant('setChains' as const),
    chains: fc.constantFrom([], [{ id: 'c', name: 'tail', parts: ['pelvis' as const, 'prop:tail' as const] }]),
  }),
  fc.record({
    kind: fc.constant('setSound' as const),
    sound: fc.record({ nudgeSec: sec, beatsPerMinute: fc.constantFrom(null, 112), firstBeatSec: sec }),
  }),
  fc.record({
    kind: fc.constant('setProp' as const),
    prop: fc.record({
      id: fc.constantFrom('prop:ball' as const, 'prop:tail' as const),
      name: fc.constantFrom('ball', 'tip'),
      marks: fc.array(fc.record({ takeSec: sec, xPx: sec, yPx: sec }), { maxLength: 3 }),
      absent: fc.constant([]),
    }),
  }),
  fc.record({ kind: fc.constant('removeProp' as const), id: fc.constantFrom('prop:ball' as const) }),
);

describe('a shot that becomes longer or shorter', () => {
  const note = (action: string, dialogue = '') => ({ action, dialogue, camera: '' });
  const written = {
    ...newBook('lamp'),
    frameNotes: new Map([
      [3, note('breathes')],
      [10, note('turns', 'oh')],
      [12, note('looks')],
    ]),
    exposedFrames: [4, 10, 12],
    exposureSpans: [
      { firstFrame: 0, frames: 8, onFrames: 1 as const },
      { firstFrame: 6, frames: 8, onFrames: 3 as const },
      { firstFrame: 12, frames: 4, onFrames: 1 as const },
    ],
  };
  const retimed = (...pairs: [number, number][]) =>
    applyEdit(written, {
      kind: 'retime',
      retiming: { knots: [] },
      moves: pairs.map(([fromFrame, toFrame]) => ({ fromFrame, toFrame })),
    });
  const words = (book: typeof written | ReturnType<typeof retimed>) =>
    [...book.frameNotes].sort(([a], [b]) => a - b).map(([frame, n]) => `${frame} ${n.action}|${n.dialogue}`);

  it('takes along what is written behind the change, but what is said stays with the sound', () => {
    const longer = retimed([0, 0], [8, 13]);
    expect(words(longer)).toEqual(['5 breathes|', '10 |oh', '15 turns|', '17 looks|']);
    expect(longer.exposedFrames).toEqual([7, 15, 17]);
    expect(longer.exposureSpans.map((s) => [s.firstFrame, s.frames])).toEqual([
      [0, 13],
      [10, 9],
      [17, 4],
    ]);
  });

  it('moves only what lies in a span that is absorbed', () => {
    const absorbed = retimed([8, 8], [10, 14], [20, 20]);
    expect(words(absorbed)).toEqual(['3 breathes|', '10 |oh', '14 turns|', '15 looks|']);
  });

  it('loses no word where frames fall away', () => {
    const shorter = retimed([3, 3], [13, 4]);
    expect(words(shorter)).toEqual(['3 breathes / turns / looks|', '10 |oh']);
  });

  it('moves nothing when nothing changed', () => {
    expect(retimed()).toEqual(written);
    expect(retimed([0, 0], [9, 9])).toEqual(written);
  });
});

describe('history', () => {
  it('gives the first book back after undoing any edits, and the last after redoing them', () => {
    fc.assert(
      fc.property(fc.array(anyEdit, { maxLength: 30 }), (edits) => {
        const start = beginHistory(newBook('lamp'));
        const end = edits.reduce((h, e) => record(h, e), start);
        let h = end;
        for (const _ of edits) h = undo(h);
        expect(h.book).toEqual(start.book);
        for (const _ of edits) h = redo(h);
        expect(h.book).toEqual(end.book);
      }),
    );
  });

  it('takes a whole drag back as one step, and starts a new step for the next drag', () => {
    const drag = (h: ReturnType<typeof beginHistory>, gesture: string, at: number[]) =>
      at.reduce((acc, mm) => record(acc, { kind: 'setPuppetHeight', puppetHeightMm: mm }, gesture), h);
    const first = drag(beginHistory(newBook('lamp')), 'drag 1', [260, 270, 280]);
    const second = drag(first, 'drag 2', [290, 300]);
    expect(standingHeightMm(undo(second).book.puppet)).toBe(280);
    expect(standingHeightMm(undo(undo(second)).book.puppet)).toBe(250);
    expect(undoLabel(second)).toBe('puppet height');
  });

  it('counts only the last of the retimings in one drag, so that notes go along once', () => {
    const note = { action: 'turns', dialogue: '', camera: '' };
    const drag = [1, 2, 3, 2].reduce(
      (h, by) =>
        record(
          h,
          {
            kind: 'retime',
            retiming: { knots: [{ takeSec: 0, shotSec: by }] },
            moves: [{ fromFrame: 10, toFrame: 10 + by }],
          },
          'drag',
        ),
      record(beginHistory(newBook('lamp')), { kind: 'writeNote', frameIndex: 20, note }),
    );
    expect([...drag.book.frameNotes.keys()]).toEqual([22]);
    expect(drag.book.retiming.knots[0]!.shotSec).toBe(2);
    expect([...undo(drag).book.frameNotes.keys()]).toEqual([20]);
  });

  it('keeps a removed key away until one is pinned at its place', () => {
    let h = record(beginHistory(newBook('lamp')), { kind: 'removeKey', id: 'k1200', takeSec: 1.2 });
    expect(h.book.removedKeysSec).toEqual([1.2]);
    h = record(h, { kind: 'pinKey', key: { id: 'p1', takeSec: 1.205, kind: 'key', name: '' } });
    expect(h.book.removedKeysSec).toEqual([]);
    expect(h.book.pinnedKeys.map((k) => k.id)).toEqual(['p1']);
  });

  it('moves a computed key by pinning it and keeping the old place free; a pinned one leaves no trace', () => {
    const key = (takeSec: number) => ({ id: 'p', takeSec, kind: 'key' as const, name: '' });
    let h = record(beginHistory(newBook('lamp')), { kind: 'moveKey', id: 'k500', fromSec: 0.5, key: key(0.7) });
    expect(h.book.removedKeysSec).toEqual([0.5]);
    h = record(h, { kind: 'moveKey', id: 'p', fromSec: 0.7, key: key(0.9) });
    expect(h.book.removedKeysSec).toEqual([0.5]);
    expect(h.book.pinnedKeys).toEqual([key(0.9)]);
  });
});

describe('book file', () => {
  it('reads back what it wrote', () => {
    fc.assert(
      fc.property(fc.array(anyEdit, { maxLength: 20 }), (edits) => {
        const { book } = edits.reduce((h, e) => record(h, e), beginHistory(newBook('lamp')));
        const read = readBook(writeBook(book));
        expect(read).toEqual({ ok: true, value: book });
      }),
    );
  });

  it('refuses NaN, infinity and nonsense with the place and a next step', () => {
    const text = writeBook(newBook('lamp'));
    for (const [from, to] of [
      ['"smallestStepMm": 0.3', '"smallestStepMm": NaN'],
      ['"smallestStepMm": 0.3', '"smallestStepMm": null'],
      ['"smallestStepMm": 0.3', '"smallestStepMm": 1e999'],
      ['"onFrames": 2', '"onFrames": 2.5'],
      ['"format": "nudgebook"', '"format": "other"'],
    ] as const) {
      const broken = text.replace(from, to);
      expect(broken).not.toBe(text);
      const read = readBook(broken);
      expect(read.ok).toBe(false);
      if (!read.ok) {
        expect(read.failure.code).toBe('book-unreadable');
        expect(read.failure.sentence).toMatch(/open/i);
      }
    }
  });

  it('says so when the file comes from a newer program', () => {
    const read = readBook(writeBook(newBook('lamp')).replace('"version": 3', '"version": 7'));
    expect(read).toMatchObject({ ok: false, failure: { code: 'book-newer' } });
  });

  it('of version 1, before time could be changed, opens with everything it held', () => {
    const { puppet: _, ...file } = JSON.parse(writeBook({ ...newBook('lamp'), keyCount: 6 }));
    Object.assign(file, { puppetHeightMm: 310, smallestStepMm: 0.5 });
    for (const added of [
      'retiming',
      'exaggeration',
      'exposureBudget',
      'exposureSpans',
      'exposedFrames',
      'phaseNames',
      'chains',
      'sound',
      'props',
    ])
      delete file[added];
    const read = readBook(JSON.stringify({ ...file, version: 1 }));
    const puppet = { ...puppetOfHeight(newPuppet, 310), smallestStepMm: 0.5 };
    expect(read).toEqual({ ok: true, value: { ...newBook('lamp'), keyCount: 6, puppet } });
    expect(readBook(JSON.stringify(file)).ok).toBe(false);
  });

  it('of version 2, before limbs were known, opens with a puppet of its height, unless that cannot be right', () => {
    const { puppet: _, ...file } = JSON.parse(writeBook({ ...newBook('lamp'), keyCount: 6 }));
    const old = (puppetHeightMm: unknown) =>
      readBook(JSON.stringify({ ...file, puppetHeightMm, smallestStepMm: 0.5, version: 2 }));
    const read = old(180);
    expect(read.ok && standingHeightMm(read.value.puppet)).toBe(180);
    expect(read.ok && read.value.puppet.smallestStepMm).toBe(0.5);
    for (const wrong of [null, 'tall', 3, 1e6])
      expect(old(wrong)).toMatchObject({ failure: { code: 'book-unreadable' } });
  });

  it('of before there was a shot card and a choice of pages opens with the usual ones, and keeps those that were chosen', () => {
    const { minutesPerExposure: _m, checks: _c, printed: _p, ...file } = JSON.parse(writeBook(newBook('lamp')));
    expect(readBook(JSON.stringify(file))).toEqual({ ok: true, value: newBook('lamp') });
    let book = applyEdit(newBook('lamp'), { kind: 'setChecks', checks: [' oil in the lamp ', '', '  '] });
    book = applyEdit(book, { kind: 'setMinutesPerExposure', minutes: 7.5 });
    book = applyEdit(book, { kind: 'setPrinted', printed: { pages: ['arcs'], orientation: 'landscape' } });
    const read = readBook(writeBook(book));
    expect(read.ok && read.value).toMatchObject({
      checks: ['oil in the lamp'],
      minutesPerExposure: 7.5,
      printed: { pages: ['arcs'], orientation: 'landscape' },
    });
    expect(readBook(writeBook({ ...book, minutesPerExposure: 0 })).ok).toBe(false);
    expect(readBook(writeBook({ ...book, printed: { pages: [], orientation: 'portrait' } })).ok).toBe(false);
  });

  it('of before a neutral pose could be chosen opens with standing', () => {
    const file = JSON.parse(writeBook({ ...newBook('lamp'), exaggeration: { amount: 1.3, neutralSec: 2 } }));
    delete file.exaggeration.neutralSec;
    expect(readBook(JSON.stringify(file))).toEqual({
      ok: true,
      value: { ...newBook('lamp'), exaggeration: { amount: 1.3, neutralSec: null } },
    });
  });

  it('refuses time that runs backwards', () => {
    const knots = [
      { takeSec: 1, shotSec: 1 },
      { takeSec: 0.5, shotSec: 2 },
    ];
    expect(readBook(writeBook({ ...newBook('lamp'), retiming: { knots } }))).toMatchObject({
      ok: false,
      failure: { code: 'book-unreadable' },
    });
  });
});

describe('marks in the shot’s own book', () => {
  const point = (id: string) => ({ id: `prop:${id}`, name: id, marks: [], absent: [] }) as const;

  it('are taken back in the order in which things were done, whatever was decided between them, and done again', () => {
    fc.assert(
      fc.property(fc.array(fc.oneof(anyEdit, fc.constantFrom('nose', 'wrist')), { maxLength: 20 }), (acts) => {
        let history: History = beginHistory(newBook('lamp'));
        let points: readonly ReturnType<typeof point>[] = [];
        const states = [{ book: history.book, points }];
        for (const act of acts) {
          if (typeof act === 'string') {
            const after = [...points, point(act)];
            history = recordMarks(history, { bookId: 'shot', name: act, before: points, after }, `mark of ${act}`);
            points = after;
          } else history = record(history, act, 'one gesture');
          const isMerged = history.past.length < states.length;
          if (isMerged) states.pop();
          states.push({ book: history.book, points });
        }
        expect(history.past.length).toBe(states.length - 1);
        for (const state of states.slice(0, -1).reverse()) {
          const marks = undoMarks(history);
          const before = history.book;
          history = undo(history);
          if (marks) {
            expect(history.book).toBe(before);
            points = marks.before as typeof points;
          }
          expect({ book: history.book, points }).toEqual(state);
        }
        for (const state of states.slice(1)) {
          const marks = redoMarks(history);
          history = redo(history);
          if (marks) points = marks.after as typeof points;
          expect({ book: history.book, points }).toEqual(state);
        }
        // And once more: what was done again is a step like any other.
        for (const state of states.slice(0, -1).reverse()) {
          points = (undoMarks(history)?.before as typeof points | undefined) ?? points;
          history = undo(history);
          expect({ book: history.book, points }).toEqual(state);
        }
      }),
    );
  });

  it('let no edits of one gesture become one step across them', () => {
    const rename = (shotName: string): Edit => ({ kind: 'rename', shotName });
    let history = record(beginHistory(newBook('a')), rename('b'), 'typing');
    history = recordMarks(history, { bookId: 'shot', name: 'nose', before: [], after: [] }, 'nose not seen');
    history = record(history, rename('c'), 'typing');
    expect(history.past.map((step) => step.label)).toEqual(['rename shot', 'nose not seen', 'rename shot']);
    expect(undoLabel(undo(history))).toBe('nose not seen');
  });
});
