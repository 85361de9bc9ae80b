/** One marked point, carried through many pictures, forward or backward: on a prop, a tail, a puppet. */
import { assert } from '../base/assert.ts';
import { type FoundLook, Look } from './look.ts';
import type { Pyramid } from './pyramid.ts';
import { roundTrip } from './roundTrip.ts';
import { type FlowOptions, isInside, usualFlow } from './trackPoints.ts';

/**
 * Why a point was given up: it left the picture; there is nothing to hold on to (flat, or one straight edge); the next
 * picture shows something else there (covered, blurred away, too fast).
 */
export type WhyLost = 'left-picture' | 'no-texture' | 'covered';

/** Where a followed point is. */
export interface FollowedPoint {
  /** Pixels from the top-left corner. NaN when lost. */
  readonly xPx: number;
  readonly yPx: number;
  /** Standard deviation along one axis, pixels, as against the marked point. It grows while the look changes. NaN when lost. */
  readonly sdPx: number;
  /** Null while it is followed. */
  readonly lost: WhyLost | null;
}

/** A small point wants a larger window than one of many around a joint. */
export const usualFollow: FlowOptions = { ...usualFlow, windowPx: 21 };

/** A point that comes home farther away than this was matched to something else, pixels. */
const roundTripPx = 1;
/** The remembered look may move the point by this much from where the last step led, pixels; more is another place. */
const mostMendedPx = 2;
/**
 * Differences that still are the same look, as parts of the look's contrast (its mean absolute deviation): from one
 * picture to the next, and from the remembered look. A shift by half a wave would give 1 and more.
 */
const alikeNext = 0.3;
const alikeRemembered = 0.3;
/** Sensor noise and coding are taken to differ by this much until the point's own steps have told, units of brightness. */
const firstResidual = 3;
/** Of the usual difference between pictures, this many times is still usual. */
const usualTimes = 2;
/** One match with the look errs by a twentieth of a pixel, by comparison with known shifts of noisy pictures. */
const matchPx = 0.05;
/**
 * And by more where it fits worse than noise explains: pixels for a misfit as large as the look's contrast. Made textures
 * that changed into others while they moved led the match astray by one to two such pixels.
 */
const misfitPx = 2;
/** A step that the look could not mend errs by more: it takes a turn for a shift in part. */
const stepPx = 0.2;

/**
 * Follows one point. Each picture is matched with the one before, there and back, and then with the remembered look: the
 * point's surroundings where it was marked, turned and grown. So errors do not add up, however many pictures pass. When the
 * surroundings no longer look like that (they turned out of the picture's plane, bent, are lit otherwise) but went there
 * smoothly, they are remembered anew; from then on the standard deviation holds what crept in until then.
 */
export class PointFollower {
  readonly #options: FlowOptions;
  #point: FollowedPoint = { xPx: Number.NaN, yPx: Number.NaN, sdPx: Number.NaN, lost: 'no-texture' };
  #look: Look | null = null;
  /** How the look was turned and grown where it was recognised last; see `FoundLook`. */
  #turnX = 1;
  #turnY = 0;
  /** Variance of the remembered look's place as against the mark: 0 for the look that was marked. */
  #lookVariance = 0;
  #usualResidual = firstResidual;
  #lastX = 0;
  #lastY = 0;

  /** Marks the point in a picture; it is followed from there. */
  constructor(picture: Pyramid, xPx: number, yPx: number, options: FlowOptions = usualFollow) {
    this.#options = options;
    this.mark(picture, xPx, yPx);
  }

  /** Where the point is in the picture that was marked or stepped to last. */
  get point(): FollowedPoint {
    return this.#point;
  }

  /** Marks the point anew, for instance after it was lost. The place itself is exact: it is what the point is. */
  mark(picture: Pyramid, xPx: number, yPx: number): void {
    assert(isInside(picture, xPx, yPx), `mark at ${xPx}, ${yPx} outside the picture`);
    this.#point = { xPx, yPx, sdPx: 0, lost: null };
    this.#remember(picture, xPx, yPx);
    this.#lookVariance = 0;
    this.#usualResidual = firstResidual;
    this.#lastX = 0;
    this.#lastY = 0;
  }

