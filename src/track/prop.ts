import type { PropId } from '../base/joints.ts';

/** Where the animator says that a marked point is. */
export interface PropMark {
  /** Take seconds of the picture it was marked in. */
  readonly takeSec: number;
  /** Upright video pixels, y down. */
  readonly xPx: number;
  readonly yPx: number;
}

/** A point on a prop, a ball, a tail or an edge of cloth that is followed from picture to picture. */
export interface Prop {
  readonly id: PropId;
  /** As the animator calls it; never empty. */
  readonly name: string;
  /** Rising by time, at most one to a picture. The first is where following began; more were put where it was lost or went astray. */
  readonly marks: readonly PropMark[];
  /** Spans, take seconds, in which the animator says it is not to be seen. */
  readonly absent: readonly { readonly startSec: number; readonly endSec: number }[];
}
