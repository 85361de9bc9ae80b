import { assert } from '../base/assert.ts';
import type { Footage, FootageNote } from '../base/footage.ts';
import { clock, endOf, type FrameTable, notesOnTimes, rhythmOf } from './frameTable.ts';

/** Footage after its pictures were decoded, and which pictures of the table it still has. */
export interface Settled {
  readonly footage: Footage;
  /** Shape [picture of the settled footage]: that picture's place in the table. Rising. */
  readonly kept: Int32Array;
}

/** What decoding found out, picture by picture of the table. */
export interface DecodedFlags {
  /** 1 = a picture came out. */
  readonly decoded: Uint8Array;
  /** 1 = the decoder reported damage from here on. */
  readonly damagedFrom: Uint8Array;
}

/** What a footage is made of before its times are judged. */
export interface FootageBase {
  readonly name: string;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly codec: string;
  readonly turnedDeg: number;
  /** The container's own step, seconds. */
  readonly tickSec: number;
  /** Notes that do not depend on decoding. */
  readonly notes: readonly FootageNote[];
}

/** The footage that a table promises, nothing decoded yet. @throws BrokenPromise for an empty table. */
export function promisedFootage(base: FootageBase, table: FrameTable): Footage {
  return footageOf(base, table, [...base.notes], []);
}

/**
 * The footage that remains. Three kinds of picture are missing after decoding:
 * - damaged ones between good ones stay in the footage, empty: they were filmed, their times are known;
 * - stored packets that hold no picture and raised no error are dropped: nothing was to be seen at that time;
 * - everything after the last decoded picture is cut off.
 * Each is noted. @throws BrokenPromise when nothing was decoded (refuse that before).
 */
export function settledFootage(base: FootageBase, table: FrameTable, flags: DecodedFlags): Settled {
  const promised = table.stampsSec.length;
  const lastDecoded = flags.decoded.lastIndexOf(1);
  assert(lastDecoded >= 0, 'settledFootage: nothing decoded');
  const kept: number[] = [];
  const late: FootageNote[] = [];
  let damaged = false;
  const emptyAt: number[] = [];
  for (let i = 0; i <= lastDecoded; i++) {
    if (flags.decoded[i]) damaged = false;
    else if (flags.damagedFrom[i]) damaged = true;
    if (flags.decoded[i] || damaged) kept.push(i);
    else emptyAt.push(kept.length);
  }
  const first = kept.length > 0 ? table.stampsSec[kept[0]!]! : 0;
  const timeOf = (place: number) => table.stampsSec[kept[place]!]! - first;
  late.push(...damageNotes(kept, flags, timeOf));
  if (emptyAt.length > 0)
    late.push({
      code: 'missing-picture',
      firstPicture: Math.max(0, emptyAt[0]! - 1),
      lastPicture: Math.min(kept.length - 1, emptyAt[emptyAt.length - 1]!),
      sentence: `${emptyAt.length === 1 ? 'One entry' : `${emptyAt.length} entries`} of the file held no picture (first after picture ${emptyAt[0]}): the picture before stays on screen longer there. All times are exact.`,
    });
  if (lastDecoded < promised - 1) {
    const end = timeOf(kept.length - 1);
    const isDamage = flags.damagedFrom.subarray(lastDecoded + 1).includes(1);
    late.push({
      code: isDamage ? 'damaged' : 'ends-early',
      firstPicture: kept.length - 1,
      lastPicture: kept.length - 1,
      sentence: isDamage
        ? `The file is damaged from picture ${lastDecoded + 2} (after ${clock(end)}) to its end: ${lastDecoded + 1} of ${promised} pictures could be read. Times up to there are exact. Copy it from the camera again to get the rest.`
        : `The file ends early: ${kept.length} of ${promised} pictures could be read (to ${clock(end)}). Times up to there are exact. Copy it from the camera again to get the rest.`,
    });
  }
  const rest: FrameTable = {
    stampsSec: Float64Array.from(kept, (i) => table.stampsSec[i]!),
    durationsSec: Float64Array.from(kept, (i) => table.durationsSec[i]!),
  };
  // "Ends early" is said once, with the count, when decoding has told it.
  const early = late.some((note) => note.code === 'ends-early');
  const notes = base.notes.filter((note) => !(early && note.code === 'ends-early'));
  return { footage: footageOf(base, rest, notes, late), kept: Int32Array.from(kept) };
}

function damageNotes(kept: readonly number[], flags: DecodedFlags, timeOf: (place: number) => number): FootageNote[] {
  const notes: FootageNote[] = [];
  for (let place = 0; place < kept.length; place++) {
    if (flags.decoded[kept[place]!]) continue;
    const firstPicture = place;
    while (place + 1 < kept.length && !flags.decoded[kept[place + 1]!]) place++;
    const after = Math.min(place + 1, kept.length - 1);
    notes.push({
      code: 'damaged',
      firstPicture,
      lastPicture: place,
      sentence: `Pictures ${firstPicture + 1}–${place + 1} (${clock(timeOf(firstPicture))}–${clock(timeOf(after))}) are damaged and were left empty. Times of the others are exact. Copy the file from the camera again if you need them.`,
    });
  }
  return notes;
}

function footageOf(base: FootageBase, table: FrameTable, early: FootageNote[], late: FootageNote[]): Footage {
  const count = table.stampsSec.length;
  assert(count > 0, 'footage without pictures');
  const firstStampSec = table.stampsSec[0]!;
  const timesSec = table.stampsSec.map((stamp) => stamp - firstStampSec);
  const rhythm = rhythmOf(timesSec, base.tickSec);
  return {
    name: base.name,
    widthPx: base.widthPx,
    heightPx: base.heightPx,
    timesSec,
    endSec: endOf(timesSec, table.durationsSec[count - 1]!, rhythm.medianSec),
    firstStampSec,
    medianFps: 1 / rhythm.medianSec,
    variableFrameRate: rhythm.varies,
    codec: base.codec,
    turnedDeg: base.turnedDeg,
    notes: [...early.map((note) => within(note, count)), ...notesOnTimes(timesSec, rhythm), ...late],
  };
}

const within = (note: FootageNote, count: number): FootageNote => ({
  ...note,
  firstPicture: Math.min(note.firstPicture, count - 1),
  lastPicture: Math.min(note.lastPicture, count - 1),
});
