import { withAbsence, withMark } from '../../track/prop.ts';
import type { PointQuestion } from '../markedPoints.svelte.ts';
import type { Session } from '../session.svelte.ts';
import { setPoint, setRun } from './markJoints.ts';

/** Where a marked point of the shot was lost. */
export interface LostPoint {
  readonly question: PointQuestion;
  /** The first and the last picture of the gap, from 0. */
  readonly from: number;
  readonly to: number;
  /** The frame of the plan at which the first one stands, from 0; null = beyond the plan. */
  readonly frame: number | null;
}

/** The place that is asked about first: the one on screen, else the nearest after it. Null = no point is lost. */
export function lostPointHere({ animated, check, playhead }: Session): LostPoint | null {
  const { questions, take } = animated;
  const times = take?.footage.timesSec;
  if (!times) return null;
  const here = times[check.pictureAt(playhead.frame)] ?? 0;
  const question = questions.find(({ gap }) => gap.endSec >= here - 1e-3) ?? questions[0];
  if (!question) return null;
  const pictureOf = (sec: number) => times.findIndex((t) => t >= sec - 1e-3);
  const from = pictureOf(question.gap.startSec);
  return { question, from, to: pictureOf(question.gap.endSec), frame: check.frameOf(from) };
}

/** Asks where the point is, in the picture on screen if it is lost there, else in the first in which it is lost. Again: no longer. */
export function beginSetting(session: Session, { question, from, to, frame }: LostPoint): void {
  const { view, playhead, check } = session;
  const { id } = question.prop;
  if (view.lostPoint === id) {
    view.lostPoint = null;
    return;
  }
  playhead.pause();
  const picture = check.pictureAt(playhead.frame);
  if (frame !== null && (picture < from || picture > to)) playhead.goTo(frame);
  view.rulerEnds = null;
  setRun(session, null);
  view.lostPoint = id;
}

/** The point that is being set is here, upright pixels of this picture of the shot. */
export async function setLostPoint(session: Session, picture: number, xPx: number, yPx: number): Promise<void> {
  const { animated, view } = session;
  const prop = animated.questions.find((q) => q.prop.id === view.lostPoint)?.prop;
  const takeSec = animated.take?.footage.timesSec[picture];
  view.lostPoint = null;
  if (!prop || takeSec === undefined) return;
  session.say(`${prop.name} marked in picture ${picture + 1} of the shot`);
  await setPoint(session, withMark(prop, { takeSec, xPx, yPx }), `mark of ${prop.name}`);
}

/** The point is not to be seen where it was lost. */
export async function notSeenInShot(session: Session, { question: { prop, gap } }: LostPoint): Promise<void> {
  session.view.lostPoint = null;
  session.say(`${prop.name} is taken as not seen there`);
  await setPoint(session, withAbsence(prop, gap), `${prop.name} not seen`);
}
