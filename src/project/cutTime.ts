import { present } from '../base/assert.ts';
import { makeTimeMap, type TimeKnot } from '../timing/timeMap.ts';
import type { Book, CutPart } from './book.ts';

/** Times closer than this are one, seconds. */
const sameSec = 1e-6;

/** What became of the time of one part of a cut shot. */
export interface PartTime {
  /** The part that it was before; null for a new one. */
  readonly old: CutPart | null;
  /** How long it lasted in the shot before, seconds; 0 for a new one. */
  readonly oldLengthSec: number;
  readonly lengthSec: number;
  /** How much later in its own time it begins than before, shot seconds; negative: earlier. 0 for a new one. */
  readonly laterSec: number;
  /** Time given to what now lies outside of it; see `SetAside`. */
  readonly aside: readonly TimeKnot[];
}

/**
 * The retiming of a cut shot with other parts: each keeps the time it was given, wherever it stands, and what comes back into it the
 * time that was set aside with it.
 * @returns knots on the clock of the new parts, none where all runs as in the takes; and each new part's time, shape [part].
 */
export function moveCutTime(book: Book, cut: readonly CutPart[]): { knots: TimeKnot[]; parts: PartTime[] } {
  const end = book.cut.at(-1);
  const map = makeTimeMap(book.retiming, 0, end ? end.startSec + end.lengthSec : 0);
  const knots: TimeKnot[] = [];
  let shotSec = 0;
  const parts = cut.map((part): PartTime => {
    const old = book.cut.find((p) => p.id === part.id) ?? null;
    const time = old ? timeOf(old, map, old === end) : null;
    // Where it ends as before, it ends with the time that it had: a hold that was set aside at that very moment stays aside.
    const endsAsBefore =
      old !== null && Math.abs(old.fromSec + old.lengthSec - part.fromSec - part.lengthSec) < sameSec;
    const own = windowOf(time?.knots ?? part.aside.knots, part, endsAsBefore && time ? time.lengthSec : null);
    for (const knot of own.inside)
      knots.push({ takeSec: part.startSec + knot.takeSec - part.fromSec, shotSec: shotSec + knot.shotSec });
    shotSec += own.lengthSec;
    const { lengthSec, laterSec, aside } = own;
    return { old, oldLengthSec: time?.lengthSec ?? 0, lengthSec, laterSec: old ? laterSec : 0, aside };
  });
  return { knots: runsAsTaken(knots) ? [] : rising(knots), parts };
}

/** All time that was given to a part's take: take seconds against seconds from the part's begin in the shot. */
function timeOf(part: CutPart, map: ReturnType<typeof makeTimeMap>, isLast: boolean) {
  const [from, to] = [part.startSec, part.startSec + part.lengthSec];
  const begin = map.shotAt(from);
  // A hold where the next part begins shows the next one's pose; the last part's own hold ends the shot.
  const lengthSec = (isLast ? map.lastShotAt(to) : map.shotAt(to)) - begin;
  const within = map.knots.filter((k) => k.takeSec >= from && (k.takeSec < to || (isLast && k.takeSec <= to)));
  const toTake = part.fromSec - part.startSec;
  const { knots } = part.aside;
  const untilSec = part.fromSec + part.lengthSec;
  return {
    lengthSec,
    knots: [
      ...knots.filter((k) => k.takeSec < part.fromSec - sameSec),
      { takeSec: part.fromSec, shotSec: 0 },
      ...within.map((k) => ({ takeSec: k.takeSec + toTake, shotSec: k.shotSec - begin })),
      { takeSec: untilSec, shotSec: lengthSec },
      ...knots
        .filter((k) => k.takeSec >= untilSec - sameSec)
        .map((k) => ({ takeSec: k.takeSec, shotSec: lengthSec + k.shotSec })),
    ],
  };
}

/**
 * What a part shows of its take's time, from the part's begin on, and what lies outside.
 * @param knownEnd where it ends in the time of `all`; null = where its end is first shown.
 */
function windowOf(all: readonly TimeKnot[], part: CutPart, knownEnd: number | null) {
  const [from, to] = [part.fromSec, part.fromSec + part.lengthSec];
  const knots = rising(all.length > 0 ? all : [{ takeSec: from, shotSec: 0 }]);
  const zero = present(knots[0], 'a knot');
  // The map counts from its first knot: so do the times below.
  const map = makeTimeMap({ knots }, zero.takeSec, present(knots.at(-1), 'a knot').takeSec);
  // Where it is first shown: a hold at that very moment must not be passed by rounding.
  const at = (sec: number) =>
    knots.find((k) => Math.abs(k.takeSec - sec) < sameSec)?.shotSec ?? zero.shotSec + map.shotAt(sec);
  const begin = at(from);
  const end = knownEnd ?? at(to);
  const isBefore = (k: TimeKnot) => k.takeSec < from - sameSec;
  const isAfter = (k: TimeKnot) => !isBefore(k) && (k.takeSec > to + sameSec || k.shotSec > end + sameSec);
  const before = knots.filter(isBefore).map((k) => ({ takeSec: k.takeSec, shotSec: k.shotSec - begin }));
  const after = knots.filter(isAfter).map((k) => ({ takeSec: k.takeSec, shotSec: k.shotSec - end }));
  const inside = knots.filter((k) => !isBefore(k) && !isAfter(k));
  return {
    inside: [
      { takeSec: from, shotSec: 0 },
      ...inside.map((k) => ({
        takeSec: Math.min(to, Math.max(from, k.takeSec)),
        shotSec: Math.min(end, Math.max(begin, k.shotSec)) - begin,
      })),
      { takeSec: to, shotSec: end - begin },
    ],
    lengthSec: end - begin,
    laterSec: begin,
    aside: [
      ...(before.every((k) => Math.abs(k.shotSec - (k.takeSec - from)) < sameSec) ? [] : before),
      ...(after.every((k) => Math.abs(k.shotSec - (k.takeSec - to)) < sameSec) ? [] : after),
    ],
  };
}

function runsAsTaken(knots: readonly TimeKnot[]): boolean {
  return knots.every((k) => Math.abs(k.takeSec - k.shotSec) < sameSec);
}

/** Rounding must not make knots run backwards. */
function rising(knots: readonly TimeKnot[]): TimeKnot[] {
  const kept: TimeKnot[] = [];
  for (const knot of knots) {
    const last = kept.at(-1);
    kept.push({
      takeSec: Math.max(knot.takeSec, last?.takeSec ?? knot.takeSec),
      shotSec: Math.max(knot.shotSec, last?.shotSec ?? knot.shotSec),
    });
  }
  return kept;
}
