import { failed, good, type Outcome } from '../base/failure.ts';
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
import { type Book, type CutPart, newBook } from './book.ts';
import type { BookFile } from './bookFile.ts';
import type { Reading } from './reading.ts';

/** A stretch of a take that was read, picked for a shot. */
export interface PickedStretch {
  /** The take's book, as the shelf knows it. */
  readonly takeId: string;
  readonly book: Book;
  readonly reading: Reading;
  /** Pictures of the take, from 0, inclusive. */
  readonly firstPicture: number;
  readonly lastPicture: number;
}

/** A take shorter than this is no movement. */
const leastPictures = 2;

/**
 * A new shot out of stretches of several takes, in the order given: the best of each. What was seen, put right and locked in each
 * stretch goes along; rate, puppet and exposures are those of the first pick's book. Sound and marked points stay behind.
 * Fails with 'takes-do-not-join' where the pictures differ in size, or a stretch was not read.
 */
export function cutTogether(shotName: string, picks: readonly PickedStretch[]): Outcome<BookFile> {
  const first = picks[0];
  if (!first) return failed('takes-do-not-join', 'Nothing was picked yet. Add a stretch of a take first.');
  const parts: CutPart[] = [];
  let startSec = 0;
  let firstPicture = 0;
  for (const pick of picks) {
    const wrong = whyNot(pick, first);
    if (wrong) return failed('takes-do-not-join', wrong);
    const { footage } = pick.reading;
    const fromSec = footage.timesSec[pick.firstPicture]!;
    const untilSec = footage.timesSec[pick.lastPicture + 1] ?? footage.endSec;
    const pictures = pick.lastPicture - pick.firstPicture + 1;
    const { takeId } = pick;
    const name = pick.book.shotName || footage.name;
    parts.push({ takeId, name, firstPicture, pictures, startSec, fromSec, firstStampSec: footage.firstStampSec });
    firstPicture += pictures;
    startSec += untilSec - fromSec;
  }
  const footage = joinFootage(shotName, picks, parts, startSec);
  const { rate, onFrames, puppetHeightMm, smallestStepMm, sheetJoints, mirrored } = first.book;
  const book: Book = {
    ...newBook(shotName),
    ...{ rate, onFrames, puppetHeightMm, smallestStepMm, sheetJoints, mirrored },
    corrections: picks.flatMap((pick, k) => carried(pick.book.corrections, parts[k]!, lastSecOf(pick))),
    pinnedKeys: picks.flatMap(({ book: { pinnedKeys }, ...pick }, k) => {
      const { startSec: to, fromSec } = parts[k]!;
      return pinnedKeys
        .filter((key) => key.takeSec >= fromSec && key.takeSec <= lastSecOf(pick))
        .map((key) => ({ ...key, id: `cut${k}:${key.id}`, takeSec: key.takeSec - fromSec + to }));
    }),
    cut: parts,
  };
  return good({ book, reading: { footage, sightings: joinSightings(picks, parts, footage.timesSec, mirrored) } });
}

function whyNot(pick: PickedStretch, first: PickedStretch): string | null {
  const { footage, sightings } = pick.reading;
  const name = pick.book.shotName || footage.name;
  const { widthPx, heightPx } = first.reading.footage;
  if (footage.widthPx !== widthPx || footage.heightPx !== heightPx)
    return `“${name}” is ${footage.widthPx} × ${footage.heightPx} pixels and the first pick ${widthPx} × ${heightPx}: steps in them are not the same size. Pick from takes filmed with one setting of the camera.`;
  if (pick.firstPicture < 0 || pick.lastPicture - pick.firstPicture + 1 < leastPictures)
    return `The stretch of “${name}” is too short to move in. Let it end later.`;
  if (pick.lastPicture >= sightings.readCount)
    return `“${name}” was read only in part, and the stretch goes on after that. Open that take and read it to the end.`;
  if (pick.book.cut.length > 0) return `“${name}” is itself cut together. Pick from the takes that it was cut from.`;
  return null;
}

function lastSecOf(pick: { readonly reading: Reading; readonly lastPicture: number }): number {
  return pick.reading.footage.timesSec[pick.lastPicture]!;
}

function joinFootage(
  name: string,
  picks: readonly PickedStretch[],
  parts: readonly CutPart[],
  endSec: number,
): Footage {
  const { widthPx, heightPx, medianFps } = picks[0]!.reading.footage;
  const timesSec = picks.flatMap((pick, k) => {
    const { startSec, fromSec } = parts[k]!;
    const own = pick.reading.footage.timesSec.subarray(pick.firstPicture, pick.lastPicture + 1);
    return Array.from(own, (sec) => startSec + (sec - fromSec));
  });
  return {
    ...{ name, widthPx, heightPx, endSec, medianFps },
    timesSec: Float64Array.from(timesSec),
    firstStampSec: 0,
    variableFrameRate: picks.some((p) => p.reading.footage.variableFrameRate),
    codec: 'cut',
    turnedDeg: 0,
    notes: [],
  };
}

function joinSightings(
  picks: readonly PickedStretch[],
  parts: readonly CutPart[],
  timesSec: Float64Array,
  mirrored: boolean,
): Sightings {
  const { detector, widthPx, heightPx } = picks[0]!.reading.sightings;
  const columns = emptySightingColumns(timesSec.length);
  const peopleSeen: { timeSec: number; count: number }[] = [];
  for (const [k, pick] of picks.entries()) {
    const { sightings } = pick.reading;
    const { firstPicture, pictures, startSec, fromSec } = parts[k]!;
    const rows = sightingRows(
      sightings,
      Int32Array.from({ length: pictures }, (_, i) => pick.firstPicture + i),
    );
    // The book says once whether pictures are mirrored; a take filmed the other way is turned round here.
    if (pick.book.mirrored !== mirrored) for (let i = 0; i < pictures; i++) exchangeSides(rows, i);
    // What the last picture leads on to is not what follows the cut.
    for (const name of ['onwardXPx', 'onwardYPx', 'onwardSdPx'] as const)
      rows[name].fill(Number.NaN, cell(pictures - 1, 0));
    for (const name of sightingColumns) columns[name].set(rows[name], firstPicture * jointsPerPicture);
    for (const seen of sightings.peopleSeen)
      if (seen.timeSec >= fromSec && seen.timeSec <= lastSecOf(pick))
        peopleSeen.push({ timeSec: seen.timeSec - fromSec + startSec, count: seen.count });
  }
  const n = timesSec.length;
  const isWhole = (count: 'fineCount' | 'followCount') =>
    picks.every((p) => (p.reading.sightings[count] ?? 0) > p.lastPicture);
  return {
    detector: { ...detector, readSeconds: Number.NaN },
    ...{ widthPx, heightPx, timesSec, peopleSeen },
    ...columns,
    readCount: n,
    fineCount: isWhole('fineCount') ? n : 0,
    followCount: isWhole('followCount') ? n : 0,
  };
}

/** A take's corrections within a stretch, on the cut shot's clock. Who the performer is was said to the reading. */
function carried(all: readonly Correction[], { startSec, fromSec }: CutPart, lastSec: number): Correction[] {
  const by = startSec - fromSec;
  return correctionsWithin(all, fromSec, lastSec).map((c) =>
    c.kind === 'place' || c.kind === 'performer'
      ? { ...c, takeSec: c.takeSec + by }
      : { ...c, startSec: c.startSec + by, endSec: c.endSec + by },
  );
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
