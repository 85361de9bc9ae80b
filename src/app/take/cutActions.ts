import { fpsOf } from '../../base/frameRate.ts';
import { many } from '../../plan/shotFacts.ts';
import type { CutPart } from '../../project/book.ts';
import { type CutSource, layParts, type Stretch, stretchOf } from '../../project/cut.ts';
import { stretchFrom, whyNot } from '../../project/cutTogether.ts';
import { pictureAt } from '../pictureAt.ts';
import type { Session } from '../session.svelte.ts';

/** Just before the next frame begins, seconds. */
const justBefore = 1e-3;

/** Where a part begins and ends, in frames of its take at the shot's rate, from 0, both inclusive; and how many there are. */
export function framesOfPart(session: Session, part: CutPart): { first: number; last: number; count: number } {
  const fps = fpsOf(session.book.rate);
  const footage = session.sources?.get(part.takeId)?.reading.footage;
  // A frame shows the newest picture that has appeared when it begins.
  const showing = (sec: number) => Math.ceil(sec * fps - justBefore * fps);
  const first = showing(part.fromSec);
  const last = Math.max(first, showing(part.fromSec + part.lengthSec) - 1);
  return { first, last, count: footage ? Math.round(footage.endSec * fps) : last + 1 };
}

/** Lets a part begin or end with another frame of its take (from 0). It keeps at least two pictures. */
export function trimPart(session: Session, part: CutPart, edge: 'first' | 'last', frame: number): void {
  const source = session.sources?.get(part.takeId);
  if (!source || !Number.isFinite(frame)) return;
  const { timesSec } = source.reading.footage;
  const fps = fpsOf(session.book.rate);
  const now = stretchOf(part);
  const picture = pictureAt(timesSec, edge === 'first' ? frame / fps : (frame + 1) / fps - justBefore);
  const stretch =
    edge === 'first'
      ? { ...now, firstPicture: Math.max(0, Math.min(now.lastPicture - 1, picture)) }
      : {
          ...now,
          lastPicture: Math.min(source.reading.sightings.readCount - 1, Math.max(now.firstPicture + 1, picture)),
        };
  lay(
    session,
    session.book.cut.map((p) => (p === part ? stretch : stretchOf(p))),
  );
}

/** Moves a part earlier (negative) or later. */
export function movePart(session: Session, part: CutPart, by: number): void {
  const stretches = session.book.cut.map(stretchOf);
  const from = session.book.cut.indexOf(part);
  const to = from + by;
  if (from < 0 || to < 0 || to >= stretches.length) return;
  stretches.splice(to, 0, ...stretches.splice(from, 1));
  lay(session, stretches);
}

/** Leaves a part out. The last one stays: a shot of nothing is none. */
export function leaveOutPart(session: Session, part: CutPart): void {
  if (session.book.cut.length < 2) return;
  lay(session, session.book.cut.filter((p) => p !== part).map(stretchOf));
}

/** Adds the whole of a take that was read, from the shelf, as the last part. When it cannot be, it is said why. */
export async function addTake(session: Session, takeId: string): Promise<void> {
  const { sources } = session;
  if (!sources) return;
  const source = sources.get(takeId) ?? (await sourceFromShelf(session, takeId));
  if (!source) return;
  const lastPicture = source.reading.sightings.readCount - 1;
  const stretch = stretchFrom(newPartId(session.book.cut), { ...source, firstPicture: 0, lastPicture });
  const all = new Map([...sources, [takeId, source]]);
  const wrong = whyNot(stretch, all);
  if (wrong) return session.fail({ code: 'takes-do-not-join', sentence: wrong });
  session.setCut(layParts([...session.book.cut.map(stretchOf), stretch], all), source);
  session.say(`${source.book.shotName || 'The take'} is added. ${session.book.cut.length} stretches.`);
}

async function sourceFromShelf(session: Session, takeId: string): Promise<CutSource | null> {
  const taken = await session.keeping.take(takeId);
  if (taken?.ok && taken.value.reading) return { takeId, book: taken.value.book, reading: taken.value.reading };
  session.fail(
    taken && !taken.ok
      ? taken.failure
      : {
          code: 'takes-do-not-join',
          sentence: 'That take has not been read yet. Open it, read it, then add it here.',
        },
  );
  return null;
}

function newPartId(cut: readonly CutPart[]): string {
  let k = cut.length;
  while (cut.some((part) => part.id === `cut${k}`)) k++;
  return `cut${k}`;
}

function lay(session: Session, stretches: readonly Stretch[]): void {
  if (!session.sources) return;
  const before = session.book.replans.length;
  const isShorter = stretches.length < session.book.cut.length;
  session.setCut(layParts(stretches, session.sources));
  const gone = before - session.book.replans.length;
  if (gone > 0)
    session.say(
      `Moves laid anew after ${many(gone, 'exposure')} ${isShorter ? 'went with the stretch; Undo brings them back' : 'wait until the stretch is longer again'}`,
    );
}
