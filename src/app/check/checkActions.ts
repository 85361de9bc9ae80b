import type { Outcome } from '../../base/failure.ts';
import { stillsAmong } from '../../ingest/numberedStills.ts';
import { type AnimatedShot, newAnimatedShot } from '../../project/book.ts';
import type { Session } from '../session.svelte.ts';
import { chooseFolder } from './watchedFolder.svelte.ts';

/** Chooses pictures, or a book on the shelf by its id, as the shot that was animated after this plan. */
export async function chooseShot(session: Session, shot: readonly File[] | string): Promise<void> {
  const { animated, keeping, watched } = session;
  watched.end();
  const added = typeof shot === 'string' ? null : await animated.add(shot, session.book.shotName, keeping);
  if (added && !added.ok) return session.fail(added.failure);
  layBeside(session, added ? added.value : (shot as string));
}

function layBeside(session: Session, bookId: string): void {
  session.edit({ kind: 'setAnimated', animated: newAnimatedShot(bookId) });
  session.say(`“${session.animated.name || 'the shot'}” is laid beside the plan`);
}

/** Takes up files that were let fall on the screen: stills for the shot that is chosen, else the shot. */
export async function dropPictures(session: Session, files: readonly File[]): Promise<void> {
  const isMore = session.animated.takesMore && stillsAmong(files).length > 0;
  await (isMore ? addPictures(session, files) : chooseShot(session, files));
}

/** More stills for the shot; one with the name of a still that is there takes its place. */
export async function addPictures(session: Session, files: readonly File[]): Promise<void> {
  const { animated, keeping } = session;
  tellChange(session, await animated.addPictures(files, keeping));
}

/** Lets the animator choose a folder, whose stills are the shot from now on, those that are yet to come among them. */
export async function watchFolder(session: Session): Promise<void> {
  const folder = await chooseFolder();
  if (!folder) return;
  const { animated, keeping, watched } = session;
  if (animated.id) keeping.keepFolder(animated.id, folder);
  await watched.begin(folder, animated.take?.files ?? []);
}

/** The pictures stay as they are, whatever comes into the folder. */
export function stopWatching(session: Session): void {
  session.watched.end();
  if (session.animated.id) session.keeping.keepFolder(session.animated.id, null);
}

/** Takes up the stills of the watched folder as they are now: for the shot that is chosen, else as the shot. */
export async function takeUpStills(session: Session, files: readonly File[]): Promise<void> {
  const { animated, keeping, watched } = session;
  if (animated.id) return tellChange(session, await animated.change(files, keeping));
  const added = await animated.add(files, session.book.shotName, keeping);
  if (!added.ok) return session.fail(added.failure);
  keeping.keepFolder(added.value, watched.folder);
  layBeside(session, added.value);
}

function tellChange(session: Session, changed: Outcome<null>): void {
  if (!changed.ok) session.fail(changed.failure);
  else session.say(`${session.animated.pictureCount} pictures of the shot`);
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
