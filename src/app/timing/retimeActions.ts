import { moveAnchor, type Retimed } from '../../timing/retime.ts';
import type { Key, Timing } from '../../timing/timing.ts';
import type { Session } from '../session.svelte.ts';

/** Records a change of the shot's time. Changes of one `gesture` all begin from the timing before it, and are undone together. */
export function retime(session: Session, retimed: Retimed, gesture: string | null = null): void {
  const isSame = retimed.retiming === session.book.retiming && retimed.moves.length === 0;
  if (!isSame) session.edit({ kind: 'retime', ...retimed }, gesture);
}

/**
 * Gives a key another frame; the pose stays the same moment of the take. What lies behind shifts or absorbs it, as chosen.
 * @param timing as it was before the gesture began.
 */
export function moveKeyInTime(
  session: Session,
  timing: Timing,
  key: Key,
  toFrame: number,
  gesture: string | null = null,
): void {
  const frame = Math.max(0, toFrame);
  const { behind } = session.view;
  const isAtStart = key.frameIndex === 0;
  if (isAtStart) {
    session.say('The first pose stays at frame 1. Lengthen its hold instead.');
    return;
  }
  retime(session, moveAnchor(timing, `key ${key.id}`, frame, behind), gesture);
}

/** Shows the take's own timing, or the shot's again. */
export function toggleOwnTiming(session: Session): void {
  const own = !session.view.showsOwnTiming;
  session.showOwnTiming(own);
  session.say(own ? 'As filmed' : 'As retimed');
}
