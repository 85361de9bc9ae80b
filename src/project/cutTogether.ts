import { failed, good, type Outcome } from '../base/failure.ts';
import { type Book, newBook, nothingAside } from './book.ts';
import type { BookFile } from './bookFile.ts';
import { type CutSource, type CutSources, isMirrored, joinParts, layParts, type Stretch } from './cut.ts';
import { moveCut } from './moveCut.ts';

/** A stretch of a take that was read, picked for a shot. */
export interface PickedStretch extends CutSource {
  /** Pictures of the take, from 0, inclusive. */
  readonly firstPicture: number;
  readonly lastPicture: number;
}

/** A take shorter than this is no movement. */
const leastPictures = 2;

/**
 * A new shot out of stretches of several takes, in the order given: the best of each. What was seen, put right and locked in each
 * stretch goes along; rate, puppet and exposures are those of the first pick's book. The takes come along whole, so that
 * stretches can be made longer later. Sound and marked points stay behind.
 * Fails with 'takes-do-not-join' where the pictures differ in size, or a stretch was not read.
 */
export function cutTogether(shotName: string, picks: readonly PickedStretch[]): Outcome<BookFile> {
  const first = picks[0];
  if (!first) return failed('takes-do-not-join', 'Nothing was picked yet. Add a stretch of a take first.');
  const sources = new Map(picks.map(({ takeId, book, reading }) => [takeId, { takeId, book, reading }]));
  const stretches = picks.map((pick, k) => stretchFrom(`cut${k}`, pick));
  for (const stretch of stretches) {
    const wrong = whyNot(stretch, sources);
    if (wrong) return failed('takes-do-not-join', wrong);
  }
  const { rate, onFrames, puppet, sheetJoints } = first.book;
  const empty: Book = {
    ...newBook(shotName),
    ...{ rate, onFrames, puppet, sheetJoints, mirrored: isMirrored(sources) },
  };
  const parts = layParts(stretches, sources);
  return good({ book: moveCut(empty, parts), reading: joinParts(shotName, parts, sources), sources });
}

/** A stretch of a take with all that was decided about the take: what lies outside of it is kept aside. */
export function stretchFrom(id: string, { takeId, book, firstPicture, lastPicture }: PickedStretch): Stretch {
  const { corrections, pinnedKeys } = book;
  return { id, takeId, firstPicture, lastPicture, aside: { ...nothingAside, corrections, pinnedKeys } };
}

/** Why a stretch cannot be a part of a shot cut from these takes, as a sentence; null when it can. */
export function whyNot({ takeId, firstPicture, lastPicture }: Stretch, sources: CutSources): string | null {
  const source = sources.get(takeId);
  const first = [...sources.values()][0];
  if (!source || !first) return 'That take is not kept in this browser any more. Open its book file, then pick again.';
  const { footage, sightings } = source.reading;
  const name = source.book.shotName || footage.name;
  const { widthPx, heightPx } = first.reading.footage;
  if (footage.widthPx !== widthPx || footage.heightPx !== heightPx)
    return `“${name}” is ${footage.widthPx} × ${footage.heightPx} pixels and the first pick ${widthPx} × ${heightPx}: steps in them are not the same size. Pick from takes filmed with one setting of the camera.`;
  if (firstPicture < 0 || lastPicture - firstPicture + 1 < leastPictures)
    return `The stretch of “${name}” is too short to move in. Let it end later.`;
  if (lastPicture >= sightings.readCount)
    return `“${name}” was read only in part, and the stretch goes on after that. Open that take and read it to the end.`;
  if (source.book.cut.length > 0) return `“${name}” is itself cut together. Pick from the takes that it was cut from.`;
  return null;
}
