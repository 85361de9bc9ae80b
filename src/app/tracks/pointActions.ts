import type { PropId } from '../../base/joints.ts';
import type { WhyLost } from '../../base/whyLost.ts';
import type { PropPoint } from '../../draw/propMarks.ts';
import { type Prop, type PropMark, samePictureSec, withAbsence, withMark } from '../../track/prop.ts';
import type { PointQuestion } from '../markedPoints.svelte.ts';
import type { Session } from '../session.svelte.ts';

/** Why a point was lost, as a sentence that goes on from "Lost here:". */
export const whyWords: Readonly<Record<WhyLost, string>> = {
  covered: 'something covers it, or it is too fast and smeared.',
  changed: 'it has come to look quite different.',
  'left-picture': 'it leaves the picture.',
  'no-texture': 'there is nothing to hold on to: mark an edge or a spot rather than a plain surface.',
};

/** The frame on screen whose picture shows this take time first, from 0. */
export function frameOfPicture(session: Session, sec: number): number {
  const found = session.frameTimesSec.findIndex((_, k) => session.pictureSec(k) >= sec - 1e-3);
  return found < 0 ? Math.max(0, session.frameTimesSec.length - 1) : found;
}

/** Asks for a place on the picture: of a new point, or of one that is known. Again: no longer. */
export function beginMarking(session: Session, point: PropId | 'new'): void {
  const { view } = session;
  if (!session.take || session.isCut || view.markingPoint === point) {
    view.markingPoint = null;
    return;
  }
  session.playhead.pause();
  view.isPointing = false;
  view.markingPoint = point;
  session.say('Click the point on the picture, or move the cross by the arrow keys and press Enter');
}

/** Marks the point that is being marked, in the picture of this frame. */
export function markPoint(session: Session, frame: number, xPx: number, yPx: number): void {
  const { view, book } = session;
  const known = book.props.find((p) => p.id === view.markingPoint);
  const mark: PropMark = { takeSec: session.pictureSec(frame), xPx, yPx };
  const prop = known ? withMark(known, mark) : newProp(book.props, mark);
  view.markingPoint = null;
  session.edit({ kind: 'setProp', prop });
  session.say(`${prop.name} marked in frame ${frame + 1}`);
}

function newProp(props: readonly Prop[], mark: PropMark): Prop {
  let number = props.length + 1;
  while (props.some((p) => p.name === `point ${number}`)) number++;
  const name = `point ${number}`;
  return { id: `prop:${name}`, name, marks: [mark], absent: [] };
}

/** Takes the mark in this frame's picture back; the last one of a point takes the point away. */
export function takeMarkBack(session: Session, prop: Prop, frame: number): void {
  const sec = session.pictureSec(frame);
  const marks = prop.marks.filter((m) => Math.abs(m.takeSec - sec) > samePictureSec);
  if (marks.length === 0) removePoint(session, prop);
  else session.edit({ kind: 'setProp', prop: { ...prop, marks } });
}

/** Is the point marked in the picture of this frame? */
export function isMarkedAt(session: Session, prop: Prop, frame: number): boolean {
  const sec = session.pictureSec(frame);
  return prop.marks.some((m) => Math.abs(m.takeSec - sec) < samePictureSec);
}

/** Takes a point away, with all its marks. */
export function removePoint(session: Session, prop: Prop): void {
  session.edit({ kind: 'removeProp', id: prop.id });
  session.say(`${prop.name} is no longer followed`);
}

/** Gives a point another name; it is known by it everywhere, so what refers to it goes along. */
export function renamePoint(session: Session, prop: Prop, name: string): void {
  const words = name.trim();
  const id: PropId = `prop:${words}`;
  if (words === '' || words === prop.name || session.book.props.some((p) => p.id === id || p.name === words)) return;
  const gesture = `rename ${prop.id} ${words}`;
  const chains = session.book.chains.map((c) => ({ ...c, parts: c.parts.map((p) => (p === prop.id ? id : p)) }));
  const isUsed = session.book.chains.some((c) => c.parts.includes(prop.id));
  session.points.rename(prop.id, id);
  session.edit({ kind: 'setProp', prop: { ...prop, id, name: words } }, gesture);
  session.edit({ kind: 'removeProp', id: prop.id }, gesture);
  if (isUsed) session.edit({ kind: 'setChains', chains }, gesture);
}

/** Says that the point is not to be seen where it was asked about. */
export function notSeen(session: Session, { prop, gap }: PointQuestion): void {
  session.edit({ kind: 'setProp', prop: withAbsence(prop, gap) });
  session.say(`${prop.name} is taken as not seen there`);
}

/** Goes to where a point was lost. */
export function showQuestion(session: Session, { prop, gap }: PointQuestion): void {
  session.playhead.pause();
  const frame = frameOfPicture(session, gap.startSec);
  session.playhead.goTo(frame);
  session.say(`${prop.name} is lost in frame ${frame + 1}: ${whyWords[gap.why]}`);
}

/** Goes to the next place where a point was lost, from the frame on screen on; round and round. */
export function nextQuestion(session: Session): void {
  const { questions } = session.points;
  const here = session.pictureSec(session.playhead.frame);
  const next = questions.find((q) => q.gap.startSec > here + samePictureSec) ?? questions[0];
  if (next) showQuestion(session, next);
  else session.say('No marked point is lost');
}

/** The marked points as they lie over the picture at a frame. */
export function pointsAt(session: Session, frame: number): PropPoint[] {
  const { timing, screen } = session;
  const isOwn = screen === 'take' || screen === 'tracks' || !timing;
  const sec = isOwn ? session.pictureSec(frame) : (session.frameTimesSec[frame] ?? Number.NaN);
  return session.points.seen.flatMap(({ prop }) => {
    const { id, name } = prop;
    const shot = isOwn ? undefined : timing.motion.paths.get(id);
    const path = shot ?? session.points.paths.find((p) => p.id === id)?.at(Float64Array.of(sec));
    const k = shot ? frame : 0;
    const mark = prop.marks.find((m) => Math.abs(m.takeSec - sec) < samePictureSec);
    // Before it is followed, a mark is all there is.
    const place = path ?? { xPx: [mark?.xPx], yPx: [mark?.yPx], sdPx: [], guessed: [] };
    const [xPx, yPx] = [place.xPx[k], place.yPx[k]];
    if (xPx === undefined || yPx === undefined || Number.isNaN(xPx)) return [];
    return [
      { id, name, xPx, yPx, sdPx: place.sdPx[k] ?? 0, guessed: place.guessed[k] === 1, isMarked: mark !== undefined },
    ];
  });
}
