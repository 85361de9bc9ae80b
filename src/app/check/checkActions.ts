import type { AnimatedShot } from '../../project/book.ts';
import type { Session } from '../session.svelte.ts';

/** Chooses pictures, or a book on the shelf by its id, as the shot that was animated after this plan. */
export async function chooseShot(session: Session, shot: readonly File[] | string): Promise<void> {
  const { animated, keeping } = session;
  const added =
    typeof shot === 'string' ? null : await animated.add(shot, `${session.book.shotName || 'shot'}, animated`, keeping);
  if (added && !added.ok) return session.fail(added.failure);
  const bookId = added ? added.value : (shot as string);
  session.edit({
    kind: 'setAnimated',
    animated: { bookId, pictures: null, firstFrame: 0, mirrored: false, ruler: null },
  });
  session.say(`“${animated.name || 'the shot'}” is laid beside the plan`);
}

/** Lets go of the shot; its pictures stay on the shelf. */
export function takeShotAway(session: Session): void {
  session.edit({ kind: 'setAnimated', animated: null });
}

/** Changes how the shot is laid over the plan. */
export function setAnimated(session: Session, change: Partial<AnimatedShot>): void {
  const { animated } = session.book;
  if (animated) session.edit({ kind: 'setAnimated', animated: { ...animated, ...change } });
}

/** Looks for the puppet in all pictures, with care: moves of a puppet are small. */
export async function lookForPuppet(session: Session): Promise<void> {
  const outcome = await session.animated.read('fine', session.keeping);
  if (!outcome.ok) session.fail(outcome.failure);
}

/** Opens the shot's own book where joints are corrected and points are marked. The plan waits on the shelf. */
export async function openForMarking(session: Session): Promise<void> {
  const { bookId } = session.book.animated ?? {};
  if (!bookId) return;
  await session.keeping.settled();
  if (await session.opening.shelved(bookId)) session.screen = 'tracks';
}
