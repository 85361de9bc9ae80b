/**
 * Where points of one picture are in another: a small window around each is matched by brightness, coarse to fine, to a
 * fraction of a pixel (Lucas & Kanade 1981; pyramid: Bouguet 2000). The window is taken to shift without turning, which
 * holds well enough from one picture to the next. Places are pixels from the picture's top-left corner (see `pyramid.ts`).
 */
import { assert } from '../base/assert.ts';
import type { Pyramid } from './pyramid.ts';
import { type MatchOptions, WindowMatch } from './windowMatch.ts';

/** How points are followed. */
export interface FlowOptions extends MatchOptions {
  /** Pyramid levels used at most, the full size included. Moves up to about windowPx / 3 · 2^(levels − 1) are found. */
  readonly levels: number;
  /** A point whose window has less texture than this is lost; see `PointMoves.minEigen`. */
  readonly minEigen: number;
}

/**
 * What suits pictures of 480 to 1080 lines, from one to the next. A texture of 0.1 (brightness / px)² is where a picture
 * without any noise still gives an answer; noise of sd s adds about 0.2 s², so it does not stand in for texture's being
 * sufficient, which shows in residual and round trip.
 */
export const usualFlow: FlowOptions = {
  windowPx: 15,
  levels: 3,
  maxIterations: 20,
  epsilonPx: 0.01,
  minEigen: 0.1,
  ignoreBrightness: true,
};

/** How far points went from one picture to another. Every column has the shape [point]. */
export interface PointMoves {
  /** Pixels to the right. NaN = lost, then in dyPx and residual, too. */
  readonly dxPx: Float64Array;
  /** Pixels downward. */
  readonly dyPx: Float64Array;
  /**
   * Texture of the window at full size in its weakest direction: the smaller eigenvalue of the gradients' mean outer
   * product, (brightness / px)². NaN where the window was not in the pictures.
   */
  readonly minEigen: Float64Array;
  /** Mean absolute difference of brightness over the window after the match. */
  readonly residual: Float64Array;
}

/** Moves to start searching from, pixels. Shape [point]; NaN = none known, the search starts from rest. */
export interface MoveGuess {
  readonly dxPx: ArrayLike<number>;
  readonly dyPx: ArrayLike<number>;
}

/**
 * Follows points from one picture to another.
 *
 * Of a window that reaches over the border of either picture, the part inside both is used, so points near a border are
 * followed as well as their smaller window allows. A point is lost when its place is NaN or outside the picture, when it
 * ends outside, when less than three tenths of its window is inside, or when its texture is below `minEigen`. Levels too coarse
 * for the picture or for the window's texture are passed over.
 *
 * @param xPx Places in `from`. Shape [point].
 * @param guess Where to look first; the search goes through all levels all the same.
 */
export function trackPoints(
  from: Pyramid,
  to: Pyramid,
  xPx: ArrayLike<number>,
  yPx: ArrayLike<number>,
  options: FlowOptions = usualFlow,
  guess?: MoveGuess,
): PointMoves {
  const { windowPx, levels, minEigen } = options;
  assert(windowPx % 2 === 1 && windowPx >= 3, `window of ${windowPx} px`);
  assert(from.widthPx === to.widthPx && from.heightPx === to.heightPx, 'pictures of two sizes');
  assert(xPx.length === yPx.length, `${xPx.length} and ${yPx.length} coordinates`);
  const count = xPx.length;
  const moves = emptyMoves(count);
  const top = Math.min(levels, from.levels.length, to.levels.length) - 1;
  const match = new WindowMatch(options);
  for (let p = 0; p < count; p++) {
    const x = xPx[p]!;
    const y = yPx[p]!;
    if (!isInside(from, x, y)) continue;
    match.dx = (guess?.dxPx[p] || 0) / 2 ** top;
    match.dy = (guess?.dyPx[p] || 0) / 2 ** top;
    let found = false;
    for (let k = top; k >= 0; k--) {
      found = match.run(from.levels[k]!, to.levels[k]!, (x - 0.5) / 2 ** k, (y - 0.5) / 2 ** k);
      if (k > 0) {
        match.dx *= 2;
        match.dy *= 2;
      }
    }
    moves.minEigen[p] = match.minEigen;
    if (!found || !(match.minEigen >= minEigen) || !isInside(to, x + match.dx, y + match.dy)) continue;
    match.measureResidual(to.levels[0]!, x - 0.5, y - 0.5);
    if (Number.isNaN(match.residual)) continue;
    moves.dxPx[p] = match.dx;
    moves.dyPx[p] = match.dy;
    moves.residual[p] = match.residual;
  }
  return moves;
}

/** Whether a place is in the picture, its border included. False for NaN. */
export function isInside(picture: Pyramid, xPx: number, yPx: number): boolean {
  return xPx >= 0 && yPx >= 0 && xPx <= picture.widthPx && yPx <= picture.heightPx;
}

function emptyMoves(count: number): PointMoves {
  const lost = () => new Float64Array(count).fill(Number.NaN);
  return { dxPx: lost(), dyPx: lost(), minEigen: lost(), residual: lost() };
}
