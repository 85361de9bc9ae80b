import type { Part } from '../../base/joints.ts';
import { bodyChains, partWordsWith } from '../../timing/chains.ts';
import { findPhases, type Phase } from '../../timing/phases.ts';
import type { Chain, Timing } from '../../timing/timing.ts';
import type { Session } from '../session.svelte.ts';
import { cuesOf } from './soundActions.ts';

/** How parts are called on screen: marked points by the animator's names. */
export function wordsOfSession(session: Session): (part: Part) => string {
  return partWordsWith(session.book.props);
}

/** The phases of the frames on screen, of the part that is looked at; empty before the take is read. */
export function phasesNow(session: Session, timing: Timing): Phase[] {
  const { tracks, book } = session;
  if (!tracks) return [];
  return findPhases(tracks, timing, {
    names: book.phaseNames,
    part: session.view.phasePart,
    wordsOf: wordsOfSession(session),
    // A sound may be the movement's own (a hand that lands), so the animator says whether sounds are cues.
    cuesSec: session.view.soundsAreCues ? cuesOf(session).map((cue) => timing.map.takeAt(cue.shotSec)) : [],
  });
}

/** The body's chains and those that the animator picked. */
export function chainsOf(session: Session): readonly Chain[] {
  return [...bodyChains, ...session.book.chains];
}

/** The chain that is looked at: the body's first where it is gone. */
export function chainNow(session: Session): Chain {
  const chains = chainsOf(session);
  return chains.find((c) => c.id === session.view.lagChain) ?? chains[0]!;
}

/** The phase under a frame: the last that begins there or before and is not over. */
export function phaseAt(phases: readonly Phase[], frame: number): Phase | null {
  return phases.findLast((p) => frame >= p.firstFrame && frame < p.firstFrame + p.frames) ?? null;
}

/** Things of one move together, with the move's first and last frame; in the order given. */
export interface OfMove<T> {
  readonly id: string;
  readonly of: readonly T[];
  readonly first: number;
  readonly last: number;
}

/** Phases or lags by the move that they belong to. */
export function byMove<T extends { readonly moveId: string; readonly firstFrame: number; readonly frames: number }>(
  list: readonly T[],
): OfMove<T>[] {
  const ids = [...new Set(list.map((one) => one.moveId))];
  return ids.map((id) => {
    const of = list.filter((one) => one.moveId === id);
    return {
      id,
      of,
      first: Math.min(...of.map((one) => one.firstFrame)),
      last: Math.max(...of.map((one) => one.firstFrame + one.frames)) - 1,
    };
  });
}
