import { partWords } from './hitch.ts';
import type { LimitedJoint } from './jointAngles.ts';
import { type Piece, pieceWords } from './overlap.ts';
import type { OutOfReach } from './puppetMotion.ts';

/** A pose changed so that the puppet can do it: plain data for the book. Spans are take time, so that they go along with it. */
export type PoseFix = LimitFix | OverFeetFix | ReachFix | ApartFix;

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

/** The body leans until a hand reaches what it holds on to. */
export interface ReachFix extends FixSpan {
  readonly kind: 'reach';
  readonly limb: OutOfReach['limb'];
}

/** A limb is turned until it is no deeper in another piece than the performer's. */
export interface ApartFix extends FixSpan {
  readonly kind: 'apart';
  readonly moving: Piece;
  readonly other: Piece;
}

/** A fix in a few words: "left knee within its limit". */
export function poseFixWords(fix: PoseFix): string {
  switch (fix.kind) {
    case 'limit':
      return `${partWords(fix.joint)} within its limit`;
    case 'overFeet':
      return 'body over its feet';
    case 'reach':
      return `body leans so that the ${partWords(fix.limb)} reaches`;
    case 'apart':
      return `${pieceWords(fix.moving)} clear of the ${pieceWords(fix.other)}`;
  }
}
