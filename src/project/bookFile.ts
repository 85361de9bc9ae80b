import { strFromU8, strToU8, unzipSync, zipSync } from 'fflate';
import { failed, good, type Outcome } from '../base/failure.ts';
import type { Book } from './book.ts';
import type { CutSource, CutSources } from './cut.ts';
import { pointsFrom, pointsHead, pointsNumbers } from './pointsFile.ts';
import { columnsFrom, type Reading, readingHead, readingNumbers } from './reading.ts';
import { readBook, readReadingHead, writeBook } from './schema.ts';
import { soundFrom, soundHead, soundNumbers } from './soundFile.ts';

/** What a `.nudgebook` file holds: the decisions, and the reading they were made on (null when nothing was read yet). */
export interface BookFile {
  readonly book: Book;
  readonly reading: Reading | null;
  /** The takes that a cut shot is cut from; absent for a shot of one take, and in books cut before takes came along. */
  readonly sources?: CutSources;
}

/**
 * A `.nudgebook` file: a zip of `book.json`, `reading.json` and `reading.f32` (see `readingNumbers`), and of `sound.json` and
 * `sound.bin` (see `soundNumbers`) where the take has sound, and of `points.json` and `points.f64` (see `pointsNumbers`) where
 * marked points were followed. A cut shot has a file of the same kind for each of its takes, `take-0.nudgebook` and so on, with
 * the take's id in `takes.json`. The video is not in it.
 */
export function packBookFile({ book, reading, sources }: BookFile): Uint8Array {
  const takes = [...(sources?.values() ?? [])];
  return zipSync({
    'book.json': strToU8(writeBook(book)),
    ...(reading ? { 'reading.json': strToU8(readingHead(reading)), 'reading.f32': readingNumbers(reading) } : {}),
    ...(reading?.sound
      ? { 'sound.json': strToU8(soundHead(reading.sound)), 'sound.bin': soundNumbers(reading.sound) }
      : {}),
    ...(reading?.followed && reading.followed.size > 0
      ? { 'points.json': strToU8(pointsHead(reading.followed)), 'points.f64': pointsNumbers(reading.followed) }
      : {}),
    ...(takes.length > 0 ? { 'takes.json': strToU8(JSON.stringify(takes.map((t) => t.takeId))) } : {}),
    ...Object.fromEntries(takes.map((take, k) => [takeFile(k), packBookFile(take)])),
  });
}

function takeFile(k: number): string {
  return `take-${k}.nudgebook`;
}

/** The contents of a `.nudgebook` file. Fails as `readBook` does, and where the zip or the reading is broken. */
export function unpackBookFile(bytes: Uint8Array): Outcome<BookFile> {
  let files: Record<string, Uint8Array>;
  try {
    files = unzipSync(bytes);
  } catch {
    return failed(
      'book-unreadable',
      'This is not a Nudgebook file, or it was cut short in copying. What you had open is still here. Copy the file again, or open another.',
    );
  }
  const bookJson = files['book.json'];
  if (!bookJson)
    return failed(
      'book-unreadable',
      'This zip holds no book.json, so it is not a Nudgebook file. Open a .nudgebook file.',
    );
  const book = readBook(strFromU8(bookJson));
  if (!book.ok) return book;
  const head = files['reading.json'];
  const numbers = files['reading.f32'];
  if (!head || !numbers) return good({ book: book.value, reading: null });
  const parts = readReadingHead(strFromU8(head));
  if (!parts.ok) return parts;
  const { footage, sightings, stored } = parts.value;
  const columns = columnsFrom(numbers, footage.timesSec.length, stored);
  if (!columns)
    return failed(
      'book-unreadable',
      'The joints stored in this book do not fit its list of pictures, so nothing was opened. Open another copy of the file, or read the take again.',
    );
  const { 'sound.json': soundJson, 'sound.bin': soundBin } = files;
  // Sound that does not fit is left out rather than refused: it can be read from the take again.
  const sound = soundJson && soundBin ? soundFrom(strFromU8(soundJson), soundBin) : null;
  const { 'points.json': pointsJson, 'points.f64': pointsBin } = files;
  // The same with points: they can be followed again.
  const followed = pointsJson && pointsBin ? pointsFrom(strFromU8(pointsJson), pointsBin) : null;
  const sources = sourcesFrom(files);
  return good({
    book: book.value,
    ...(sources ? { sources } : {}),
    reading: {
      footage,
      sightings: { ...sightings, timesSec: footage.timesSec, ...columns },
      ...(sound ? { sound } : {}),
      ...(followed ? { followed } : {}),
    },
  });
}

/** The takes of a cut shot; null where there are none, or one of them cannot be read: the shot itself is in the book. */
function sourcesFrom(files: Record<string, Uint8Array>): CutSources | null {
  const list = files['takes.json'];
  if (!list) return null;
  const sources = new Map<string, CutSource>();
  try {
    for (const [k, takeId] of (JSON.parse(strFromU8(list)) as unknown[]).entries()) {
      const packed = files[takeFile(k)];
      const take = packed ? unpackBookFile(packed) : null;
      if (typeof takeId !== 'string' || !take?.ok || !take.value.reading) return null;
      sources.set(takeId, { takeId, book: take.value.book, reading: take.value.reading });
    }
  } catch {
    return null;
  }
  return sources;
}
