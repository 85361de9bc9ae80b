import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { newBook } from '../../src/project/book.ts';
import type { Edit } from '../../src/project/edits.ts';
import { beginHistory, record, redo, undo, undoLabel } from '../../src/project/history.ts';
import { readBook, writeBook } from '../../src/project/schema.ts';

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
);

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
    expect(undo(second).book.puppetHeightMm).toBe(280);
    expect(undo(undo(second)).book.puppetHeightMm).toBe(250);
    expect(undoLabel(second)).toBe('puppet height');
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
      ['"puppetHeightMm": 250', '"puppetHeightMm": NaN'],
      ['"puppetHeightMm": 250', '"puppetHeightMm": null'],
      ['"puppetHeightMm": 250', '"puppetHeightMm": 1e999'],
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
    const read = readBook(writeBook(newBook('lamp')).replace('"version": 1', '"version": 7'));
    expect(read).toMatchObject({ ok: false, failure: { code: 'book-newer' } });
  });
});
