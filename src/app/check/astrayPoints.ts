import { jointWords } from '../../base/joints.ts';
import { type Astray, framesOfRun } from '../../compare/astray.ts';
import { mmWords } from '../../compare/finding.ts';
import { type Prop, withAbsence, withMark } from '../../track/prop.ts';
import type { Session } from '../session.svelte.ts';
import { beginMarking, pointOf, setPoint } from './markJoints.ts';

/** A marked point of the shot that may have left its joint, with what is asked. */
export interface AstrayPoint extends Astray {
  readonly prop: Prop;
  /** The frame to look at, from 0, and the shot's picture there. */
  readonly atFrame: number;
  readonly picture: number;
  /** What is known, for reading. */
  readonly sentence: string;
}

/** All points that may have left their joints, in order from the hips outward; none while anything is being looked at or compared. */
export function astrayPoints(session: Session): readonly AstrayPoint[] {
  const { check, animated } = session;
  const { comparison } = check;
  if (!comparison || check.busy || animated.busy) return [];
  const { astray, exposures } = comparison;
  return astray.flatMap((gone): AstrayPoint[] => {
    const prop = pointOf(session, gone.joint);
    const { firstFrame: atFrame, frames } = exposures[gone.worst]!;
    // A picture of a frame of the exposure: its first may be missing.
    const pictures = Array.from({ length: frames }, (_, k) => check.pictureAt(atFrame + k));
    const picture = pictures.find((p) => p >= 0) ?? -1;
    if (!prop || picture < 0) return [];
    const [name, run] = [jointWords(gone.joint), framesOfRun(exposures, gone.first, gone.last)];
    const sentence =
      gone.offMm === null
        ? `Followed from two marks, the point comes to two places at ${run}.`
        : `At ${run} the point lies up to ${mmWords(gone.offMm)} from where the ${name} could be.`;
    return [{ ...gone, prop, atFrame, picture, sentence }];
  });
}

/** The one that is asked about first: the one on screen, else the nearest after it. Null = there is none. */
export function astrayHere(session: Session): AstrayPoint | null {
  const all = astrayPoints(session);
  const here = session.check.exposureAt(session.playhead.frame);
  const ahead = all.filter(({ last }) => last >= here).sort((a, b) => a.first - b.first);
  return ahead[0] ?? all[0] ?? null;
}

/** Is the picture on screen one in which the point may be astray? Then it can be judged by eye. */
export function isAstrayShown({ check, playhead }: Session, { first, last }: Astray): boolean {
  const here = check.exposureAt(playhead.frame);
  return here >= first && here <= last;
}

/** Shows the picture in which the point is furthest from its joint, with the point in it. */
export function lookAtAstray({ playhead }: Session, { atFrame }: AstrayPoint): void {
  playhead.pause();
  playhead.goTo(atFrame);
}

/** Asks where the joint is, in the picture on screen. */
export function setAstray(session: Session, { joint }: AstrayPoint): void {
  beginMarking(session, [joint]);
}

/** The point lies on its joint after all: a hand says so, and the pose is judged. */
export async function keepAstray(session: Session, { prop, joint, picture }: AstrayPoint): Promise<void> {
  const seen = session.animated.seenPoints.find((point) => point.prop.id === prop.id);
  const [xPx, yPx, takeSec] = [seen?.xPx[picture], seen?.yPx[picture], seen?.timesSec[picture]];
  if (xPx === undefined || yPx === undefined || takeSec === undefined) return;
  session.say(`The ${jointWords(joint)} is where its point lies`);
  await setPoint(session, withMark(prop, { takeSec, xPx, yPx }), `${jointWords(joint)} is where its point lies`);
}

/** The joint is not to be seen where its point went astray. */
export async function astrayNotSeen(session: Session, { prop, joint, first, last }: AstrayPoint): Promise<void> {
  const { check, animated } = session;
  const times = animated.take?.footage.timesSec;
  const exposures = check.comparison?.exposures;
  if (!times || !exposures) return;
  const end = exposures[last]!;
  const [from, to] = [exposures[first]!.firstFrame, end.firstFrame + end.frames - 1];
  const pictures = Array.from({ length: to - from + 1 }, (_, k) => check.pictureAt(from + k)).filter((p) => p >= 0);
  if (pictures.length === 0) return;
  session.say(`The ${jointWords(joint)} is taken as not seen there`);
  const [startSec, endSec] = [times[Math.min(...pictures)]!, times[Math.max(...pictures)]!];
  await setPoint(session, withAbsence(prop, { startSec, endSec }), `${jointWords(joint)} not seen`);
}
