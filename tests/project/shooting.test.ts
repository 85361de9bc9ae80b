import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { newBook } from '../../src/project/book.ts';
import { beginHistory, note, record, redo, undo, undoLabel } from '../../src/project/history.ts';
import { readBook, readShooting, writeBook } from '../../src/project/schema.ts';
import { applyShooting, notBegun, type Shooting, type ShootingEdit } from '../../src/project/shooting.ts';

const taken = (firstFrame: number, atMs = 1000) => ({
  firstFrame,
  frames: 2,
  takeSec: firstFrame / 24,
  isHeld: false,
  atMs,
});
const take = (firstFrame: number): ShootingEdit => ({
  kind: 'take',
  exposure: taken(firstFrame),
  nextFrame: firstFrame + 2,
});
const shotBy = (...edits: ShootingEdit[]): Shooting => edits.reduce(applyShooting, notBegun);

const anyEdit: fc.Arbitrary<ShootingEdit> = fc.oneof(
  fc.nat(200).map((k) => take(2 * k)),
  fc.constant({ kind: 'takeBack' as const }),
  fc.record({ kind: fc.constant('lookAt' as const), frame: fc.nat(400) }),
  fc.record({ kind: fc.constant('setSpeaks' as const), speaks: fc.boolean() }),
  fc.record({ kind: fc.constant('setStepsByPicture' as const), stepsByPicture: fc.boolean() }),
  fc.record({ kind: fc.constant('setRehearses' as const), rehearses: fc.boolean() }),
  fc.record({
    kind: fc.constant('setClicks' as const),
    clicks: fc.constantFrom('poses' as const, 'beats' as const, 'frames' as const),
  }),
);

describe('shooting', () => {
  it('steps on with each exposure, looks back without losing a mark, and takes the last one away', () => {
    const shot = shotBy(take(0), take(2), take(4));
    expect([shot.atFrame, shot.taken.map((t) => t.firstFrame)]).toEqual([6, [0, 2, 4]]);
    const looked = applyShooting(shot, { kind: 'lookAt', frame: 2 });
    expect([looked.atFrame, looked.taken]).toEqual([2, shot.taken]);
    const back = applyShooting(looked, { kind: 'takeBack' });
    expect([back.atFrame, back.taken.map((t) => t.firstFrame)]).toEqual([4, [0, 2]]);
    expect(back.changes).toBe(5);
  });

  it('stays the same object where nothing happens', () => {
    expect(applyShooting(notBegun, { kind: 'takeBack' })).toBe(notBegun);
    expect(applyShooting(notBegun, { kind: 'lookAt', frame: 0 })).toBe(notBegun);
  });

  it('is read back as it was written, whatever happened; a book of before it has nothing shot', () => {
    fc.assert(
      fc.property(fc.array(anyEdit, { maxLength: 12 }), (edits) => {
        const book = { ...newBook('lamp'), shooting: shotBy(...edits) };
        expect(readBook(writeBook(book))).toEqual({ ok: true, value: book });
        expect(readShooting(JSON.stringify(book.shooting))).toEqual(book.shooting);
      }),
    );
    // Kept before pictures could step on.
    const { stepsByPicture: __, ...before } = notBegun;
    expect(readShooting(JSON.stringify(before))).toEqual(notBegun);
    const { shooting: _, ...old } = JSON.parse(writeBook(newBook('lamp'))) as Record<string, unknown>;
    expect(readBook(JSON.stringify(old))).toEqual({ ok: true, value: newBook('lamp') });
    expect([readShooting('{"atFrame":'), readShooting('{"atFrame":3}')]).toEqual([null, null]);
  });

  it('is not undone with decisions, nor brought back with them', () => {
    let h = record(beginHistory(newBook('lamp')), { kind: 'setNotes', notes: 'one' });
    h = note(h, take(0));
    h = record(h, { kind: 'setNotes', notes: 'two' });
    h = note(h, take(2));
    const { shooting } = h.book;
    expect(undoLabel(h)).toBe('shot notes');
    h = undo(undo(h));
    expect([h.book.notes, h.book.shooting]).toEqual(['', shooting]);
    h = note(h, take(4));
    h = redo(h);
    expect([h.book.notes, h.book.shooting.taken.length]).toEqual(['one', 3]);
    // A drag that is computed from its beginning keeps what was shot in the middle of it.
    const retime = { kind: 'retime', retiming: { knots: [] }, moves: [] } as const;
    h = record(note(record(h, retime, 'drag'), take(6)), retime, 'drag');
    expect(h.book.shooting.taken).toHaveLength(4);
  });
});
