import { assert } from '../base/assert.ts';
import { hermite, hermiteSlope, pchipSlopes } from '../base/pchip.ts';

/** A moment of the take laid on a moment of the shot. */
export interface TimeKnot {
  readonly takeSec: number;
  /** Seconds on the shot's clock. Only differences count: the shot begins where its part of the take begins. */
  readonly shotSec: number;
}

/**
 * What the animator did to the take's time: knots with both times never falling. Two knots with one take time are a hold, two
 * with one shot time a cut. None = the take's own timing.
 */
export interface Retiming {
  readonly knots: readonly TimeKnot[];
}

/** The take's own timing. */
export const ownTiming: Retiming = { knots: [] };

/** Which moment of the take is shown at each moment of the shot, and the other way round. Monotone. */
export interface TimeMap {
  /** Length of the shot, seconds. */
  readonly lengthSec: number;
  /** The take's moment shown at a moment of the shot (seconds from its start). Beyond the ends time goes on as in the take. */
  takeAt(shotSec: number): number;
  /** When a moment of the take is first shown, seconds from the shot's start; where it was cut out, the moment of the cut. */
  shotAt(takeSec: number): number;
  /** When it is shown last: later than `shotAt` only where it is held. */
  lastShotAt(takeSec: number): number;
  /** How fast the take runs, take seconds per shot second; 0 in a hold, the faster side at a corner. */
  speedAt(shotSec: number): number;
  /** The take's own timing throughout? */
  readonly isIdentity: boolean;
  /** The knots as seconds from the shot's start, without those that say nothing. Rising. */
  readonly knots: readonly TimeKnot[];
}

/** Times closer than this are one, seconds: far below any frame. */
const sameSec = 1e-9;

/** A stretch between two knots: a cubic that rises, a hold (`h` > 0, no take time) or a cut (`h` = 0). */
interface Piece {
  readonly shot0: number;
  readonly h: number;
  readonly take0: number;
  readonly take1: number;
  slope0: number;
  slope1: number;
}

/**
 * The map from shot to take that goes through the knots: between them monotone cubics (Fritsch & Butland 1984) that join
 * smoothly, except at holds and cuts, whose sides keep their own speed. Beyond the outermost knots, and between knots that
 * lie as far apart in the shot as in the take, time runs as in the take, exactly: a change in one span moves no frame of
 * another (only where the changed span is so short that it would have to run backwards does the neighbour give a little).
 * @param startSec the part of the take that is the shot, take seconds; shot time 0 is where it begins.
 */
export function makeTimeMap(retiming: Retiming, startSec: number, endSec: number): TimeMap {
  const given = retiming.knots;
  for (let i = 1; i < given.length; i++) {
    const [a, b] = [given[i - 1]!, given[i]!];
    assert(b.takeSec >= a.takeSec && b.shotSec >= a.shotSec, `knot ${i} runs backwards`);
  }
  const raw = clean(given);
  if (raw.length === 0) raw.push({ takeSec: startSec, shotSec: 0 });
  const unplaced = pieceTogether(raw);
  const offset = unplaced.shotAt(startSec);
  const knots = raw.map((k) => ({ takeSec: k.takeSec, shotSec: k.shotSec - offset }));
  const map = pieceTogether(knots);
  const isIdentity = knots.every((k) => Math.abs(k.takeSec - startSec - k.shotSec) < sameSec);
  return {
    ...map,
    knots: isIdentity ? [] : knots,
    isIdentity,
    lengthSec: Math.max(0, map.lastShotAt(endSec)),
  };
}

/** The knots without repeated ones, and without a middle one of three in one hold or one cut. */
function clean(knots: readonly TimeKnot[]): TimeKnot[] {
  const kept: TimeKnot[] = [];
  const same = (a: number, b: number) => Math.abs(a - b) < sameSec;
  for (const knot of knots) {
    const last = kept.at(-1);
    if (last && same(last.takeSec, knot.takeSec) && same(last.shotSec, knot.shotSec)) continue;
    const before = kept.at(-2);
    const isMiddle =
      last &&
      before &&
      ((same(before.takeSec, last.takeSec) && same(last.takeSec, knot.takeSec)) ||
        (same(before.shotSec, last.shotSec) && same(last.shotSec, knot.shotSec)));
    if (isMiddle) kept.pop();
    kept.push(knot);
  }
  return kept;
}

