import type { Joint } from '../base/joints.ts';
import { filmedPath, type SpacedPath } from '../timing/spacedPath.ts';
import { type MoveFrames, movesOf, type SpacingChart, spacingOfMove } from '../timing/spacingChart.ts';
import { stepSdOf } from '../track/motion.ts';
import type { Plan } from './plan.ts';
import { type Pose, poseOnScreen } from './poses.ts';
import { doubtfulArrivals } from './setArcs.ts';

/** One step of a part on the set, from the exposure before. */
export interface SetStep {
  /** First frame of the exposure that it leads to, from 0. */
  readonly frame: number;
  /** Millimetres, a whole number of tenths; what rounding leaves is carried, so that all steps add up to the way. */
  readonly mm: number;
  /** True where the place is a guess: the part was hidden, or moves toward or away from the lens. */
  readonly isDoubtful: boolean;
}

/** How one part of the puppet is spaced over the part's own share of a move. */
export interface SetSpacing {
  readonly joint: Joint;
  readonly from: Pose | null;
  readonly to: Pose | null;
  /** Fractions of the puppet's way, with the charts that it comes near. */
  readonly chart: SpacingChart;
  /** One for each exposure after the first; at least two. */
  readonly steps: readonly SetStep[];
  /** What the steps add up to, millimetres in whole tenths. */
  readonly lengthMm: number;
}

/**
 * The spacing of the sheet's parts over the moves of the shot, move by move, measured on the puppet. A part that hardly moves, as a
 * standing foot, has none there; one that the puppet has no place for is measured on the performer.
 */
export function setSpacings(plan: Plan): SetSpacing[] {
  const { timing, book } = plan;
  const doubtful = doubtfulArrivals(plan);
  const paths = new Map(book.sheetJoints.map((joint) => [joint, pathOnSet(plan, joint)]));
  return movesOf(timing).flatMap((move: MoveFrames) =>
    [...paths].flatMap(([joint, path]): SetSpacing[] => {
      const chart = spacingOfMove(timing, joint, move, path);
      if (typeof chart === 'string') return [];
      const ways = chart.ticks.map((tick) => inTenths(tick.fraction * chart.lengthMm));
      const steps = chart.ticks.slice(1).map(({ frame }, i) => ({
        frame,
        mm: inTenths(ways[i + 1]! - ways[i]!),
        isDoubtful: path?.guessed[frame] === 1 || doubtful.has(`${joint} ${frame}`),
      }));
      const [from, to] = [chart.frames.firstFrame, chart.frames.lastFrame].map((k) => poseOnScreen(plan.poses, k));
      return [{ joint, from: from ?? null, to: to ?? null, chart, steps, lengthMm: ways.at(-1)! }];
    }),
  );
}

/** A part's way on the set, millimetres; null where nothing is known of it. */
function pathOnSet({ timing, puppet }: Plan, joint: Joint): SpacedPath | null {
  const own = puppet.paths.get(joint);
  if (!own) return filmedPath(timing, joint);
  return {
    mmPerUnit: 1,
    between: (a, b) => Math.hypot(own.xMm[b]! - own.xMm[a]!, own.yMm[b]! - own.yMm[a]!),
    stepSd: (a, b) => stepSdOf(timing.motion, joint, a, b) * puppet.mmPerPx,
    guessed: own.guessed,
  };
}

/** Rounded to what a rule or a gauge shows. */
function inTenths(mm: number): number {
  return Math.round(mm * 10) / 10;
}
