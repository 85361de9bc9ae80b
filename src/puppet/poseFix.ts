import type { LimitedJoint } from './jointAngles.ts';

/** A pose changed so that the puppet can do it: plain data for the book. Spans are take time, so that they go along with it. */
export type PoseFix = LimitFix | OverFeetFix;

interface FixSpan {
  readonly id: string;
  /** First and last moment, take seconds, both included. */
  readonly startSec: number;
  readonly endSec: number;
}

/** A joint goes no further than its limit. */
export interface LimitFix extends FixSpan {
  readonly kind: 'limit';
  readonly joint: LimitedJoint;
}

/** The body is moved sideways until its centre of mass lies over the feet that stand. */
export interface OverFeetFix extends FixSpan {
  readonly kind: 'overFeet';
}
