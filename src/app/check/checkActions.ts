import type { Outcome } from '../../base/failure.ts';
import type { Point } from '../../base/twoBones.ts';
import type { Finding } from '../../compare/finding.ts';
import { stillsAmong } from '../../ingest/numberedStills.ts';
import { type AnimatedShot, newAnimatedShot } from '../../project/book.ts';
import { picturesCameIn } from '../onset/pictureSteps.ts';
import type { Session } from '../session.svelte.ts';
import { stepToKey } from '../timing/keyActions.ts';
import { findingKey } from './check.svelte.ts';
import { endMarking, setRun } from './markJoints.ts';
import { chooseFolder } from './watchedFolder.svelte.ts';

/** Chooses pictures, or a book on the shelf by its id, as the shot that was animated after this plan. */
export async function chooseShot(session: Session, shot: readonly File[] | string): Promise<void> {
  const { animated, keeping, watched } = session;
  watched.end();
  keeping.keepFolder(folderKey(session.bookId, ''), null);
  const added = typeof shot === 'string' ? null : await animated.add(shot, session.book.shotName, keeping);
  if (added && !added.ok) return session.fail(added.failure);
  layBeside(session, added ? added.value : (shot as string));
}

function layBeside(session: Session, bookId: string): void {
  session.edit({ kind: 'setAnimated', animated: newAnimatedShot(bookId) });
  session.say(`“${session.animated.name || 'the shot'}” is laid beside the plan`);
}

/**
 * Under which id the watched folder is kept: the shot's, and as long as it holds too few stills to be one, an id that the plan has
 * for it. (The plan's own would not do: it may be the shot of another plan.)
 */
export function folderKey(bookId: string, animatedId: string): string {
  return animatedId || `to come of ${bookId}`;
}

/** Takes up files that were let fall on the screen: stills for the shot that is chosen, else the shot. */
export async function dropPictures(session: Session, files: readonly File[]): Promise<void> {
  const isMore = session.animated.takesMore && stillsAmong(files).length > 0;
  await (isMore ? addPictures(session, files) : chooseShot(session, files));
}

/** More stills for the shot; one with the name of a still that is there takes its place. */
export async function addPictures(session: Session, files: readonly File[]): Promise<void> {
  const { animated, keeping } = session;
  const from = animated.pictureCount;
  const onShown = () => void picturesCameIn(session, { from, to: animated.pictureCount });
  tellChange(session, await animated.addPictures(files, keeping, onShown));
}

/** Lets the animator choose a folder, whose stills are the shot from now on, those that are yet to come among them. */
export async function watchFolder(session: Session): Promise<void> {
  const folder = await chooseFolder();
  if (!folder) return;
  const { animated, keeping, watched } = session;
  keeping.keepFolder(folderKey(session.bookId, animated.id), folder);
  await watched.begin(folder, animated.take?.files ?? []);
}

/** The pictures stay as they are, whatever comes into the folder. */
export function stopWatching(session: Session): void {
  session.watched.end();
  session.keeping.keepFolder(folderKey(session.bookId, session.animated.id), null);
}

