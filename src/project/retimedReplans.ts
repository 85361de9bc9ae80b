import type { FrameMove } from '../timing/retime.ts';
import type { Book, ReplanChoice } from './book.ts';
import { laterBy } from './cutReplans.ts';

/**
 * The re-plans of a shot that is retimed. One goes along with its pose where that is shifted by whole frames as it is, with the pose before
 * it: then the puppet stands and goes as it was found to, only later. One whose own exposures are made longer or shorter stays at its frame,
 * and is told as out of date if another pose stands there. So does one whose exposure is in the log of what was shot: pictures that are taken
 * are not moved by a change of the plan. None is ever laid upon another.
 * @param moves rising; see `FrameMove`.
 */
export function retimeReplans({ replans, shooting }: Book, moves: readonly FrameMove[]): readonly ReplanChoice[] {
  const isShot = new Set(shooting.taken.map((taken) => taken.firstFrame));
  const shifts = replans.map(({ stance }) => (isShot.has(stance.firstFrame) ? 0 : shiftOf(stance, moves)));
  const frameOf = (i: number) => replans[i]!.stance.firstFrame + shifts[i]!;
  // One that has to stay may be in the way of another, which stays then, too.
  for (let isFree = false; !isFree; ) {
    isFree = true;
    for (const i of replans.keys()) {
      const isInWay = frameOf(i) < 0 || [...replans.keys()].some((k) => k !== i && frameOf(k) === frameOf(i));
      if (shifts[i] === 0 || !isInWay) continue;
      shifts[i] = 0;
      isFree = false;
    }
  }
  return replans
    .map((replan, i) => (shifts[i] === 0 ? replan : { ...replan, stance: laterBy(replan.stance, shifts[i]!) }))
    .sort((a, b) => a.stance.firstFrame - b.stance.firstFrame);
}

/** By how many frames an exposure is shifted together with the one before it; 0 = not at all, or not as a whole. */
function shiftOf({ firstFrame, frames, before }: ReplanChoice['stance'], moves: readonly FrameMove[]): number {
  const from = firstFrame - (before?.frames ?? 0);
  const shifts = Array.from({ length: firstFrame + frames - from }, (_, k) => shiftAt(from + k, moves));
  return shifts.every((shift) => shift === shifts[0]) ? shifts[0]! : 0;
}

/** By how many frames a frame is shifted; NaN = what lies about it is made longer or shorter. */
function shiftAt(frame: number, moves: readonly FrameMove[]): number {
  const next = moves.find((m) => m.fromFrame > frame);
  const last = moves.findLast((m) => m.fromFrame <= frame);
  if (!last) return 0;
  const shift = last.toFrame - last.fromFrame;
  const isWhole = !next || last.fromFrame === frame || next.toFrame - next.fromFrame === shift;
  return isWhole ? shift : Number.NaN;
}
