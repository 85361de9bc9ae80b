import { present } from '../base/assert.ts';
import { isProp, type Part } from '../base/joints.ts';
import type { PuppetMotion } from '../puppet/puppetMotion.ts';
import { sizeUnitOf } from '../timing/sizeUnit.ts';
import { stepsOf } from '../timing/spacing.ts';
import type { Timing } from '../timing/timing.ts';
import type { Doubt } from '../track/motion.ts';
import { heldExposures } from './poses.ts';
import { movingParts } from './sheetParts.ts';

/**
 * How far a joint of the puppet (or a marked point, where nobody was seen) goes from the exposure before to this one, measured in the picture plane on the fitted path (never
 * as a difference of raw sightings). NaN in a number = nothing can be said, since the joint is not known in one of both.
 */
export interface Move {
  /** Index of the exposure that the joint arrives in; at least 1. */
  readonly exposure: number;
  readonly joint: Part;
  /** Multiples of the performer's standing height; NaN where nothing tells how large things are. */
  readonly distanceBody: number;
  /** Millimetres on the puppet; NaN where nothing tells how large things are: see `px`. */
  readonly distanceMm: number;
  /** Where to, degrees clockwise from straight up on the screen, 0 ≤ d < 360 (90 = to the right). NaN without a distance. */
  readonly directionDeg: number;
  /** Standard deviation of the distance, puppet millimetres; the errors of both positions go together, which is counted in. */
  readonly sdMm: number;
  /**
   * What the hand is asked to do: a multiple of the printed step; 0 = leave it. Remainders are carried, see `planMoves`.
   */
  readonly roundedMm: number;
  /** The same in picture pixels where there are no millimetres; null where there are. */
  readonly px: { readonly distance: number; readonly rounded: number; readonly sd: number } | null;
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

/** Where the puppet was found to stand otherwise than was asked: moves lead up to what was asked, and on from where it is. */
export interface FoundStanding {
  /** What was asked in every frame. */
  readonly asked: PuppetMotion;
  /** Exposures, from 0. */
  readonly at: ReadonlySet<number>;
}

/** Where a joint stands at exposures at which it is not where it was to be. */
export type StandsAt = ReadonlyMap<number, readonly [x: number, y: number]>;

/**
 * Rounds a joint's path to steps that a hand can place.
 *
 * What is owed at an exposure is the way since the hand last put the joint, plus the remainder of the earlier roundings. It
 * is rounded to the step; less than half a step is left and stays owed. Therefore
 * - over any move the sums of rounded and true distances never part by more than half a step, whatever the path's shape and
 *   however small its steps are;
 * - a joint that only trembles about its place is never touched: a way that leads nowhere (less than half as far as it is long) is
 *   no move, and is not owed;
 * - where the puppet was found to stand, the account starts anew from there;
 * - in a held exposure nothing is touched, and what is owed then is due at the next move.
 *
 * @param xMm Position at each exposure, NaN = unknown: its move is NaN and the account starts anew. Shape [exposure].
 * @param held Shape [exposure].
 * @param stands where it was found after moves that led elsewhere.
 * @returns Shape [exposure]; entry 0 is the start, NaN.
 */
export function roundPath(
  xMm: ArrayLike<number>,
  yMm: ArrayLike<number>,
  held: readonly boolean[],
  stepMm: number,
  stands: StandsAt = new Map(),
): Placing[] {
  const placings: Placing[] = [];
  let placedX = Number.NaN;
  let placedY = Number.NaN;
  let carriedMm = 0;
  /** The way since the joint was put where it is. */
  let wayMm = 0;
  for (let i = 0; i < xMm.length; i++) {
    const [x, y] = [xMm[i]!, yMm[i]!];
    const [x0, y0] = stands.get(i - 1) ?? [xMm[i - 1]!, yMm[i - 1]!];
    placings.push(place(i, x, y, i === 0 ? 0 : Math.hypot(x - x0, y - y0)));
    const found = stands.get(i);
    if (!found) continue;
    [placedX, placedY] = found;
    [carriedMm, wayMm] = [0, 0];
  }
  return placings;

  function place(i: number, x: number, y: number, stepWayMm: number): Placing {
    const awayMm = Math.hypot(x - placedX, y - placedY);
    wayMm += stepWayMm;
    if (!Number.isFinite(awayMm)) {
      [placedX, placedY] = [x, y];
      [carriedMm, wayMm] = [0, 0];
      return { roundedMm: Number.NaN, nudgeDeg: Number.NaN };
    }
    if (awayMm < leadsNowhere * wayMm) wayMm = awayMm;
    const owedMm = carriedMm + wayMm;
    const steps = held[i] ? 0 : Math.max(0, Math.round(owedMm / stepMm));
    if (steps === 0) return { roundedMm: 0, nudgeDeg: Number.NaN };
    // Rounded once more, since 3 × 0.1 is not 0.3 in a double and the number is printed.
    const roundedMm = Math.round(steps * stepMm * 1e6) / 1e6;
    const nudgeDeg = directionOf(x - placedX, y - placedY);
    carriedMm = owedMm - roundedMm;
    [placedX, placedY] = [x, y];
    wayMm = 0;
    return { roundedMm, nudgeDeg };
  }
}

/** A way leads nowhere when its end is nearer to its beginning than this share of its length. */
const leadsNowhere = 0.5;

/** Without millimetres, moves are told in whole pixels. */
const leastPx = 1;

/**
 * All moves of a shot on the puppet: exposures from 1 on, for each the parts of `movingParts` in order. What the puppet has no place
 * for is measured on what was filmed, at the scale of the standing height.
 */
export function planMoves(
  timing: Timing,
  doubts: readonly Doubt[],
  puppet: PuppetMotion,
  standing: FoundStanding = { asked: puppet, at: new Set() },
): Move[] {
  const { exposures, motion, choices, takeTimeSec } = timing;
  const unit = sizeUnitOf(timing);
  const held = heldExposures(timing);
  const least = unit.name === 'mm' ? printedStepMm(choices.smallestStepMm) : leastPx;
  const frames = exposures.map((e) => e.firstFrame);
  const byJoint = movingParts({ timing }).map((joint) => {
    const own = isProp(joint) ? undefined : standing.asked.paths.get(joint);
    const filmed = present(motion.paths.get(joint), `path of ${joint}`);
    // Down as in the picture, which directions on a clock face are told by.
    const x = frames.map((f) => own?.xMm[f] ?? filmed.xPx[f]! * unit.perPx);
    const y = frames.map((f) => (own ? -own.yMm[f]! : filmed.yPx[f]! * unit.perPx));
    const found = own && !isProp(joint) ? puppet.paths.get(joint) : undefined;
    const stands: StandsAt = new Map(
      found ? [...standing.at].map((i) => [i, [found.xMm[frames[i]!]!, -found.yMm[frames[i]!]!] as const]) : [],
    );
    return { joint, x, y, stands, steps: stepsOf(timing, joint), placings: roundPath(x, y, held, least, stands) };
  });
  const moves: Move[] = [];
  for (let i = 1; i < exposures.length; i++) {
    for (const { joint, x, y, stands, steps, placings } of byJoint) {
      const step = present(steps[i - 1], `step to exposure ${i}`);
      const { roundedMm: rounded, nudgeDeg } = present(placings[i], `placing at exposure ${i}`);
      const [x0, y0] = stands.get(i - 1) ?? [x[i - 1]!, y[i - 1]!];
      const [dx, dy] = [x[i]! - x0, y[i]! - y0];
      const distance = Math.hypot(dx, dy);
      const isMm = unit.name === 'mm';
      moves.push({
        exposure: i,
        joint,
        distanceBody: isMm ? step.distance : Number.NaN,
        distanceMm: isMm ? distance : Number.NaN,
        directionDeg: directionOf(dx, dy),
        sdMm: step.sdMm,
        roundedMm: isMm ? rounded : Number.NaN,
        px: isMm ? null : { distance, rounded, sd: step.sdPx },
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
  joint: Part,
  oneSec: number,
  otherSec: number,
): boolean {
  const start = Math.min(oneSec, otherSec);
  const end = Math.max(oneSec, otherSec);
  return doubts.some(
    (d) => d.code === code && (d.joint === null || d.joint === joint) && d.startSec <= end && d.endSec >= start,
  );
}
