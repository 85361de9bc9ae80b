import type { Part } from '../../base/joints.ts';
import type { Arc, ArcFrame } from '../../timing/arc.ts';
import { arcOf } from '../../timing/arcs.ts';
import { bodyFramePath, bodyFramesOf } from '../../timing/bodyFrame.ts';
import type { LocalCircle } from '../../timing/circleFit.ts';
import { moveAt, type PathFacts, pathFacts } from '../../timing/pathFacts.ts';
import { exposureShowing, type MoveFrames, movesOf, ownMove } from '../../timing/spacingChart.ts';
import type { Timing } from '../../timing/timing.ts';
import type { Session } from '../session.svelte.ts';

/** What arcs can be seen from: an entry per choice, with a key that survives a new computation. */
export interface Viewpoint {
  readonly key: string;
  readonly words: string;
  readonly frame: ArcFrame;
}

const carriers = ['neck', 'leftShoulder', 'rightShoulder', 'pelvis', 'nose', 'leftElbow', 'rightElbow'] as const;

/** The places from which arcs can be seen in this shot: the picture, joints that carry others, lines of the body. */
export function viewpointsOf(timing: Timing, words: (part: Part) => string): Viewpoint[] {
  const joints = carriers.filter((j) => timing.joints.includes(j));
  return [
    { key: 'picture', words: 'the picture', frame: 'picture' },
    ...joints.map((j): Viewpoint => ({ key: j, words: `the ${words(j)}`, frame: j })),
    ...bodyFramesOf(timing.motion).map(
      (line): Viewpoint => ({ key: line.name, words: `the ${line.name}, as it turns`, frame: line }),
    ),
  ];
}

/** The key of what arcs are seen from. */
export function keyOf(frame: ArcFrame): string {
  return typeof frame === 'object' ? frame.name : frame;
}

/** What arcs are seen from, or the picture where that has no path in this shot. */
export function frameKnown(timing: Timing, frame: ArcFrame): ArcFrame {
  if (frame === 'picture') return frame;
  const isKnown = typeof frame === 'object' ? bodyFramePath(timing.motion, frame) : timing.motion.paths.has(frame);
  return isKnown ? frame : 'picture';
}

/** The part whose numbers are shown: the last whose arc was asked for and that has a path. Null = none. */
export function partNow(session: Session, timing: Timing): Part | null {
  return session.view.arcJoints.filter((j) => timing.motion.paths.has(j)).at(-1) ?? null;
}

/** The move that is looked at: between the frames picked, or from key to key at the playhead. Null = the shot has none. */
export function moveNow(session: Session, timing: Timing): MoveFrames | null {
  const picked = session.view.pickedMove;
  if (picked) {
    const at = (frame: number) =>
      exposureShowing(timing.exposures, Math.min(frame, timing.grid.frameCount - 1)).firstFrame;
    const move = { firstFrame: at(picked.firstFrame), lastFrame: at(picked.lastFrame) };
    if (move.lastFrame > move.firstFrame) return move;
  }
  return moveAt(movesOf(timing), session.playhead.frame);
}

/** What is said of an arc's shape over the move that is looked at; null where there is no such move. */
export function factsNow(session: Session, timing: Timing, arc: Arc): PathFacts | null {
  const move = moveNow(session, timing);
  return move && pathFacts(timing, arc, session.view.pickedMove ? move : ownMove(timing, arc.joint, move));
}

/** The arc whose numbers are shown, laid over the picture of the frame on screen; null = none. */
export function arcNow(session: Session, timing: Timing): Arc | null {
  const part = partNow(session, timing);
  const from = frameKnown(timing, session.view.arcRelativeTo);
  const frame = Math.min(session.playhead.frame, timing.grid.frameCount - 1);
  return part === null || part === from ? null : arcOf(timing, part, from, frame);
}

/** The circle of the move that is looked at, where it has one. */
export function circleNow(session: Session, timing: Timing, arc: Arc | undefined): LocalCircle | null {
  const circle = arc && factsNow(session, timing, arc)?.circle;
  return circle && typeof circle === 'object' ? circle : null;
}
