import type { Joint } from '../base/joints.ts';
import type { Planted } from '../puppet/puppetMotion.ts';
import { framesShown, type MoveFrames, movesOf } from '../timing/spacingChart.ts';
import type { Plan } from './plan.ts';
import { type Pose, poseOnScreen } from './poses.ts';

/** A place on the set as the camera sees it, millimetres: x to the right, y up from the floor. */
export interface SetPoint {
  /** From 0. */
  readonly frame: number;
  readonly xMm: number;
  readonly yMm: number;
}

/** Where the part is at the first frame of an exposure. */
export interface SetTick extends SetPoint {
  /** True where the place is a guess: the part was hidden, or moves toward or away from the lens. */
  readonly isDoubtful: boolean;
}

/** The way of one part from a key to the next, in the puppet's own size. */
export interface SetArc {
  readonly joint: Joint;
  readonly frames: MoveFrames;
  readonly from: Pose;
  readonly to: Pose;
  /** Runs of frames whose place is known, each at least two long; a gap parts runs. */
  readonly runs: readonly (readonly SetPoint[])[];
  /** One for each exposure whose place is known, rising; at least two. */
  readonly ticks: readonly SetTick[];
  /** From tick to tick, in the picture plane. */
  readonly lengthMm: number;
  /** Feet that stand at some frame of the move. */
  readonly planted: readonly Planted[];
}

/** On less the ticks lie on one another: a gauge and the sheet's millimetres serve better than a drawing. */
export const leastArcMm = 6;

/**
 * The arcs of the sheet's parts over the moves of the shot, move by move. A part that stays within `leastArcMm` of its first place has
 * none there, and one that the puppet has no place for none at all.
 */
export function setArcs(plan: Plan): SetArc[] {
  const { timing, book, puppet } = plan;
  const doubtful = doubtfulArrivals(plan);
  return movesOf(timing).flatMap((frames) => {
    const [from, to] = [poseOnScreen(plan.poses, frames.firstFrame), poseOnScreen(plan.poses, frames.lastFrame)];
    const shown = framesShown(timing.exposures, frames);
    const planted = puppet.planted.filter(
      (p) => p.firstFrame <= frames.lastFrame && p.firstFrame + p.frames > frames.firstFrame,
    );
    if (!from || !to) return [];
    return book.sheetJoints.flatMap((joint): SetArc[] => {
      const path = puppet.paths.get(joint);
      if (!path) return [];
      const at = (frame: number): SetPoint => ({ frame, xMm: path.xMm[frame]!, yMm: path.yMm[frame]! });
      const ticks = shown
        .map((frame) => ({ ...at(frame), isDoubtful: path.guessed[frame] === 1 || doubtful.has(`${joint} ${frame}`) }))
        .filter(isKnown);
      const lengthMm = wayOf(ticks);
      if (!(farthestOf(ticks) >= Math.max(leastArcMm, timing.choices.smallestStepMm))) return [];
      const all = Array.from({ length: frames.lastFrame - frames.firstFrame + 1 }, (_, i) => at(frames.firstFrame + i));
      return [{ joint, frames, from, to, runs: knownRuns(all), ticks, lengthMm, planted }];
    });
  });
}

/** Where the way to an exposure is a guess: the part was hidden, or moves toward or away from the lens. "joint frame" each. */
export function doubtfulArrivals({ moves, timing }: Plan): ReadonlySet<string> {
  return new Set(
    moves.filter((m) => m.outOfPlane || m.guessed).map((m) => `${m.joint} ${timing.exposures[m.exposure]?.firstFrame}`),
  );
}

function isKnown({ xMm, yMm }: SetPoint): boolean {
  return Number.isFinite(xMm + yMm);
}

/** How far it gets from where it begins; −∞ without a place. */
function farthestOf(points: readonly SetPoint[]): number {
  return Math.max(...points.map((p) => Math.hypot(p.xMm - points[0]!.xMm, p.yMm - points[0]!.yMm)));
}

function wayOf(points: readonly SetPoint[]): number {
  return points.slice(1).reduce((sum, p, i) => sum + Math.hypot(p.xMm - points[i]!.xMm, p.yMm - points[i]!.yMm), 0);
}

function knownRuns(points: readonly SetPoint[]): SetPoint[][] {
  const runs: SetPoint[][] = [[]];
  for (const point of points) {
    if (isKnown(point)) runs.at(-1)!.push(point);
    else if (runs.at(-1)!.length > 0) runs.push([]);
  }
  return runs.filter((run) => run.length > 1);
}