function pieceTogether(knots: readonly TimeKnot[]) {
  const pieces = slopesOf(knots);
  const first = knots[0]!;
  const last = knots.at(-1)!;

  /** The piece in which a shot time lies: the last that begins at or before it; at a hold's end what follows the hold. */
  const pieceAt = (shotSec: number): Piece | null => {
    if (shotSec < first.shotSec || shotSec >= last.shotSec) return null;
    let low = 0;
    let high = pieces.length - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (pieces[middle]!.shot0 <= shotSec) low = middle;
      else high = middle - 1;
    }
    return pieces[low]!;
  };
  const takeIn = (p: Piece, shotSec: number) =>
    hermite(p.h, p.take0, p.take1, p.slope0, p.slope1, Math.min(1, Math.max(0, (shotSec - p.shot0) / p.h)));

  const takeAt = (shotSec: number): number => {
    if (shotSec < first.shotSec) return first.takeSec + (shotSec - first.shotSec);
    const p = pieceAt(shotSec);
    if (!p) return last.takeSec + (shotSec - last.shotSec);
    return takeIn(p, shotSec);
  };
  const speedAt = (shotSec: number): number => {
    const p = pieceAt(shotSec);
    if (!p) return 1;
    return Math.max(0, hermiteSlope(p.h, p.take0, p.take1, p.slope0, p.slope1, (shotSec - p.shot0) / p.h));
  };
  const inside = (p: Piece, takeSec: number): number => {
    if (p.h === 0 || p.take1 - p.take0 < sameSec) return p.shot0;
    let low = p.shot0;
    let high = p.shot0 + p.h;
    // Bisection: a monotone cubic may be flat at one end, where Newton's steps go astray. 50 halvings of a minute: 1e-13 s.
    for (let i = 0; i < 50 && high - low > 1e-13; i++) {
      const middle = (low + high) / 2;
      if (takeIn(p, middle) < takeSec) low = middle;
      else high = middle;
    }
    return (low + high) / 2;
  };
  const shotAt = (takeSec: number): number => {
    if (takeSec <= first.takeSec) return first.shotSec + (takeSec - first.takeSec);
    if (takeSec > last.takeSec) return last.shotSec + (takeSec - last.takeSec);
    for (const p of pieces) if (takeSec <= p.take1) return inside(p, takeSec);
    return last.shotSec;
  };
  const lastShotAt = (takeSec: number): number => {
    if (takeSec < first.takeSec) return first.shotSec + (takeSec - first.takeSec);
    if (takeSec >= last.takeSec) return last.shotSec + (takeSec - last.takeSec);
    for (let i = pieces.length - 1; i >= 0; i--) {
      const p = pieces[i]!;
      if (takeSec < p.take0) continue;
      return p.take1 - p.take0 < sameSec ? p.shot0 + p.h : inside(p, takeSec);
    }
    return first.shotSec;
  };
  return { takeAt, shotAt, lastShotAt, speedAt };
}

const isOwn = (secant: number) => Math.abs(secant - 1) < 1e-6;

function slopesOf(knots: readonly TimeKnot[]): Piece[] {
  const pieces = knots.slice(1).map((to, i): Piece => {
    const from = knots[i]!;
    const h = to.shotSec - from.shotSec;
    return { shot0: from.shotSec, h, take0: from.takeSec, take1: to.takeSec, slope0: 0, slope1: 0 };
  });
  const moves = (p: Piece | undefined): p is Piece => p !== undefined && p.h >= sameSec && p.take1 - p.take0 >= sameSec;
  for (let i = 0; i < pieces.length; ) {
    if (!moves(pieces[i])) {
      i++;
      continue;
    }
    let end = i;
    while (moves(pieces[end])) end++;
    const run = pieces.slice(i, end);
    // At the outermost knots the take's own time goes on; at a hold or a cut the piece has its own speed.
    setSlopes(run, i === 0, end === pieces.length);
    i = end;
  }
  return pieces;
}

/** Slopes of cubics that follow on each other. */
function setSlopes(run: readonly Piece[], isFirst: boolean, isLast: boolean): void {
  const shot = [...run.map((p) => p.shot0), run.at(-1)!.shot0 + run.at(-1)!.h];
  const take = [...run.map((p) => p.take0), run.at(-1)!.take1];
  const secant = (i: number) => (take[i + 1]! - take[i]!) / (shot[i + 1]! - shot[i]!);
  const slopes = pchipSlopes(shot, take);
  for (let k = 0; k < shot.length; k++) {
    const before = k > 0 ? secant(k - 1) : null;
    const after = k < run.length ? secant(k) : null;
    const ownBefore = before === null ? isFirst : isOwn(before);
    const ownAfter = after === null ? isLast : isOwn(after);
    // Beside a span that runs as in the take the speed is the take's, up to what keeps the other from running backwards.
    if (ownBefore || ownAfter) slopes[k] = Math.min(1, 3 * (before ?? 1), 3 * (after ?? 1));
  }
  run.forEach((p, i) => {
    p.slope0 = slopes[i]!;
    p.slope1 = slopes[i + 1]!;
  });
}
