import { type DetectedJoint, detectedJoints, type Joint, jointWords } from '../../base/joints.ts';
import { type PlacedDoubt, placeDoubts } from '../../plan/plan.ts';
import { longestReachSec, type Placement, usualReachSec } from '../../track/correction.ts';
import { type DoubtGroup, groupDoubts } from '../../track/doubtGroups.ts';
import type { Session } from '../session.svelte.ts';

/** Two moments closer than this are the same picture, seconds. */
const sameMomentSec = 0.008;

/** The joint that is looked at, where it is one that can be put right by hand; else null. */
export function chosenDetected(session: Session): DetectedJoint | null {
  const { joint } = session.view;
  return isDetected(joint) ? joint : null;
}

/** Can this joint be put right by hand? Neck, chest, pelvis and chin follow from others. */
export function isDetected(joint: Joint): joint is DetectedJoint {
  return (detectedJoints as readonly Joint[]).includes(joint);
}

/** The doubts of the tracks as they are now, with the frames of the shot; those outside the shot left out. */
export function doubtsNow(session: Session): PlacedDoubt[] {
  const { tracks, timing, frameTimesSec } = session;
  if (!tracks) return [];
  return placeDoubts(tracks.doubts, frameTimesSec, timing?.mmPerPx ?? Number.NaN).filter((d) => d.frames > 0);
}

/** The doubts in groups, in the order chosen. */
export function doubtGroupsNow(session: Session): DoubtGroup<PlacedDoubt>[] {
  return groupDoubts(doubtsNow(session), session.view.doubtOrder);
}

/** Goes to a doubt: its first frame, its joint, its span marked. */
export function jumpTo(session: Session, doubt: PlacedDoubt): void {
  const last = doubt.firstFrame + doubt.frames;
  // The first frame that shows a picture of the span: the picture of the frame that the span begins in may be older.
  let frame = doubt.firstFrame;
  while (frame < last - 1 && session.pictureSec(frame) < doubt.startSec - 1e-4) frame++;
  session.playhead.pause();
  session.playhead.goTo(frame);
  if (doubt.joint) session.view.joint = doubt.joint;
  session.view.doubt = doubt;
  session.say(`Frames ${doubt.firstFrame + 1} to ${last}: ${doubt.sentence}`);
}

/** Goes to the next doubt of the list as it stands, span by span (direction 1), or to the one before; round and round. */
export function stepDoubt(session: Session, direction: 1 | -1): void {
  const all = doubtGroupsNow(session).flatMap((g) => g.spans);
  if (all.length === 0) {
    session.say('No doubts');
    return;
  }
  const { doubt } = session.view;
  const at = doubt ? all.findIndex((d) => isSameDoubt(d, doubt)) : -1;
  // A doubt that was answered is gone from its place in the list, and the next one stands there now.
  const gone =
    direction > 0 ? (doubt ? session.view.doubtPlace : 0) : (doubt ? session.view.doubtPlace : all.length) - 1;
  const next = ((at < 0 ? gone : at + direction) + all.length) % all.length;
  jumpTo(session, all[next]!);
  session.view.doubtPlace = next;
}

/** Are these the same span of the same doubt? */
export function isSameDoubt(a: Pick<PlacedDoubt, 'headline' | 'firstFrame'>, b: typeof a): boolean {
  return a.headline === b.headline && a.firstFrame === b.firstFrame;
}

/** Chooses the next joint of the list, or the one before. */
export function stepJoint(session: Session, direction: 1 | -1): void {
  const joints = session.tracks?.joints ?? [];
  if (joints.length === 0) return;
  const at = joints.indexOf(session.view.joint);
  session.view.joint = joints[(at + direction + joints.length) % joints.length]!;
  // Whoever holds a joint by the keyboard goes on holding the next one.
  const held = document.activeElement;
  if (held instanceof HTMLElement && held.dataset.joint) focusJoint(session);
  session.say(jointWords(session.view.joint));
}

/** Takes hold of the chosen joint on the picture: the arrow keys move it from now on. */
export function focusJoint(session: Session): void {
  const handle = document.querySelector<HTMLElement>(`button[data-joint="${session.view.joint}"]`);
  if (handle) handle.focus();
  else session.say(`${jointWords(session.view.joint)} cannot be moved here`);
}

