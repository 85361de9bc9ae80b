/** A pose that was changed so that the puppet can do it: plain data for the book. Spans are take time, so that they go along. */
export interface PoseFix {
  readonly id: string;
  /** The body is moved sideways until its centre of mass lies over the feet that stand. */
  readonly kind: 'overFeet';
  /** First and last moment, take seconds, both included. */
  readonly startSec: number;
  readonly endSec: number;
}
