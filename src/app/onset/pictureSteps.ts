import { arrivedExposures, picturesWhileShot } from '../../compare/arrivedExposures.ts';
import type { PictureOrder } from '../../compare/shotFrames.ts';
import type { Plan } from '../../plan/plan.ts';
import { readTakenLog } from '../../plan/takenLog.ts';
import type { CameIn } from '../check/comeIn.ts';
import type { Session } from '../session.svelte.ts';
import { markShot } from './onSetActions.ts';

/** A picture that comes in marks its exposure as shot from now on; or no more. */
export function togglePictureSteps(session: Session): void {
  session.shoot({ kind: 'setStepsByPicture', stepsByPicture: !session.book.shooting.stepsByPicture });
}

/** What so many pictures of the shot are, as long as it is being shot. */
export function orderAtSet({ book, plan }: Session, pictureCount: number): PictureOrder {
  return picturesWhileShot(book.animated?.pictures ?? null, pictureCount, plan?.timing ?? { exposures: [] });
}

/** Pictures of the shot came in: what they show is shot, if the animator wants it so, and the set steps on. */
export async function picturesCameIn(session: Session, cameIn: CameIn): Promise<void> {
  const { bookId } = session;
  if (!session.book.shooting.stepsByPicture) return;
  // After a reload the folder may be looked into before the plan is there again.
  await session.computed();
  const { plan } = session;
  if (plan && session.bookId === bookId) markShot(session, unmarked(session, plan, cameIn));
}

/** Exposures, from 0, whose pictures are there, but which are not marked as shot. */
export function unmarkedWithPicture(session: Session): number[] {
  const { plan, animated, watched } = session;
  // A single still is no take yet.
  const to = animated.id ? animated.pictureCount : watched.count;
  return plan ? unmarked(session, plan, { from: 0, to }) : [];
}

function unmarked(session: Session, plan: Plan, { from, to }: CameIn): number[] {
  const { animated, shooting } = session.book;
  const { exposures, grid } = plan.timing;
  const planned = { frameCount: grid.frameCount, exposures, poseFrames: [] };
  const { shotAtMs } = readTakenLog(plan, shooting.taken);
  const arrived = arrivedExposures(from, to, orderAtSet(session, to), planned, animated?.firstFrame ?? 0);
  return arrived.filter((exposure) => Number.isNaN(shotAtMs[exposure]));
}
