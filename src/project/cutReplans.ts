import type { Stance } from '../compare/stance.ts';
import { type Book, type CutPart, mostReplans, type ReplanAside, type ReplanChoice, type TakeMoment } from './book.ts';
import { momentOf, shotSecOf } from './takeMoment.ts';

/** The moment of the take that a shot shows at a frame, seconds. */
type ShownSec = (frame: number) => number;

/** The re-plans that go on from frames of one part of a cut shot, counted from its first, each with the moment of its key in the take. */
export function replansAt(
  { replans, cut }: Book,
  isIts: (frame: number) => boolean,
  first: number,
  shownSec: ShownSec,
): ReplanAside[] {
  return replans
    .filter(({ stance }) => isIts(stance.firstFrame))
    .map((replan) => ({
      frame: replan.stance.firstFrame - first,
      awaySec: replan.takeSec - shownSec(replan.stance.firstFrame),
      replan: { ...replan, keyAside: replan.keyAside ?? momentOf(cut, replan.keySec) },
    }));
}

/**
 * A re-plan at the frame to which its pose went. A part moves by whole frames, so the moment shown there is not the same to the last
 * digit; what it was away by before is kept, so that one that was in force is, and one that was out of date stays so.
 * Its key is met wherever that stands by now; while it is not in the shot the next one is, and it is kept aside.
 */
export function layReplan(
  { awaySec, replan }: ReplanAside,
  frame: number,
  shownSec: ShownSec,
  cut: readonly CutPart[],
): ReplanChoice {
  const { stance } = replan;
  const by = frame - stance.firstFrame;
  const takeSec = shownSec(frame) + awaySec;
  return {
    ...replan,
    stance: laterBy(stance, by),
    takeSec,
    ...keyIn(cut, replan.keyAside, takeSec, takeSec + replan.keySec - replan.takeSec),
  };
}

/** A stance so many frames later in the shot, and the pose before it as well. */
export function laterBy(stance: Stance, by: number): Stance {
  const { firstFrame, planFrame, before } = stance;
  return {
    ...stance,
    firstFrame: firstFrame + by,
    planFrame: planFrame + by,
    before: before && { ...before, planFrame: before.planFrame + by },
  };
}

/** @param elseSec where the key is thought to be whose take nobody knows. */
function keyIn(
  cut: readonly CutPart[],
  moment: TakeMoment | null,
  takeSec: number,
  elseSec: number,
): Pick<ReplanChoice, 'keySec' | 'keyAside'> {
  if (!moment) return { keySec: elseSec, keyAside: null };
  const keySec = shotSecOf(cut, moment);
  return keySec === null ? { keySec: takeSec, keyAside: moment } : { keySec, keyAside: null };
}

/** Re-plans in order, one for each frame: of two the first in the list; of too many the earliest go, which were shot long ago. */
export function inOrder(replans: readonly ReplanChoice[]): readonly ReplanChoice[] {
  const byFrame = new Map<number, ReplanChoice>();
  for (const replan of replans)
    if (!byFrame.has(replan.stance.firstFrame)) byFrame.set(replan.stance.firstFrame, replan);
  return [...byFrame.values()].sort((a, b) => a.stance.firstFrame - b.stance.firstFrame).slice(-mostReplans);
}

/** How many re-plans of a cut shot wait for poses that are not in it. */
export function replansAside({ cut }: Book): number {
  return cut.reduce((all, part) => all + part.aside.frames.replans.length, 0);
}
