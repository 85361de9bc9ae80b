import type { ReadingDepth } from '../../detect/poseModel.ts';
import type { PerformerAt } from '../../detect/protocol.ts';
import type { Book } from '../../project/book.ts';
import type { Session } from '../session.svelte.ts';
import { leastPictures, nobodySeen, tooShort } from '../takeFailures.ts';
import { sourceOf } from '../takeOnScreen.ts';

/**
 * Reads the take, quickly first; a fine reading goes on behind the animator's work, and what it sees replaces the quick
 * sightings as it comes. Corrections are laid over sightings, so they stay.
 * @param goOn goes on with a reading that was stopped, instead of beginning anew.
 */
export async function readTake(session: Session, depth: ReadingDepth, goOn = false): Promise<void> {
  const { take } = session;
  if (!take || session.isCut || session.reading.busy) return;
  session.notice = null;
  let keptAt = performance.now();
  const before = goOn ? null : session.sightings;
  const kept = goOn && session.sightings && session.footage;
  const outcome = await session.reading.run(
    sourceOf(take.files),
    depth,
    take.stillsFps,
    performerOf(session.book),
    kept ? { footage: session.footage!, sightings: session.sightings! } : null,
    (sightings, footage) => {
      // A second reading must not take the plan away before it is ready to replace it.
      if (session.take?.files !== take.files || (before && sightings.readCount < before.readCount)) return;
      session.opened.see(sightings, footage);
      if (footage || performance.now() - keptAt > 4000) {
        keptAt = performance.now();
        session.keepReading();
      }
    },
  );
  if (session.take?.files !== take.files) return;
  if (!outcome.ok) {
    session.fail(outcome.failure);
    session.keepReading();
    return;
  }
  session.opened.see(outcome.value.sightings, outcome.value.footage);
  session.keepReading();
  await session.computed();
  if (session.take?.files !== take.files) return;
  if (outcome.value.sightings.readCount < leastPictures) session.fail(tooShort(outcome.value.sightings.readCount));
  else if (!session.body.tracks && session.points.paths.length === 0) session.fail(nobodySeen);
  else session.say(`Read. ${session.timing?.keys.length ?? 0} key poses in ${session.grid?.frameCount ?? 0} frames.`);
}

/** Where the animator pointed the performer out, in order of time. */
function performerOf(book: Book): PerformerAt[] {
  return book.corrections
    .flatMap((c) => (c.kind === 'performer' ? [{ timeSec: c.takeSec, xPx: c.xPx, yPx: c.yPx }] : []))
    .sort((a, b) => a.timeSec - b.timeSec);
}
