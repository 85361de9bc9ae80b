import { isProp, type Part } from '../base/joints.ts';
import { type SizeUnit, sizeUnitOf } from '../timing/sizeUnit.ts';
import { filmedPath, type SpacedPath } from '../timing/spacedPath.ts';
import { type MoveFrames, movesOf, type SpacingChart, spacingOfMove } from '../timing/spacingChart.ts';
import { stepSdOf } from '../track/motion.ts';
import type { Plan } from './plan.ts';
import { type Pose, poseOnScreen } from './poses.ts';
import { doubtfulArrivals } from './setArcs.ts';
import { sheetParts } from './sheetParts.ts';

/** One step of a part on the set, from the exposure before. */
export interface SetStep {
  /** First frame of the exposure that it leads to, from 0. */
  readonly frame: number;
  /** In the spacing's unit, a whole number of tenths; what rounding leaves is carried, so that all steps add up to the way. */
  readonly amount: number;
  /** True where the place is a guess: the part was hidden, or moves toward or away from the lens. */
  readonly isDoubtful: boolean;
}

/** How one part of the puppet (or a marked point, where nobody was seen) is spaced over the part's own share of a move. */
export interface SetSpacing {
  readonly part: Part;
  /** Millimetres on the set; pixels of the picture where nothing tells how large things are. */
  readonly unit: SizeUnit['name'];
  readonly from: Pose | null;
  readonly to: Pose | null;
  /** Fractions of the puppet's way, with the charts that it comes near. */
  readonly chart: SpacingChart;
  /** One for each exposure after the first; at least two. */
  readonly steps: readonly SetStep[];
  /** What the steps add up to, whole tenths. */
  readonly length: number;
}

/**
 * The spacing of the sheet's parts over the moves of the shot, move by move, measured on the puppet. A part that hardly moves, as a
 * standing foot, has none there; one that the puppet has no place for is measured on what was filmed.
 */
export function setSpacings(plan: Plan): SetSpacing[] {
  const { timing } = plan;
  const unit = sizeUnitOf(timing).name;
  const doubtful = doubtfulArrivals(plan);
  const paths = new Map(sheetParts(plan).map((part) => [part, pathOnSet(plan, part)]));
  return movesOf(timing).flatMap((move: MoveFrames) =>
    [...paths].flatMap(([part, path]): SetSpacing[] => {
      const chart = spacingOfMove(timing, part, move, path);
      if (typeof chart === 'string') return [];
      const ways = chart.ticks.map((tick) => inTenths(tick.fraction * (unit === 'mm' ? chart.lengthMm : chart.length)));
      const steps = chart.ticks.slice(1).map(({ frame }, i) => ({
        frame,
        amount: inTenths(ways[i + 1]! - ways[i]!),
        isDoubtful: path?.guessed[frame] === 1 || doubtful.has(`${part} ${frame}`),
      }));
      const [from, to] = [chart.frames.firstFrame, chart.frames.lastFrame].map((k) => poseOnScreen(plan.poses, k));
      return [{ part, unit, from: from ?? null, to: to ?? null, chart, steps, length: ways.at(-1)! }];
    }),
  );
}

/** A part's way on the set; null where nothing is known of it. */
function pathOnSet({ timing, puppet }: Plan, part: Part): SpacedPath | null {
  const own = isProp(part) ? undefined : puppet.paths.get(part);
  if (!own) return filmedPath(timing, part);
  return {
    mmPerUnit: 1,
    between: (a, b) => Math.hypot(own.xMm[b]! - own.xMm[a]!, own.yMm[b]! - own.yMm[a]!),
    stepSd: (a, b) => stepSdOf(timing.motion, part, a, b) * puppet.mmPerPx,
    guessed: own.guessed,
  };
}

/** Rounded to what a rule or a gauge shows. */
function inTenths(length: number): number {
  return Math.round(length * 10) / 10;
}
