import { type ExtremeInShot, extremesInShot } from '../../timing/placedExtremes.ts';
import type { Timing } from '../../timing/timing.ts';
import type { Session } from '../session.svelte.ts';

/** The extremes of the part picked on the Poses tab; empty while none is. */
export function extremesNow(session: Session, timing: Timing): ExtremeInShot[] {
  const { tracks } = session;
  const part = session.view.extremesPart;
  return tracks && part ? extremesInShot(tracks, timing, part) : [];
}
