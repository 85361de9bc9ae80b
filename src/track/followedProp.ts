import type { PropId } from '../base/joints.ts';
import { searchPictures, type WhyLost } from '../base/whyLost.ts';
import type { Prop, PropMark } from './prop.ts';

/** Where a marked point went from one of its marks, forward or backward in time, as far as the pictures told. */
export interface FollowedLeg {
  /** The mark it set out from. */
  readonly mark: PropMark;
  readonly direction: 1 | -1;
  /** Times of its pictures, take seconds, from the mark's own on: falling when it goes backward. Shape [picture]. */
  readonly timesSec: Float64Array;
  /** Upright video pixels; NaN = not seen. Shape [picture], as `sdPx`: standard deviation along one axis as against the mark. */
  readonly xPx: Float64Array;
  readonly yPx: Float64Array;
  readonly sdPx: Float64Array;
  /** When it was given up (or was out of sight when the leg ended), why, and where it was last; null = followed to the end. */
  readonly lost: { readonly takeSec: number; readonly why: WhyLost; readonly xPx: number; readonly yPx: number } | null;
}

/** The legs of every marked point that were followed; kept with the reading. Legs of marks since taken back may be among them. */
export type FollowedProps = ReadonlyMap<PropId, readonly FollowedLeg[]>;

/** Nothing has been followed. */
export const nothingFollowed: FollowedProps = new Map();

/** A leg that has to be followed yet: from a mark to (and including) a time. */
export interface DueLeg {
  readonly id: PropId;
  readonly mark: PropMark;
  readonly direction: 1 | -1;
  /** Take seconds of the next mark in this direction, or of the take's first or last picture. */
  readonly untilSec: number;
  /** What was followed of it before, not so far; null = nothing. */
  readonly known: FollowedLeg | null;
}

/** Two times nearer than this are the same picture's, seconds. */
const sameSec = 1e-4;

/** Is this the leg of that mark and direction? A mark that was moved is another. */
function isLegOf(leg: FollowedLeg, mark: PropMark, direction: 1 | -1): boolean {
  const { takeSec, xPx, yPx } = leg.mark;
  return (
    leg.direction === direction &&
    Math.abs(takeSec - mark.takeSec) < sameSec &&
    Math.abs(xPx - mark.xPx) < 1e-6 &&
    Math.abs(yPx - mark.yPx) < 1e-6
  );
}

/**
 * Does a leg reach this time, or was the point given up before it? Then following it again would tell nothing new. One that is lost in
 * the last pictures of a leg is still searched for when more of them come.
 */
function reaches(leg: FollowedLeg, untilSec: number): boolean {
  const { lost } = leg;
  if (lost && (untilSec - lost.takeSec) * leg.direction >= 0) {
    const without = leg.timesSec.filter((sec) => (sec - lost.takeSec) * leg.direction > -sameSec).length;
    if (without >= searchPictures) return true;
  }
  const last = leg.timesSec[leg.timesSec.length - 1] ?? leg.mark.takeSec;
  return (last - untilSec) * leg.direction > -sameSec;
}

/** The followed leg of a mark, as far as the time given; null = it has to be followed. */
export function legOf(
  legs: readonly FollowedLeg[],
  mark: PropMark,
  direction: 1 | -1,
  untilSec: number,
): FollowedLeg | null {
  return legs.find((leg) => isLegOf(leg, mark, direction) && reaches(leg, untilSec)) ?? null;
}

/** Every leg between marks, and to both ends of the take. @param timesSec the take's pictures, rising. */
export function legsOf(prop: Prop, timesSec: Float64Array): Omit<DueLeg, 'known'>[] {
  const first = timesSec[0] ?? 0;
  const last = timesSec[timesSec.length - 1] ?? 0;
  return prop.marks.flatMap((mark, i): Omit<DueLeg, 'known'>[] => [
    { id: prop.id, mark, direction: 1, untilSec: prop.marks[i + 1]?.takeSec ?? last },
    { id: prop.id, mark, direction: -1, untilSec: prop.marks[i - 1]?.takeSec ?? first },
  ]);
}

/** The legs that have not been followed yet. */
export function dueLegs(props: readonly Prop[], followed: FollowedProps, timesSec: Float64Array): DueLeg[] {
  return props
    .flatMap((prop) => legsOf(prop, timesSec))
    .flatMap((leg): DueLeg[] => {
      const { id, mark, direction, untilSec } = leg;
      const before = followed.get(id) ?? [];
      if (Math.abs(untilSec - mark.takeSec) <= sameSec || legOf(before, mark, direction, untilSec)) return [];
      return [{ ...leg, known: before.find((known) => isLegOf(known, mark, direction)) ?? null }];
    });
}

/** With one more leg; an earlier leg of the same mark and direction gives way. */
export function withLeg(followed: FollowedProps, id: PropId, leg: FollowedLeg): FollowedProps {
  const others = (followed.get(id) ?? []).filter((l) => !isLegOf(l, leg.mark, leg.direction));
  return new Map(followed).set(id, [...others, leg]);
}

/** Only what today's marks set out from: for keeping. */
export function withoutOldLegs(followed: FollowedProps, props: readonly Prop[]): FollowedProps {
  return new Map(
    props.flatMap(({ id, marks }) => {
      const legs = (followed.get(id) ?? []).filter((leg) => marks.some((mark) => isLegOf(leg, mark, leg.direction)));
      return legs.length > 0 ? [[id, legs] as const] : [];
    }),
  );
}
