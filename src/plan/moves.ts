import { present } from '../base/assert.ts';
import type { Joint } from '../base/joints.ts';
import { stepsOf } from '../timing/spacing.ts';
import type { Timing } from '../timing/timing.ts';
import type { Doubt } from '../track/motion.ts';
import { heldExposures } from './poses.ts';

/**
 * How far a joint goes from the exposure before to this one, measured in the picture plane on the fitted path (never as
 * a difference of raw sightings). NaN in a number = nothing can be said, since the joint is not known in one of both.
 */
export interface Move {
  /** Index of the exposure that the joint arrives in; at least 1. */
  readonly exposure: number;
  readonly joint: Joint;
  /** Multiples of the performer's standing height. */
  readonly distanceBody: number;
  /** Millimetres on the puppet. */
  readonly distanceMm: number;
  /** Where to, degrees clockwise from straight up on the screen, 0 ≤ d < 360 (90 = to the right). NaN without a distance. */
  readonly directionDeg: number;
  /** Standard deviation of the distance, puppet millimetres; the errors of both positions go together, which is counted in. */
  readonly sdMm: number;
  /**
   * What the hand is asked to do: a multiple of the printed step; 0 = leave it. Remainders are carried, see `planMoves`.
   */
  readonly roundedMm: number;
  /** Direction of `roundedMm`: from where the hand last put the joint, which a hold leaves behind the path. NaN when 0. */
  readonly nudgeDeg: number;
  /** True where the joint also travels toward or away from the lens, so that the millimetres understate the move. */
  readonly outOfPlane: boolean;
  /** True where one of both positions is filled in rather than seen. */
  readonly guessed: boolean;
}

/** The steps in which moves are printed, millimetres: what a ruler or gauge shows. */
const printedSteps = [0.1, 0.2, 0.5, 1, 2, 5] as const;

/**
 * The step that printed moves are rounded to: the smallest of 0.1, 0.2, 0.5, 1, 2, 5 mm that is not below what the hand
 * can place (0.3 mm → 0.5 mm; common practice, no source). Above 5 mm the hand's own step.
 */
export function printedStepMm(smallestStepMm: number): number {
  return printedSteps.find((s) => s >= smallestStepMm - 1e-9) ?? smallestStepMm;
}

/** Direction of a displacement in picture pixels (y down), degrees clockwise from up, 0 ≤ d < 360. NaN for no displacement. */
export function directionOf(dx: number, dy: number): number {
  if (!(Math.hypot(dx, dy) > 1e-12)) return Number.NaN;
  return ((Math.atan2(dx, -dy) * 180) / Math.PI + 360) % 360;
}

/** The hour on a clock face that a direction points to, 1 to 12 (12 = up, 3 = right). NaN for NaN. */
export function clockHour(directionDeg: number): number {
  const hour = Math.round(directionDeg / 30) % 12;
  return hour === 0 ? 12 : hour;
}

/** What the hand does at one exposure. */
interface Placing {
  readonly roundedMm: number;
  readonly nudgeDeg: number;
}

/**
 * Rounds a joint's path to steps that a hand can place.
 *
 * What is owed at an exposure is the distance from where the hand last put the joint, plus the remainder of the earlier
 * roundings. It is rounded to the step; less than half a step is left and stays owed. Therefore
 * - on a move whose steps are at least one printed step each the sums of rounded and true distances never part by more
 *   than half a step, whatever the path's shape, and neither do they on a straight move of any step size;
 * - a joint that only trembles about its place is never touched, since trembling does not add up;
 * - in a held exposure nothing is touched, and what is owed then is due at the next move.
 *
 * @param xPx Position at each exposure, NaN = unknown: its move is NaN and the account starts anew. Shape [exposure].
 * @param held Shape [exposure].
 * @returns Shape [exposure]; entry 0 is the start, NaN.
 */
export function roundPath(
  xPx: ArrayLike<number>,
  yPx: ArrayLike<number>,
  held: readonly boolean[],
  mmPerPx: number,
  stepMm: number,
): Placing[] {
  const placings: Placing[] = [];
  let placedX = Number.NaN;
  let placedY = Number.NaN;
  let carriedMm = 0;
  for (let i = 0; i < xPx.length; i++) {
    const x = xPx[i]!;
    const y = yPx[i]!;
    const distanceMm = Math.hypot(x - placedX, y - placedY) * mmPerPx;
    if (!Number.isFinite(distanceMm)) {
      placings.push({ roundedMm: Number.NaN, nudgeDeg: Number.NaN });
      placedX = x;
      placedY = y;
      carriedMm = 0;
      continue;
    }
    const owedMm = carriedMm + distanceMm;
    const steps = held[i] ? 0 : Math.max(0, Math.round(owedMm / stepMm));
    if (steps === 0) {
      placings.push({ roundedMm: 0, nudgeDeg: Number.NaN });
      continue;
    }
    // Rounded once more, since 3 × 0.1 is not 0.3 in a double and the number is printed.
    const roundedMm = Math.round(steps * stepMm * 1e6) / 1e6;
    placings.push({ roundedMm, nudgeDeg: directionOf(x - placedX, y - placedY) });
    carriedMm = owedMm - roundedMm;
    placedX = x;
    placedY = y;
  }
  return placings;
}

/** All moves of a shot: exposures from 1 on, for each the joints in `timing.joints` order. */
export function planMoves(timing: Timing, doubts: readonly Doubt[]): Move[] {
  const { exposures, motion, mmPerPx, choices, takeTimeSec } = timing;
  const held = heldExposures(timing);
  const stepMm = printedStepMm(choices.smallestStepMm);
  const frames = exposures.map((e) => e.firstFrame);
  const byJoint = timing.joints.map((joint) => {
    const path = present(motion.paths.get(joint), `path of ${joint}`);
    const x = frames.map((f) => path.xPx[f]!);
    const y = frames.map((f) => path.yPx[f]!);
    return { joint, steps: stepsOf(timing, joint), placings: roundPath(x, y, held, mmPerPx, stepMm) };
  });
  const moves: Move[] = [];
  for (let i = 1; i < exposures.length; i++) {
    for (const { joint, steps, placings } of byJoint) {
      const step = present(steps[i - 1], `step to exposure ${i}`);
      const { roundedMm, nudgeDeg } = present(placings[i], `placing at exposure ${i}`);
      moves.push({
        exposure: i,
        joint,
        distanceBody: step.distance,
        distanceMm: step.distanceMm,
        directionDeg: directionOf(step.dxPx, step.dyPx),
        sdMm: step.sdMm,
        roundedMm,
        nudgeDeg,
        outOfPlane: isDoubted(doubts, 'out-of-plane', joint, takeTimeSec[frames[i - 1]!]!, takeTimeSec[frames[i]!]!),
        guessed: step.guessed,
      });
    }
  }
  return moves;
}

/** Does a doubt of this kind about the joint (or the whole body) touch the span, take seconds in any order? */
export function isDoubted(
  doubts: readonly Doubt[],
  code: Doubt['code'],
  joint: Joint,
  oneSec: number,
  otherSec: number,
): boolean {
  const start = Math.min(oneSec, otherSec);
  const end = Math.max(oneSec, otherSec);
  return doubts.some(
    (d) => d.code === code && (d.joint === null || d.joint === joint) && d.startSec <= end && d.endSec >= start,
  );
}
