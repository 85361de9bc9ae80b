import { type Joint, jointWords } from '../../base/joints.ts';
import { doubtedJoints, jointsToMark, markableJoints } from '../../compare/jointsToMark.ts';
import { jointOfName } from '../../compare/shotMotion.ts';
import type { PropPoint } from '../../draw/propMarks.ts';
import type { MarksChange } from '../../project/history.ts';
import { type Prop, samePictureSec, withMark } from '../../track/prop.ts';
import type { Session } from '../session.svelte.ts';
import { askedJoint, askWords, backInRun, type MarkingRun, onInRun, runOver } from './markingRun.ts';
import { keepRunAtOnce, runKeptAtOnce } from './runAtOnce.ts';

/** The marked point that stands for a joint of the shot; null = it is not marked. */
export function pointOf({ animated }: Session, joint: Joint): Prop | null {
  return animated.props.find(({ name }) => jointOfName(name) === joint) ?? null;
}

/** Every joint of the plan's puppet that can be marked, in the order in which they are found on it. */
export function jointsOfPlan({ plan }: Session): readonly Joint[] {
  return plan ? markableJoints(new Set(plan.puppet.paths.keys())) : [];
}

/** The joints that are worth marking now, the next first: what the detector hardly knows, else the whole body. */
export function jointsAskedFor(session: Session): readonly Joint[] {
  const { plan, animated } = session;
  if (!plan) return [];
  const doubted = doubtedInShot(session);
  return jointsToMark({ planned: new Set(plan.puppet.paths.keys()), marked: animated.marked, doubted });
}

/** The joints of the shot of which the detector does not know where they are, and nobody else either. */
export function doubtedInShot({ animated, check }: Session): readonly Joint[] {
  return check.comparison ? doubtedJoints(check.comparison, animated.marked) : [];
}

/** Asks for these joints, one after the other, in the picture of the shot that is on screen; where none is, in its first. */
export function beginMarking(session: Session, joints: readonly Joint[]): void {
  const { view, playhead, check, animated } = session;
  if (!animated.take) return;
  const run = runOver(joints);
  playhead.pause();
  if (check.pictureAt(playhead.frame) < 0) playhead.goTo(check.frameOf(0) ?? 0);
  view.lostPoint = null;
  view.rulerEnds = null;
  ask(session, run);
}

/** Begins to mark what is worth it. Again: no longer. */
export function toggleMarking(session: Session): void {
  if (session.view.markingRun) endMarking(session);
  else beginMarking(session, jointsAskedFor(session));
}

function ask(session: Session, run: MarkingRun | null): void {
  setRun(session, run);
  if (run) session.say(askWords(run));
}

/** Asks for the joint at which a run is; null = for none any more. Where it is is kept before this returns. */
export function setRun(session: Session, run: MarkingRun | null): void {
  session.view.markingRun = run;
  if (run) keepRunPlace(session);
  else if (session.animated.id) keepRunAtOnce(session.animated.id, null);
}

/** Keeps at which joint and in which picture joints are being marked; nothing where none are, or no picture is on screen. */
export function keepRunPlace({ view, animated, check, playhead }: Session): void {
  const picture = check.pictureAt(playhead.frame);
  if (view.markingRun && animated.take && picture >= 0)
    keepRunAtOnce(animated.id, { run: view.markingRun, picture, file: fileOf(animated.take.files, picture) });
}

function fileOf(files: readonly File[], picture: number): string {
  return (files.length > 1 && files[picture]?.name) || '';
}

/** Goes on with the marking of the shot where it was when the page was closed. It is over where its picture or its joint is gone. */
export function goOnMarking(session: Session): void {
  const { view, animated, check, playhead, book } = session;
  // While another book is opened, the shot of the one before is still here.
  if (view.markingRun || !animated.take || animated.id !== book.animated?.bookId) return;
  const kept = runKeptAtOnce(animated.id);
  if (!kept) return;
  const frame = check.frameOf(kept.picture);
  const isSame = fileOf(animated.take.files, kept.picture) === kept.file;
  if (frame === null || !isSame || !jointsOfPlan(session).includes(askedJoint(kept.run))) {
    keepRunAtOnce(animated.id, null);
    return;
  }
  playhead.pause();
  playhead.goTo(frame);
  ask(session, kept.run);
}

/** After a mark was taken back its joint is asked for again, if the run was just there; after it is there again, the next. */
export function askAgain(session: Session, { name }: MarksChange, which: 'before' | 'after'): void {
  const run = session.view.markingRun;
  if (!run) return;
  const joint = jointOfName(name);
  if (which === 'after') {
    if (askedJoint(run) === joint) setRun(session, onInRun(run));
  } else if (run.at > 0 && run.joints[run.at - 1] === joint) setRun(session, backInRun(run));
}

