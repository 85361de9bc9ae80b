import type { Comparison } from '../../compare/compareShot.ts';
import { runWords } from '../../plan/shotFacts.ts';
import type { ReplanChoice } from '../../project/book.ts';
import type { Timing } from '../../timing/timing.ts';
import { goToExposure } from '../onset/onSetActions.ts';
import type { Session } from '../session.svelte.ts';

/** An exposure of the shot that is one of the plan's. */
export interface ShotExposure {
  /** Its place in the comparison, and in the plan, from 0. */
  readonly inShot: number;
  readonly inPlan: number;
}

/** Exposures that moves may go on from, rising: those shot as the plan has them, so no key poses of a pop-through. */
export function shotExposures({ exposures }: Comparison, timing: Timing): ShotExposure[] {
  return exposures.flatMap(({ firstFrame, frames }, inShot) => {
    const inPlan = timing.exposures.findIndex((e) => e.firstFrame === firstFrame && e.frames === frames);
    return inPlan < 0 ? [] : [{ inShot, inPlan }];
  });
}

/** The moves go on from there. */
export function acceptReplan(session: Session, replan: ReplanChoice): void {
  session.edit({ kind: 'setReplan', replan });
  session.say(`The moves after frame ${lastFrameOf(replan) + 1} go on from where the puppet stands`);
}

/** The moves are the plan's own again. */
export function takeReplanAway(session: Session, { stance }: ReplanChoice): void {
  session.edit({ kind: 'removeReplan', firstFrame: stance.firstFrame });
  session.say(`The moves after frames ${runWords(stance)} are as they were`);
}

/** To the set, to the first move that leads on from there. */
export function shootOnFrom(session: Session, replan: ReplanChoice): void {
  const exposures = session.plan?.timing.exposures ?? [];
  const next = exposures.findIndex((e) => e.firstFrame > lastFrameOf(replan));
  session.screen = 'onSet';
  if (next >= 0) goToExposure(session, next + 1);
}

function lastFrameOf({ stance }: ReplanChoice): number {
  return stance.firstFrame + stance.frames - 1;
}
