/** One marked point, carried through many pictures, forward or backward: on a prop, a tail, a puppet. */
import { assert } from '../base/assert.ts';
import type { WhyLost } from '../base/whyLost.ts';
import { Look } from './look.ts';
import type { Pyramid } from './pyramid.ts';
import { roundTrip } from './roundTrip.ts';
import { type FlowOptions, isInside, usualFlow } from './trackPoints.ts';

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

/** A single point wants a larger window than one of many; on a smooth thing, one that holds its outline. */
export const usualFollow: FlowOptions = { ...usualFlow, windowPx: 21 };

/** A point that comes home farther away than this was matched to something else, pixels. */
const roundTripPx = 1;
/** A remembered look may move the point by this much (and its doubt) from where the last step led, pixels. */
const mostMendedPx = 2;
/** A search that steps over the picture is off by this much at most, pixels. */
const mostSoughtPx = 6;
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
/** One match with the look errs by a twentieth of a pixel at best, by comparison with known shifts of noisy pictures. */
const matchPx = 0.05;
/**
 * And by more where it fits worse than it did from picture to picture: pixels for a misfit as large as the look's contrast.
 * A rod that turns before a wall, and textures that changed into others while they moved, led matches astray by one to two
 * such pixels.
 */
const misfitPx = 2;
/** Differences after a match are no independent noise (shading, coding): the fit's own doubt counts this many times. */
const noiseTimes = 6;
/** A look remembered anew may hold some of what is beside the thing; on filmed heads and wrists, one to a few pixels. */
const renewedPx = 1;
/**
 * A thing that bends or turns away needs another look now and then; one that slips behind an edge, in every picture. So a
 * look is remembered anew at most this often before a pause of as many times `restPictures` pictures.
 */
const mostHaste = 1.7;
const restPictures = 8;
/** With a standard deviation above this part of the window, the window no longer is about the point: ask. */
const mostDoubt = 1 / 8;

/**
 * Follows one point. Each picture is matched with the one before, there and back, and then with the remembered look: the
 * point's surroundings where it was marked, turned and grown. So errors do not add up, however many pictures pass. When the
 * surroundings no longer look like that (they turned out of the picture's plane, bent, are lit otherwise) but went there
 * smoothly, they are remembered anew; from then on the standard deviation holds what crept in until then, and the point is
 * given up when that is too much. The marked look is looked for all along, and when it comes back, all is as at the mark.
 */
