import { describe, expect, it } from 'vitest';
import { lastNumber, orderStills, unchangedStills } from '../../src/ingest/numberedStills.ts';
import { sizeFromHead } from '../../src/ingest/stillSize.ts';

const named = (...names: string[]) => names.map((name) => ({ name }));

describe('orderStills', () => {
  it('sorts by the last number, not by spelling', () => {
    const order = orderStills(named('shot2_10.png', 'shot2_9.png', 'shot2_11.png'));
    expect(order.files.map((f) => f.name)).toEqual(['shot2_9.png', 'shot2_10.png', 'shot2_11.png']);
    expect(order.numbers).toEqual([9, 10, 11]);
    expect(order.notes).toEqual([]);
  });

  it('notes a gap beside the pictures around it, and a number that comes twice', () => {
    const order = orderStills(named('a_1.jpg', 'a_2.jpg', 'b_2.jpg', 'a_5.jpg'));
    expect(order.files.map((f) => f.name)).toEqual(['a_1.jpg', 'a_2.jpg', 'a_5.jpg']);
    expect(order.notes.map((n) => [n.code, n.firstPicture, n.lastPicture])).toEqual([
      ['stills-numbering', 0, 2],
      ['stills-gap', 1, 2],
    ]);
    expect(order.notes[1]!.sentence).toContain('2 stills are missing between numbers 2 and 5');
  });

  it('falls back to names, and says so, where a name holds no number', () => {
    const order = orderStills(named('up.png', 'down.png'));
    expect(order.files.map((f) => f.name)).toEqual(['down.png', 'up.png']);
    expect(order.notes).toHaveLength(1);
  });

  it('does not take the ending for a number', () => {
    expect(lastNumber('take3/IMG_0042.jp2')).toBe(42);
    expect(lastNumber('still.png')).toBeNull();
  });
});

describe('unchangedStills', () => {
  const still = (name: string, made = 0) => ({ name, type: 'image/png', made });
  const count = (before: ReturnType<typeof still>[], now: ReturnType<typeof still>[]) =>
    unchangedStills(before, now, (a, b) => a.name === b.name && a.made === b.made);
  const three = [still('a_3.png'), still('a_1.png'), still('a_2.png')];

  it('counts along the numbers, in whatever order the files come', () => {
    expect(count(three, [still('a_4.png'), ...three])).toBe(3);
    expect(count(three, [still('a_2.png', 1), still('a_1.png'), still('a_3.png')])).toBe(1);
    expect(count(three, [still('a_1.png'), still('a_2.png')])).toBe(2);
    expect(count(three, [still('a_0.png'), ...three])).toBe(0);
  });

  it('overlooks what is no still', () => {
    const cache = { name: 'thumbs.db', type: '', made: 0 };
    expect(count([...three, cache], three)).toBe(3);
  });
});

describe('sizeFromHead', () => {
  it('reads a PNG', () => {
    const head = new Uint8Array(33);
    head.set([0x89, 0x50, 0x4e, 0x47, 13, 10, 26, 10, 0, 0, 0, 13, 0x49, 0x48, 0x44, 0x52, 0, 0, 7, 128, 0, 0, 4, 56]);
    expect(sizeFromHead(head)).toEqual({ widthPx: 1920, heightPx: 1080, turnedDeg: 0 });
  });

  it('reads a JPEG that EXIF wants turned: width and height change places', () => {
    const exif = [0xff, 0xe1, 0, 34, 0x45, 0x78, 0x69, 0x66, 0, 0, 0x4d, 0x4d, 0, 42, 0, 0, 0, 8, 0, 1];
    const entry = [0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, 6, 0, 0, 0, 0, 0, 0];
    const frame = [0xff, 0xc0, 0, 17, 8, 0x04, 0x38, 0x07, 0x80, 3, 1, 0x22, 0, 2, 0x11, 1, 3, 0x11, 1];
    const head = Uint8Array.from([0xff, 0xd8, ...exif, ...entry, ...frame]);
    expect(sizeFromHead(head)).toEqual({ widthPx: 1080, heightPx: 1920, turnedDeg: 90 });
  });

  it('tells nothing from a head that breaks off or is something else', () => {
    expect(sizeFromHead(Uint8Array.of(0x89, 0x50, 0x4e, 0x47))).toBeNull();
    expect(sizeFromHead(new TextEncoder().encode('no picture at all, only words'))).toBeNull();
  });
});
