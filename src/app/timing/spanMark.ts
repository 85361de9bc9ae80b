import type { Session } from '../session.svelte.ts';

/** What of the shot is being marked: where it began is remembered in the view under this name. */
export type SpanMark = 'exposingFrom' | 'keepingFrom';

/**
 * Begins a span of the shot at the playhead; the second time it ends there.
 * @returns its frames, from 0, both included; null while its end is being looked for, and off the shot.
 */
export function markSpanOfShot(session: Session, mark: SpanMark): readonly [number, number] | null {
  if (session.clock !== 'shot' || !session.shotTiming) return null;
  const { view, playhead } = session;
  const from = view[mark];
  if (from === null) {
    view[mark] = playhead.frame;
    session.say(`From frame ${playhead.frame + 1}; go to the last frame and mark again`);
    return null;
  }
  view[mark] = null;
  return inOrder(from, playhead.frame);
}

/** On the button that marks it: where the span would begin, or which frames it would have. */
export function spanMarkWords(from: number | null, here: number): string {
  if (from === null) return `From frame ${here + 1} …`;
  const [first, last] = inOrder(from, here);
  return `… ${first + 1} to ${last + 1}`;
}

function inOrder(a: number, b: number): readonly [number, number] {
  return a < b ? [a, b] : [b, a];
}