/** The joint that is asked for is here, upright pixels of this picture of the shot. Others are asked for while it is followed. */
export async function pressJoint(session: Session, picture: number, xPx: number, yPx: number): Promise<void> {
  const { view, animated } = session;
  const takeSec = animated.take?.footage.timesSec[picture];
  if (!view.markingRun || takeSec === undefined) return;
  const joint = askedJoint(view.markingRun);
  const name = jointWords(joint);
  const known = pointOf(session, joint) ?? { id: `prop:${name}`, name, marks: [], absent: [] };
  goOn(session);
  await setPoint(session, withMark(known, { takeSec, xPx, yPx }), `mark of the ${name}`);
}

/** The joint that is asked for is not to be seen in the picture on screen: a mark that it has there is taken back. */
export async function jointNotSeen(session: Session): Promise<void> {
  const { view, animated, check, playhead } = session;
  if (!view.markingRun) return;
  const name = jointWords(askedJoint(view.markingRun));
  const point = pointOf(session, askedJoint(view.markingRun));
  const takeSec = animated.take?.footage.timesSec[check.pictureAt(playhead.frame)];
  goOn(session);
  const label = `${name} not seen`;
  const marks = point?.marks.filter((mark) => Math.abs(mark.takeSec - (takeSec ?? Number.NaN)) > samePictureSec);
  if (!point || !marks || takeSec === undefined || marks.length === point.marks.length)
    // Nothing to take back but the step itself: undo asks for the joint again.
    return session.mark(name, animated.props, label);
  if (marks.length === 0) await removePoint(session, point, label);
  else await setPoint(session, { ...point, marks }, label);
}

function goOn(session: Session): void {
  const { view } = session;
  const next = view.markingRun && onInRun(view.markingRun);
  if (next) ask(session, next);
  else endMarking(session);
}

/** Back to the joint that was asked for before; it is marked anew when it is pressed again. */
export function jointBefore(session: Session): void {
  const { view } = session;
  if (view.markingRun) ask(session, backInRun(view.markingRun));
}

/** No joint is asked for any more. What is marked stays. */
export function endMarking(session: Session): void {
  setRun(session, null);
  session.say('Done. What is marked is followed');
}

/** A joint is no longer marked: it is where the detector sees it. */
export async function takeJointAway(session: Session, joint: Joint): Promise<void> {
  const point = pointOf(session, joint);
  if (!point) return;
  session.say(`The ${jointWords(joint)} is no longer marked`);
  await removePoint(session, point, `mark of the ${jointWords(joint)} taken away`);
}

/** What is said of a marked point of the shot, a new one or one that is there, kept and followed. @param label what undo calls it. */
export async function setPoint(session: Session, prop: Prop, label: string): Promise<void> {
  const { props } = session.animated;
  const isNew = !props.some((was) => was.id === prop.id);
  const after = isNew ? [...props, prop] : props.map((was) => (was.id === prop.id ? prop : was));
  await session.mark(prop.name, after, label);
}

async function removePoint(session: Session, { id, name }: Prop, label: string): Promise<void> {
  const after = session.animated.props.filter((prop) => prop.id !== id);
  await session.mark(name, after, label);
}

/** How a marked joint stands in a picture of the shot. */
export function stateInPicture({ animated }: Session, point: Prop, picture: number): string {
  const takeSec = animated.take?.footage.timesSec[picture] ?? Number.NaN;
  if (point.marks.some((mark) => Math.abs(mark.takeSec - takeSec) < samePictureSec)) return 'marked here';
  const seen = animated.seenPoints.find(({ prop }) => prop.id === point.id);
  if (Number.isFinite(seen?.xPx[picture] ?? Number.NaN)) return 'followed';
  return animated.following === null ? 'not seen here' : 'being followed';
}

/** The marked joints in a picture of the shot, each with its name: as they were marked there, or followed to there. */
export function markedInPicture({ animated }: Session, picture: number): PropPoint[] {
  const takeSec = animated.take?.footage.timesSec[picture] ?? Number.NaN;
  const points = animated.seenPoints.flatMap(({ prop, xPx, yPx, sdPx }) => {
    const [x, y] = [xPx[picture], yPx[picture]];
    if (!jointOfName(prop.name) || x === undefined || y === undefined || !Number.isFinite(x + y)) return [];
    const isMarked = prop.marks.some((mark) => Math.abs(mark.takeSec - takeSec) < samePictureSec);
    return [{ id: prop.id, name: prop.name, xPx: x, yPx: y, sdPx: sdPx[picture] ?? 0, guessed: false, isMarked }];
  });
  const middle = points.reduce((sum, { xPx }) => sum + xPx / points.length, 0);
  // Names stand outside of the body.
  return points.map((point) => ({ ...point, nameIsLeft: point.xPx < middle }));
}
