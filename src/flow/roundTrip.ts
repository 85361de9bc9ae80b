import type { Pyramid } from './pyramid.ts';
import { type FlowOptions, type MoveGuess, type PointMoves, trackPoints, usualFlow } from './trackPoints.ts';

/** Moves with the way back. Every column has the shape [point]. */
export interface CheckedMoves extends PointMoves {
  /**
   * Distance between a point's place and where the way back from its end leads, pixels. NaN when lost on either way. A
   * rightly matched point comes home to within a fraction of a pixel; a covered one comes home elsewhere.
   */
  readonly roundTripPx: Float64Array;
}

/**
 * Follows points from one picture to another and back again (forward–backward error: Kalal, Mikolajczyk & Matas 2010).
 *
 * The way back is a search of its own: it does not start from what the way there found, only from the reverse of the
 * caller's guess. Parameters as in `trackPoints`.
 */
export function roundTrip(
  from: Pyramid,
  to: Pyramid,
  xPx: ArrayLike<number>,
  yPx: ArrayLike<number>,
  options: FlowOptions = usualFlow,
  guess?: MoveGuess,
): CheckedMoves {
  const there = trackPoints(from, to, xPx, yPx, options, guess);
  const back = trackPoints(
    to,
    from,
    there.dxPx.map((d, p) => xPx[p]! + d),
    there.dyPx.map((d, p) => yPx[p]! + d),
    options,
    guess && { dxPx: reversed(guess.dxPx), dyPx: reversed(guess.dyPx) },
  );
  const roundTripPx = there.dxPx.map((d, p) => Math.hypot(d + back.dxPx[p]!, there.dyPx[p]! + back.dyPx[p]!));
  return { ...there, roundTripPx };
}

function reversed(values: ArrayLike<number>): Float64Array {
  return Float64Array.from(values, (v) => -v);
}
