/** A moment of the take laid on a moment of the shot. */
export interface TimeKnot {
  readonly takeSec: number;
  /** Seconds from the shot's start: frame k is shown from k / rate on. */
  readonly shotSec: number;
}

/**
 * What the animator did to the take's time: knots with both times never falling. Two knots with one take time are a hold. None
 * = the take's own timing.
 */
export interface Retiming {
  readonly knots: readonly TimeKnot[];
}
