import type { Part } from '../base/joints.ts';

/** What an arc is measured against: the picture, or another joint that moves too. */
export type ArcFrame = 'picture' | Part;

/** The path of one joint over the shot, absolute or relative. Columns have shape [frame]. */
export interface Arc {
  readonly joint: Part;
  readonly relativeTo: ArcFrame;
  /** Upright video pixels; for a relative arc shifted so that the other joint stands at its place in frame `anchorFrame`. */
  readonly xPx: Float64Array;
  readonly yPx: Float64Array;
  /** Combined standard deviation along one axis, pixels. */
  readonly sdPx: Float64Array;
  readonly guessed: Uint8Array;
  /** First frames of the exposures: where the ticks stand. */
  readonly tickFrames: readonly number[];
  readonly anchorFrame: number;
}
