import { present } from '../base/assert.ts';
import type { Footage } from '../base/footage.ts';
import { exchangeSides } from '../track/columns.ts';
import type { Correction } from '../track/correction.ts';
import {
  cell,
  emptySightingColumns,
  jointsPerPicture,
  type Sightings,
  sightingColumns,
  sightingRows,
} from '../track/sighting.ts';
import type { Book, CutPart, SetAside } from './book.ts';
import type { Reading } from './reading.ts';

/** A take that a shot is cut from, whole, as it was when it was first picked. */
export interface CutSource {
  /** The take's book, as the shelf knows it. */
  readonly takeId: string;
  readonly book: Book;
  readonly reading: Reading;
}

/** Takes that a shot is cut from, by the id of their books. */
export type CutSources = ReadonlyMap<string, CutSource>;

/** A stretch of a take, before it has a place in a shot. */
export interface Stretch {
  readonly id: string;
  readonly takeId: string;
  /** Pictures of the take, from 0, inclusive. */
  readonly firstPicture: number;
  readonly lastPicture: number;
  readonly aside: SetAside;
}

/** Lays stretches one after another on a clock that begins at 0. Their takes must be among the sources. */
export function layParts(stretches: readonly Stretch[], sources: CutSources): CutPart[] {
  let startSec = 0;
  let firstPicture = 0;
  return stretches.map(({ id, takeId, firstPicture: firstOfTake, lastPicture, aside }) => {
    const { book, reading } = present(sources.get(takeId), `source ${takeId}`);
    const { footage } = reading;
    const fromSec = footage.timesSec[firstOfTake]!;
    const lengthSec = (footage.timesSec[lastPicture + 1] ?? footage.endSec) - fromSec;
    const pictures = lastPicture - firstOfTake + 1;
    const name = book.shotName || footage.name;
    const where = { firstOfTake, firstPicture, pictures, startSec, fromSec, lengthSec };
    startSec += lengthSec;
    firstPicture += pictures;
    return { id, takeId, name, ...where, firstStampSec: footage.firstStampSec, aside };
  });
}

/** The stretch that a part is. */
export function stretchOf({ id, takeId, firstOfTake, pictures, aside }: CutPart): Stretch {
  return { id, takeId, firstPicture: firstOfTake, lastPicture: firstOfTake + pictures - 1, aside };
}

/** What was filmed and seen in the parts, one after another, as if it were one take. */
export function joinParts(name: string, parts: readonly CutPart[], sources: CutSources): Reading {
  const picks = parts.map((part) => ({ part, source: present(sources.get(part.takeId), `source ${part.takeId}`) }));
  const footage = joinFootage(name, picks);
  return { footage, sightings: joinSightings(picks, footage.timesSec, isMirrored(sources)) };
}

/** The shot's book says once whether pictures are mirrored: as in the take that was picked first. */
export function isMirrored(sources: CutSources): boolean {
  return [...sources.values()][0]?.book.mirrored ?? false;
}

interface Pick {
  readonly part: CutPart;
  readonly source: CutSource;
}

function joinFootage(name: string, picks: readonly Pick[]): Footage {
  const { widthPx, heightPx, medianFps } = picks[0]!.source.reading.footage;
  const timesSec = picks.flatMap(({ part, source }) => {
    const own = source.reading.footage.timesSec.subarray(part.firstOfTake, part.firstOfTake + part.pictures);
    return Array.from(own, (sec) => part.startSec + (sec - part.fromSec));
  });
  const last = picks.at(-1)!.part;
  return {
    ...{ name, widthPx, heightPx, endSec: last.startSec + last.lengthSec, medianFps },
    timesSec: Float64Array.from(timesSec),
    firstStampSec: 0,
    variableFrameRate: picks.some((p) => p.source.reading.footage.variableFrameRate),
    codec: 'cut',
    turnedDeg: 0,
    notes: [],
  };
}

function joinSightings(picks: readonly Pick[], timesSec: Float64Array, mirrored: boolean): Sightings {
  const { detector, widthPx, heightPx } = picks[0]!.source.reading.sightings;
  const columns = emptySightingColumns(timesSec.length);
  const peopleSeen: { timeSec: number; count: number }[] = [];
  for (const { part, source } of picks) {
    const { sightings } = source.reading;
    const { firstPicture, firstOfTake, pictures, startSec, fromSec, lengthSec } = part;
    const rows = sightingRows(
      sightings,
      Int32Array.from({ length: pictures }, (_, i) => firstOfTake + i),
    );
    // A take filmed the other way is turned round here.
    if (source.book.mirrored !== mirrored) for (let i = 0; i < pictures; i++) exchangeSides(rows, i);
    // What the last picture leads on to is not what follows the cut.
    for (const name of ['onwardXPx', 'onwardYPx', 'onwardSdPx'] as const)
      rows[name].fill(Number.NaN, cell(pictures - 1, 0));
    for (const name of sightingColumns) columns[name].set(rows[name], firstPicture * jointsPerPicture);
    for (const seen of sightings.peopleSeen)
      if (seen.timeSec >= fromSec && seen.timeSec < fromSec + lengthSec)
        peopleSeen.push({ timeSec: seen.timeSec - fromSec + startSec, count: seen.count });
  }
  const n = timesSec.length;
  const isWhole = (count: 'fineCount' | 'followCount') =>
    picks.every(({ part, source }) => (source.reading.sightings[count] ?? 0) >= part.firstOfTake + part.pictures);
  return {
    detector: { ...detector, readSeconds: Number.NaN },
    ...{ widthPx, heightPx, timesSec, peopleSeen },
    ...columns,
    readCount: n,
    fineCount: isWhole('fineCount') ? n : 0,
    followCount: isWhole('followCount') ? n : 0,
  };
}

/** Corrections of a stretch of time (both ends inclusive, seconds): spans are shortened to it, performers left out. */
export function correctionsWithin(all: readonly Correction[], startSec: number, endSec: number): Correction[] {
  return all.flatMap((c): Correction[] => {
    if (c.kind === 'performer') return [];
    if (c.kind === 'place') return c.takeSec >= startSec && c.takeSec <= endSec ? [c] : [];
    if (c.endSec < startSec || c.startSec > endSec) return [];
    return [{ ...c, startSec: Math.max(startSec, c.startSec), endSec: Math.min(endSec, c.endSec) }];
  });
}

/** The sightings of one part of a cut shot, still on its clock. */
export function sightingsOfPart(sightings: Sightings, part: CutPart): Sightings {
  const end = part.firstPicture + part.pictures;
  const cells = [part.firstPicture * jointsPerPicture, end * jointsPerPicture] as const;
  const columns = Object.fromEntries(sightingColumns.map((name) => [name, sightings[name].subarray(...cells)]));
  const timesSec = sightings.timesSec.subarray(part.firstPicture, end);
  const [from, to] = [timesSec[0]!, timesSec.at(-1)!];
  return {
    ...sightings,
    ...columns,
    timesSec,
    readCount: part.pictures,
    fineCount: sightings.fineCount ? part.pictures : 0,
    followCount: sightings.followCount ? part.pictures : 0,
    peopleSeen: sightings.peopleSeen.filter((seen) => seen.timeSec >= from && seen.timeSec <= to),
  };
}
