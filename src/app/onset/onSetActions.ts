import { exposureOf, type StepCard, stepCard } from '../../plan/onSet.ts';
import { spokenStep } from '../../plan/spokenStep.ts';
import { readTakenLog } from '../../plan/takenLog.ts';
import type { Clicks } from '../../project/shooting.ts';
import type { Session } from '../session.svelte.ts';
import { steppedLight } from './setLight.ts';
import { hush, speak } from './speech.ts';

/** The exposure on the screen at the set, from 0; as many as there are = all is done. Null while there is no plan. */
export function exposureHere({ plan, book }: Session): number | null {
  return plan && exposureOf(plan, book.shooting.atFrame);
}

/** The one key: this exposure is shot, on to the next. Where it was shot already, only on; in a rehearsal it starts and stops. */
export function onwards(session: Session): void {
  if (session.book.shooting.rehearses) session.playhead.toggle();
  else takeHere(session);
}

function takeHere(session: Session): void {
  const { plan, book } = session;
  const card = cardHere(session);
  if (!plan || !card) return;
  const { exposure, firstFrame, frames } = card;
  if (Number.isFinite(readTakenLog(plan, book.shooting.taken).shotAtMs[exposure])) lookAt(session, firstFrame + frames);
  else markShot(session, [exposure]);
}

/** These exposures, rising, are shot by now: on to the one after them. */
export function markShot(session: Session, exposures: readonly number[]): void {
  const { plan } = session;
  const [first, last] = [exposures[0], exposures.at(-1)];
  if (!plan || first === undefined || last === undefined) return;
  for (const exposure of exposures) {
    const { firstFrame, frames, isHeld } = stepCard(plan, exposure)!;
    const takeSec = plan.timing.takeTimeSec[firstFrame]!;
    const nextFrame = firstFrame + frames;
    session.shoot({ kind: 'take', exposure: { firstFrame, frames, takeSec, isHeld, atMs: Date.now() }, nextFrame });
  }
  const which = first === last ? `Exposure ${first + 1}` : `${exposures.length} exposures up to ${last + 1}`;
  arrived(session, `${which} shot.`);
}

/** Looks at the exposure before; no mark changes. A rehearsal goes back to its beginning. */
export function back(session: Session): void {
  const before = session.plan?.timing.exposures[(exposureHere(session) ?? 0) - 1];
  if (session.book.shooting.rehearses) session.playhead.step(-1e9);
  else if (before) lookAt(session, before.firstFrame);
}

/** The last mark is taken away, and its exposure is the one to shoot. */
export function takeBack(session: Session): void {
  const last = session.book.shooting.taken.at(-1);
  if (!last || session.book.shooting.rehearses) return;
  session.shoot({ kind: 'takeBack' });
  arrived(session, `Frame ${last.firstFrame + 1} is not shot.`);
}

/** Shows the exposure of this number, from 1; nothing happens where there is none. */
export function goToExposure(session: Session, number: number): void {
  const exposure = session.plan?.timing.exposures[number - 1];
  if (exposure) lookAt(session, exposure.firstFrame);
}

/** Puts the cursor where the number of an exposure is typed. */
export function jumpToExposure(): void {
  const field = document.querySelector<HTMLInputElement>('#jump-to-exposure');
  field?.focus();
  field?.select();
}

/** Speaks each next move from now on, beginning with this one; or no more. */
export function toggleSpeech(session: Session): void {
  const speaks = !session.book.shooting.speaks;
  session.shoot({ kind: 'setSpeaks', speaks });
  const card = cardHere(session);
  if (speaks && card) void speak(spokenStep(card));
  else hush();
}

/** Rehearses the pop-through, from its beginning; or goes back to where the shooting is. */
export function toggleRehearsal(session: Session): void {
  hush();
  session.playhead.step(-1e9);
  session.shoot({ kind: 'setRehearses', rehearses: !session.book.shooting.rehearses });
}

/** Says where else than at the poses the metronome clicks. */
export function setClicks(session: Session, clicks: Clicks): void {
  session.shoot({ kind: 'setClicks', clicks });
}

/** Shows what was shot when, or the moves again. */
export function toggleTakenList({ view }: Session): void {
  view.showsTaken = !view.showsTaken;
  view.showsNotes = false;
}

/** Shows every note of this exposure in full, or the moves again. */
export function toggleStepNotes({ view }: Session): void {
  view.showsNotes = !view.showsNotes;
  view.showsTaken = false;
}

/** The screen one step darker (−1) or brighter (1). */
export function changeLight({ view }: Session, by: -1 | 1): void {
  view.setLight = steppedLight(view.setLight, by);
}

/** Out of a list, out of the rehearsal, or away from the set, whichever is nearest. */
export function leaveSet(session: Session): void {
  if (session.view.showsTaken) toggleTakenList(session);
  else if (session.view.showsNotes) toggleStepNotes(session);
  else if (session.book.shooting.rehearses) toggleRehearsal(session);
  else session.screen = 'sheet';
}

function cardHere(session: Session): StepCard | null {
  const at = exposureHere(session);
  return session.plan && at !== null ? stepCard(session.plan, at) : null;
}

function lookAt(session: Session, frame: number): void {
  session.shoot({ kind: 'lookAt', frame });
  arrived(session, '');
}

/** The other screens show the same frame, and whoever listens hears where we are. */
function arrived(session: Session, what: string): void {
  // Whoever steps on sees the moves: the notes that were read were another exposure's.
  session.view.showsNotes = false;
  const card = cardHere(session);
  const { rehearses, speaks } = session.book.shooting;
  const where = card ? `Exposure ${card.exposure + 1} of ${card.exposures}.` : 'All exposures are done.';
  session.say(`${what} ${where}`.trim());
  // A picture may come in while something else is looked at.
  if (session.screen !== 'onSet' || rehearses) return;
  if (card) session.playhead.goTo(card.firstFrame);
  if (speaks) void speak(card ? spokenStep(card) : where);
}
