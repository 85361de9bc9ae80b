import type { HandContact } from '../../track/handContact.ts';
import type { Session } from '../session.svelte.ts';
import { markSpanOfShot } from './spanMark.ts';

/** Poses go further from the one under the playhead, or (null) from standing. */
export function chooseNeutral(session: Session, frame: number | null): void {
  const neutralSec = frame === null ? null : session.frameTimesSec[frame];
  if (neutralSec === undefined) return;
  session.edit({ kind: 'exaggerate', exaggeration: { ...session.book.exaggeration, neutralSec } });
  session.say(frame === null ? 'Poses go further from standing' : `Poses go further from frame ${frame + 1}`);
}

/**
 * Begins a span in which a hand keeps its place at the playhead; the second time it ends there. What the same hand kept within it, or up
 * to it, becomes one with it.
 */
export function markHandContact(session: Session, hand: HandContact['hand']): void {
  const span = markSpanOfShot(session, 'keepingFrom');
  if (!span) return;
  const [first, last] = span;
  let [startSec, endSec] = [session.frameTimesSec[first], session.frameTimesSec[last]];
  if (startSec === undefined || endSec === undefined) return;
  const gesture = `hand ${crypto.randomUUID()}`;
  for (const other of session.book.handContacts) {
    if (other.hand !== hand || other.endSec < startSec || other.startSec > endSec) continue;
    startSec = Math.min(startSec, other.startSec);
    endSec = Math.max(endSec, other.endSec);
    session.edit({ kind: 'removeHandContact', id: other.id }, gesture);
  }
  const id = `h${crypto.randomUUID().slice(0, 8)}`;
  session.edit({ kind: 'setHandContact', contact: { id, hand, startSec, endSec } }, gesture);
  session.say(
    `The ${hand === 'leftWrist' ? 'left' : 'right'} hand keeps its place, frames ${first + 1} to ${last + 1}`,
  );
}
