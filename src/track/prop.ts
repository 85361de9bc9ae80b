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

/** Two moments nearer than this are the same picture, seconds. */
export const samePictureSec = 0.008;

/** The point with a mark more; one in the same picture gives way. */
export function withMark(prop: Prop, mark: PropMark): Prop {
  const others = prop.marks.filter((m) => Math.abs(m.takeSec - mark.takeSec) > samePictureSec);
  return {
    ...prop,
    marks: [...others, mark].sort((a, b) => a.takeSec - b.takeSec),
    // What is marked is seen, whatever was said before; what still is not found is asked for again.
    absent: prop.absent.filter((span) => mark.takeSec < span.startSec || mark.takeSec > span.endSec),
  };
}

/** The point, said not to be seen in a span more. */
export function withAbsence(prop: Prop, { startSec, endSec }: Prop['absent'][number]): Prop {
  const absent = [...prop.absent, { startSec, endSec }];
  absent.sort((a, b) => a.startSec - b.startSec);
  return { ...prop, absent };
}
