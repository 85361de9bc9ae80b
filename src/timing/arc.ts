import type { Part } from '../base/joints.ts';
import type { BodyFrame } from './bodyFrame.ts';

/**
 * What an arc is measured against: the picture, another part that moves too, or a line of the body that moves and turns.
 */
export type ArcFrame = 'picture' | Part | BodyFrame;

/** The path of one joint over the shot, absolute or relative. Columns have shape [frame]. */
export interface Arc {
  readonly joint: Part;
  readonly relativeTo: ArcFrame;
  /**
   * Upright video pixels; for a relative arc laid so that what it is seen from stands at its place in frame `anchorFrame`. NaN
   * where either is not known, or where a line of the body is too short to tell its direction.
   */
  readonly xPx: Float64Array;
  readonly yPx: Float64Array;
  /** Combined standard deviation along one axis, pixels. */
  readonly sdPx: Float64Array;
  readonly guessed: Uint8Array;
  /** First frames of the exposures: where the ticks stand. */
  readonly tickFrames: readonly number[];
  readonly anchorFrame: number;
}