  /**
   * Follows the point from the picture where it is to the next one (or the one before: any direction). A lost point stays
   * lost until it is marked again.
   */
  step(from: Pyramid, to: Pyramid): FollowedPoint {
    const { xPx, yPx, sdPx, lost } = this.#point;
    const look = this.#look;
    if (lost !== null || look === null) return this.#point;
    const moves = this.#move(from, to, xPx, yPx);
    const [dx, dy, residual] = [moves.dxPx[0]!, moves.dyPx[0]!, moves.residual[0]!];
    if (!(moves.roundTripPx[0]! <= roundTripPx)) return this.#giveUp(this.#reason(from, xPx, yPx, moves.minEigen[0]!));
    if (residual > alikeNext * look.contrast + usualTimes * this.#usualResidual) return this.#giveUp('covered');

    let [x, y] = [xPx + dx, yPx + dy];
    let misfit = 0;
    const seen = this.#recognise(look, to, x, y);
    if (seen) {
      [x, y] = [seen.xPx, seen.yPx];
      misfit = (misfitPx * Math.max(0, seen.residual - this.#usualResidual)) / look.contrast;
      this.#turnX = seen.turnX;
      this.#turnY = seen.turnY;
    } else {
      this.#remember(to, x, y);
      this.#lookVariance = sdPx ** 2 + stepPx ** 2 + (moves.roundTripPx[0]! / 2) ** 2;
    }
    this.#usualResidual += (residual - this.#usualResidual) / 8;
    this.#lastX = x - xPx;
    this.#lastY = y - yPx;
    this.#point = { xPx: x, yPx: y, sdPx: Math.sqrt(this.#lookVariance + matchPx ** 2 + misfit ** 2), lost: null };
    return this.#point;
  }

  /** There and back, from rest; if that fails, from going on as before. */
  #move(from: Pyramid, to: Pyramid, xPx: number, yPx: number) {
    const moves = roundTrip(from, to, [xPx], [yPx], this.#options);
    if (moves.roundTripPx[0]! <= roundTripPx) return moves;
    const on = roundTrip(from, to, [xPx], [yPx], this.#options, { dxPx: [this.#lastX], dyPx: [this.#lastY] });
    return on.roundTripPx[0]! <= roundTripPx ? on : moves;
  }

  #reason(picture: Pyramid, xPx: number, yPx: number, minEigen: number): WhyLost {
    // As far as it can see before the border: half a window, or going on as before.
    const half = this.#options.windowPx / 2;
    const [x, y] = [xPx + this.#lastX, yPx + this.#lastY];
    if (!isInside(picture, x, y)) return 'left-picture';
    const near = Math.min(x, y, picture.widthPx - x, picture.heightPx - y) < half;
    if (near && Math.hypot(this.#lastX, this.#lastY) > 1) return 'left-picture';
    return minEigen >= this.#options.minEigen ? 'covered' : 'no-texture';
  }

  #giveUp(lost: WhyLost): FollowedPoint {
    this.#point = { xPx: Number.NaN, yPx: Number.NaN, sdPx: Number.NaN, lost };
    return this.#point;
  }

  /** The remembered look, close to a place; null when it is not there or no longer the same. */
  #recognise(look: Look, to: Pyramid, xPx: number, yPx: number): FoundLook | null {
    const seen = look.find(to, xPx, yPx, this.#turnX, this.#turnY);
    if (!seen || Math.hypot(seen.xPx - xPx, seen.yPx - yPx) > mostMendedPx) return null;
    const same = seen.residual <= alikeRemembered * look.contrast + usualTimes * this.#usualResidual;
    return same && isInside(to, seen.xPx, seen.yPx) ? seen : null;
  }

  #remember(picture: Pyramid, xPx: number, yPx: number): void {
    this.#look = new Look(picture, xPx, yPx, this.#options.windowPx);
    this.#turnX = 1;
    this.#turnY = 0;
  }
}