/** Takes up the stills of the watched folder as they are now: for the shot that is chosen, else as the shot. */
export async function takeUpStills(session: Session, files: readonly File[]): Promise<void> {
  const { animated, keeping, watched } = session;
  if (animated.id) return tellChange(session, await animated.change(files, keeping));
  const added = await animated.add(files, session.book.shotName, keeping);
  if (!added.ok) return session.fail(added.failure);
  keeping.keepFolder(added.value, watched.folder);
  keeping.keepFolder(folderKey(session.bookId, ''), null);
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

/** Changes how the shot is laid over the plan; changes of one gesture are undone together. */
export function setAnimated(session: Session, change: Partial<AnimatedShot>, gesture: string | null = null): void {
  const { animated } = session.book;
  if (animated) session.edit({ kind: 'setAnimated', animated: { ...animated, ...change } }, gesture);
}

/** Looks for the puppet in all pictures, with care: moves of a puppet are small. */
export async function lookForPuppet(session: Session): Promise<void> {
  const outcome = await session.animated.read('fine', session.keeping);
  if (!outcome.ok) session.fail(outcome.failure);
}

/** Opens the shot's own book where what was recognised of it is corrected. The plan waits on the shelf. */
export async function openForMarking(session: Session): Promise<void> {
  const { bookId } = session.book.animated ?? {};
  if (!bookId) return;
  await session.keeping.settled();
  if (await session.opening.shelved(bookId)) session.screen = 'tracks';
}

/** Shows a finding: both pictures at its frame, and both arcs. */
export function showFinding(session: Session, finding: Finding): void {
  session.view.finding = findingKey(finding);
  session.playhead.pause();
  session.playhead.goTo(finding.atFrame);
}

/** On to the next finding of the list, or back; where nothing was found, to the next key. */
export function stepFinding(session: Session, by: 1 | -1): void {
  const findings = session.check.comparison?.findings ?? [];
  if (findings.length === 0) {
    stepToKey(session, by);
    return;
  }
  const at = session.check.finding ? findings.indexOf(session.check.finding) : by > 0 ? -1 : findings.length;
  const next = findings[Math.min(findings.length - 1, Math.max(0, at + by))]!;
  showFinding(session, next);
  session.say(next.sentence);
}

/** Lets go of what is being marked, set or laid in the shot's picture, else of the finding that is looked at. */
export function leaveFinding(session: Session): void {
  const { view } = session;
  if (view.markingRun) endMarking(session);
  else if (view.lostPoint) view.lostPoint = null;
  else if (view.rulerEnds) view.rulerEnds = null;
  else view.finding = null;
}

/** Begins to lay a ruler in the shot's picture: its two ends are pressed there. */
export function beginRuler(session: Session): void {
  session.playhead.pause();
  session.view.lostPoint = null;
  setRun(session, null);
  session.view.rulerEnds = [];
}

/** An end of the ruler was pressed, upright pixels. A ruler that had a length keeps it. */
export function pressRuler(session: Session, end: Point): void {
  const { view } = session;
  const [from] = view.rulerEnds ?? [];
  const known = session.book.animated?.ruler?.lengthMm;
  if (from && known !== undefined) setRuler(session, from, end, known);
  else view.rulerEnds = from ? [from, end] : [end];
}

/** Lays the ruler, which from now on gives the size. */
export function setRuler(
  session: Session,
  from: Point,
  to: Point,
  lengthMm: number,
  gesture: string | null = null,
): void {
  session.view.rulerEnds = null;
  setAnimated(session, { laid: 'ruler', ruler: { from, to, lengthMm } }, gesture);
}

/** Moves both ends to where they are now: of a ruler that lies there, or of one whose length is not known yet. */
export function moveRuler(session: Session, [from, to]: readonly [Point, Point], gesture: string | null = null): void {
  const ruler = session.book.animated?.ruler;
  if (session.view.rulerEnds) session.view.rulerEnds = [from, to];
  else if (ruler) setAnimated(session, { ruler: { ...ruler, from, to } }, gesture);
}

/** Takes the ruler away; where it gave the size, the joints do again. */
export function removeRuler(session: Session): void {
  const { animated } = session.book;
  session.view.rulerEnds = null;
  if (animated?.ruler)
    setAnimated(session, { ruler: null, laid: animated.laid === 'ruler' ? 'joints' : animated.laid });
}

/** The ruler's ends as they lie in the picture now, while one is dragged or its length is not known yet, too; null = none does. */
export function rulerEnds({ book, view }: Session): readonly [Point, Point] | null {
  if (view.rulerDragged) return view.rulerDragged;
  const [from, to] = view.rulerEnds ?? [];
  if (view.rulerEnds) return from && to ? [from, to] : null;
  const { ruler, laid } = book.animated ?? {};
  // Angles have no size.
  return ruler && laid !== 'angles' ? [ruler.from, ruler.to] : null;
}
