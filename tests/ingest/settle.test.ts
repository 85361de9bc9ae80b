import { describe, expect, it } from 'vitest';
import type { FrameTable } from '../../src/ingest/frameTable.ts';
import { type FootageBase, promisedFootage, settledFootage } from '../../src/ingest/settle.ts';

const base: FootageBase = {
  name: 'made.mp4',
  widthPx: 640,
  heightPx: 360,
  codec: 'avc',
  turnedDeg: 0,
  tickSec: 1e-4,
  notes: [],
};

/** Ten pictures at 25 a second; `decoded` and `damagedFrom` as strings of 0 and 1. */
function settle(decoded: string, damagedFrom = '0000000000', firstStampSec = 1.5) {
  const table: FrameTable = {
    stampsSec: Float64Array.from({ length: 10 }, (_, i) => firstStampSec + i * 0.04),
    durationsSec: new Float64Array(10).fill(0.04),
  };
  const flags = { decoded: Uint8Array.from(decoded, Number), damagedFrom: Uint8Array.from(damagedFrom, Number) };
  return { promised: promisedFootage(base, table), ...settledFootage(base, table, flags) };
}

describe('settledFootage', () => {
  it('is what was promised when all decoded', () => {
    const { promised, footage, kept } = settle('1111111111');
    expect(footage).toEqual(promised);
    expect([...kept]).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8, 9]);
    expect(footage.timesSec[0]).toBe(0);
    expect(footage.firstStampSec).toBe(1.5);
    expect(footage.endSec).toBeCloseTo(0.4);
  });

  it('keeps damaged pictures between good ones, and drops what held no picture', () => {
    const damaged = settle('1110011111', '0001000000');
    expect(damaged.footage.timesSec.length).toBe(10);
    expect(damaged.footage.notes.map((n) => [n.code, n.firstPicture, n.lastPicture])).toEqual([['damaged', 3, 4]]);
    const empty = settle('1110111111');
    expect([...empty.kept]).toEqual([0, 1, 2, 4, 5, 6, 7, 8, 9]);
    expect(empty.footage.timesSec[3]).toBeCloseTo(0.16);
    expect(empty.footage.notes.map((n) => n.code)).toContain('missing-picture');
  });

  it('cuts the end off and says whether it was missing or damaged', () => {
    const early = settle('1111110000');
    expect(early.footage.timesSec.length).toBe(6);
    expect(early.footage.endSec).toBeCloseTo(0.24);
    expect(early.footage.notes.map((n) => n.code)).toEqual(['ends-early']);
    expect(settle('1111110000', '0000001000').footage.notes.map((n) => n.code)).toEqual(['damaged']);
  });

  it('starts the clock at the first picture that is left', () => {
    const { footage } = settle('0011111111');
    expect(footage.timesSec[0]).toBe(0);
    expect(footage.firstStampSec).toBeCloseTo(1.58);
    expect(footage.timesSec.length).toBe(8);
  });
});