export class PointFollower {
  readonly #options: FlowOptions;
  #point: FollowedPoint = { xPx: Number.NaN, yPx: Number.NaN, sdPx: Number.NaN, lost: 'no-texture' };
  /** The look that was marked, and the one remembered last when that is another. */
  #marked: Remembered | null = null;
  #renewed: Remembered | null = null;
  #usualResidual = firstResidual;
  /** Looks remembered anew lately. */
  #haste = 0;
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
    this.#marked = this.#remember(picture, xPx, yPx, 0, unturned);
    this.#renewed = null;
    this.#usualResidual = firstResidual;
    this.#haste = 0;
    this.#lastX = 0;
    this.#lastY = 0;
  }

  /**
   * Follows the point from the picture where it is to the next one (or the one before: any direction). A lost point stays
   * lost until it is marked again.
   */
  step(from: Pyramid, to: Pyramid): FollowedPoint {
    const { xPx, yPx, sdPx, lost } = this.#point;
    const marked = this.#marked;
    if (lost !== null || marked === null) return this.#point;
    const moves = this.#move(from, to, xPx, yPx);
    const [dx, dy, residual] = [moves.dxPx[0]!, moves.dyPx[0]!, moves.residual[0]!];
    if (!(moves.roundTripPx[0]! <= roundTripPx)) return this.#giveUp(this.#reason(from, xPx, yPx, moves.minEigen[0]!));
    const { contrast } = (this.#renewed ?? marked).look;
    if (residual > alikeNext * contrast + usualTimes * this.#usualResidual) return this.#giveUp('covered');

    const [x, y] = [xPx + dx, yPx + dy];
    const renewed = this.#renewed;
    let seen = renewed && this.#recognise(renewed, to, x, y, mostMendedPx, renewed.turn);
    const turn = renewed ? times(renewed.before, renewed.turn) : marked.turn;
    const again = this.#recognise(marked, to, seen?.xPx ?? x, seen?.yPx ?? y, mostMendedPx + sdPx, turn);
    if (again) {
      seen = again;
      this.#renewed = null;
    }
    this.#haste = Math.max(0, this.#haste - 1 / restPictures);
    if (!seen) {
      this.#haste++;
      if (this.#haste > mostHaste) return this.#giveUp('covered');
      const variance = sdPx ** 2 + renewedPx ** 2 + (moves.roundTripPx[0]! / 2) ** 2;
      this.#renewed = this.#remember(to, x, y, variance, turn);
      seen = { xPx: x, yPx: y, sdPx: Math.sqrt(variance), lost: null };
    }
    if (seen.sdPx > mostDoubt * this.#options.windowPx) return this.#giveUp('changed');
    this.#usualResidual += (residual - this.#usualResidual) / 8;
    this.#lastX = seen.xPx - xPx;
    this.#lastY = seen.yPx - yPx;
    this.#point = seen;
    return seen;
  }

  /**
   * Looks for the point near a place where something like it was seen, and follows it from there when it is the look that was
   * marked or remembered. For a point that was lost, or that another one knows better. Null, and nothing changed, if not.
   */
  seek(to: Pyramid, xPx: number, yPx: number): FollowedPoint | null {
    const [marked, renewed] = [this.#marked, this.#renewed];
    if (marked === null) return null;
    const turn = renewed ? times(renewed.before, renewed.turn) : marked.turn;
    const known = this.#recognise(marked, to, xPx, yPx, mostSoughtPx, turn);
    const seen = known ?? (renewed && this.#recognise(renewed, to, xPx, yPx, mostSoughtPx, renewed.turn));
    if (!seen || seen.sdPx > mostDoubt * this.#options.windowPx) return null;
    if (known) this.#renewed = null;
    this.#haste = 0;
    this.#lastX = 0;
    this.#lastY = 0;
    this.#point = seen;
    return seen;
  }

  /** There and back, from rest; if that fails, from going on as before. */
  #move(from: Pyramid, to: Pyramid, xPx: number, yPx: number) {
    const moves = roundTrip(from, to, [xPx], [yPx], this.#options);
    if (moves.roundTripPx[0]! <= roundTripPx) return moves;
    const on = roundTrip(from, to, [xPx], [yPx], this.#options, { dxPx: [this.#lastX], dyPx: [this.#lastY] });
    return on.roundTripPx[0]! <= roundTripPx ? on : moves;
  }

  #reason(picture: Pyramid, xPx: number, yPx: number, minEigen: number): WhyLost {
    // A window is followed until it is more than half outside, so going on as before tells.
    if (!isInside(picture, xPx + this.#lastX, yPx + this.#lastY)) return 'left-picture';
    return minEigen >= this.#options.minEigen ? 'covered' : 'no-texture';
  }

  #giveUp(lost: WhyLost): FollowedPoint {
    this.#point = { xPx: Number.NaN, yPx: Number.NaN, sdPx: Number.NaN, lost };
    return this.#point;
  }

  /** Where a remembered look is, close to a place; null when it is not there or no longer the same. */
  #recognise(known: Remembered, to: Pyramid, x: number, y: number, mendPx: number, turn: Turn): FollowedPoint | null {
    const { look } = known;
    const seen = look.find(to, x, y, ...turn);
    if (!seen || Math.hypot(seen.xPx - x, seen.yPx - y) > mendPx || !isInside(to, seen.xPx, seen.yPx)) return null;
    if (seen.residual > alikeRemembered * look.contrast + usualTimes * this.#usualResidual) return null;
    known.turn = [seen.turnX, seen.turnY];
    const misfit = (misfitPx * Math.max(0, seen.residual - this.#usualResidual)) / look.contrast;
    const sdPx = Math.sqrt(known.variance + matchPx ** 2 + misfit ** 2 + (noiseTimes * seen.noisePx) ** 2);
    return { xPx: seen.xPx, yPx: seen.yPx, sdPx, lost: null };
  }

  #remember(picture: Pyramid, xPx: number, yPx: number, variance: number, before: Turn): Remembered {
    return { look: new Look(picture, xPx, yPx, this.#options.windowPx), variance, before, turn: unturned };
  }
}

/** Turn and growth as a complex number; see `FoundLook`. */
type Turn = readonly [number, number];

const unturned: Turn = [1, 0];

/** One turn after another. */
function times([ax, ay]: Turn, [bx, by]: Turn): Turn {
  return [ax * bx - ay * by, ax * by + ay * bx];
}

interface Remembered {
  readonly look: Look;
  /** Variance of its place as against the mark. */
  readonly variance: number;
  /** How the marked look was turned when this one was remembered. */
  readonly before: Turn;
  /** How this one was turned where it was seen last. */
  turn: Turn;
}