/** Lets go: of a joint held by the keyboard, of a span half marked, of pointing the performer out. */
export function letGo(session: Session): void {
  session.view.marking = null;
  session.view.isPointing = false;
  session.view.markingPoint = null;
  session.view.doubt = null;
  if (document.activeElement instanceof HTMLElement) document.activeElement.blur();
}

/** The placement of a joint in the picture of this frame, or null. */
export function placementAt(session: Session, joint: Joint, frame: number): Placement | null {
  const sec = session.pictureSec(frame);
  for (const c of session.book.corrections)
    if (c.kind === 'place' && c.joint === joint && Math.abs(c.takeSec - sec) < sameMomentSec) return c;
  return null;
}

/** Places a joint in the picture of this frame; a placement that is there keeps its reach. */
export function placementFor(
  session: Session,
  joint: DetectedJoint,
  frame: number,
  xPx: number,
  yPx: number,
): Placement {
  const reachSec = placementAt(session, joint, frame)?.reachSec ?? usualReachSec;
  return { kind: 'place', joint, takeSec: session.pictureSec(frame), xPx, yPx, reachSec };
}

/** Says that the chosen joint is right where it is: a placement there. */
export function confirmHere(session: Session): void {
  const joint = chosenDetected(session);
  const { frame } = session.playhead;
  const path = session.tracks?.at(Float64Array.of(session.pictureSec(frame))).paths.get(session.view.joint);
  const [xPx, yPx] = [path?.xPx[0], path?.yPx[0]];
  if (!joint || xPx === undefined || yPx === undefined || Number.isNaN(xPx)) return;
  session.correct(placementFor(session, joint, frame, xPx, yPx));
  session.say(`${jointWords(joint)} is right in frame ${frame + 1}`);
}

/** Takes the chosen joint's placement in this picture back. */
export function removePlacementHere(session: Session): void {
  const { frame } = session.playhead;
  const here = placementAt(session, session.view.joint, frame);
  if (!here) {
    session.say(`${jointWords(session.view.joint)} is not placed by hand in frame ${frame + 1}`);
    return;
  }
  session.edit({ kind: 'uncorrect', index: session.book.corrections.indexOf(here) });
  session.say(`Placement of ${jointWords(here.joint)} taken back`);
}

/** Lengthens (1) or shortens (−1) the reach of the chosen joint's placement here by a frame. */
export function changeReach(session: Session, frames: 1 | -1): void {
  const here = placementAt(session, session.view.joint, session.playhead.frame);
  if (!here) {
    session.say('No placement here');
    return;
  }
  const { rate } = session.book;
  setReach(session, here, Math.round((here.reachSec * rate.frames) / rate.seconds) + frames);
}

/** Gives a placement a reach of so many frames of the shot. */
export function setReach(session: Session, placement: Placement, frames: number): void {
  const { rate } = session.book;
  const reachSec = Math.min(longestReachSec, Math.max(0, (frames * rate.seconds) / rate.frames));
  session.correct({ ...placement, reachSec }, `reach ${placement.joint} ${placement.takeSec}`);
  session.say(`Moves ${Math.round(Math.max(0, frames))} frames to each side`);
}

/** Begins to mark a span at this frame, or ends the one begun: hidden, or with sides exchanged. */
export function markSpan(session: Session, kind: 'hide' | 'swapSides'): void {
  const { view, playhead } = session;
  const joint = chosenDetected(session);
  if (kind === 'hide' && !joint) {
    session.say(`${jointWords(view.joint)} follows from other joints`);
    return;
  }
  if (view.marking?.kind !== kind) {
    view.marking = { kind, fromFrame: playhead.frame };
    session.say(`From frame ${playhead.frame + 1}; go to the last frame and press again`);
    return;
  }
  const [first, last] = [view.marking.fromFrame, playhead.frame].sort((a, b) => a - b) as [number, number];
  view.marking = null;
  const halfFrameSec = session.book.rate.seconds / session.book.rate.frames / 2;
  const startSec = (session.frameTimesSec[first] ?? 0) - halfFrameSec;
  const endSec = (session.frameTimesSec[last] ?? 0) + halfFrameSec;
  if (kind === 'swapSides')
    session.edit({ kind: 'correct', correction: { kind, startSec, endSec, part: view.swappedPart } });
  else if (joint) session.edit({ kind: 'correct', correction: { kind, joint, startSec, endSec } });
  session.say(`Frames ${first + 1} to ${last + 1} ${kind === 'hide' ? 'hidden' : 'exchanged'}`);
}
