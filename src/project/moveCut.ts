import { fpsOf } from '../base/frameRate.ts';
import type { FrameMove } from '../timing/retime.ts';
import { makeTimeMap, type TimeKnot } from '../timing/timeMap.ts';
import type { PinnedKey } from '../timing/timing.ts';
import type { Correction } from '../track/correction.ts';
import type { Book, CutPart, SetAside } from './book.ts';
import { moveFrames } from './moveFrames.ts';

/** Ends of spans that touch this nearly are one span, seconds. */
const sameSec = 1e-6;

/**
 * The book of a cut shot with other parts: trimmed, put in another order, left out, or new. What stands at a moment of a take goes along
 * with that moment: corrections and locked keys (those beyond a stretch are set aside and come back when it is made longer), keys
 * taken away, trim and retiming; what is written at frames goes along with its stretch, as far as stretches keep their order.
 */
export function moveCut(book: Book, cut: readonly CutPart[]): Book {
  const before = book.cut;
  const moved = (sec: number): number | null => {
    const old = before.find((p) => sec >= p.startSec - sameSec && sec < p.startSec + p.lengthSec - sameSec);
    if (!old) return null;
    const own = sec - old.startSec + old.fromSec;
    const shows = (p: CutPart) =>
      p.takeId === old.takeId && own >= p.fromSec - sameSec && own < p.fromSec + p.lengthSec - sameSec;
    const now = cut.find((p) => p.id === old.id && shows(p)) ?? cut.find(shows);
    return now ? own - now.fromSec + now.startSec : null;
  };
  const corrections: Correction[] = [];
  const pinnedKeys: PinnedKey[] = [];
  const parts = cut.map((part): CutPart => {
    const old = before.find((p) => p.id === part.id);
    const own = old ? decidedAbout(book, old) : { ...part.aside, corrections: joinSpans(part.aside.corrections) };
    const by = part.startSec - part.fromSec;
    const [from, to] = [part.fromSec, part.fromSec + part.lengthSec];
    const split = own.corrections.map((c) => splitCorrection(c, from, to));
    corrections.push(...split.flatMap((s) => s.inside.map((c) => shifted(c, by))));
    const isInside = ({ takeSec }: PinnedKey) => takeSec >= from - sameSec && takeSec < to - sameSec;
    // Where one take is picked twice, its keys are two keys.
    const named = ({ id, ...key }: PinnedKey): PinnedKey => ({
      ...key,
      id: id.startsWith(`${part.id}:`) ? id : `${part.id}:${id}`,
    });
    const keys = own.pinnedKeys.map(named);
    for (const key of keys.filter(isInside)) pinnedKeys.push({ ...key, takeSec: key.takeSec + by });
    const aside = {
      corrections: split.flatMap((s) => s.outside),
      pinnedKeys: keys.filter((key) => !isInside(key)),
    };
    return { ...part, aside };
  });
  const { knots, moves } = moveTime(book, cut);
  const startSec = book.trimStartSec === null ? null : moved(book.trimStartSec);
  // The end belongs to what it ends, not to what would follow.
  const last = book.trimEndSec === null ? null : moved(book.trimEndSec - 2 * sameSec);
  const endSec = last === null ? null : last + 2 * sameSec;
  const isTrimmed = startSec === null || endSec === null || endSec > startSec;
  return {
    ...moveFrames(book, moves),
    cut: parts,
    corrections,
    pinnedKeys: pinnedKeys.sort((a, b) => a.takeSec - b.takeSec),
    removedKeysSec: book.removedKeysSec.flatMap((sec) => moved(sec) ?? []),
    trimStartSec: isTrimmed ? startSec : null,
    trimEndSec: isTrimmed ? endSec : null,
    retiming: { knots },
  };
}

/** All that is decided about a part's take, in the take's seconds: what stands in the shot, and what is set aside. */
function decidedAbout(book: Book, part: CutPart): SetAside {
  const by = part.fromSec - part.startSec;
  const [from, to] = [part.startSec, part.startSec + part.lengthSec];
  const inside = book.corrections.flatMap((c) => splitCorrection(c, from, to).inside);
  const isInside = ({ takeSec }: PinnedKey) => takeSec >= from - sameSec && takeSec < to - sameSec;
  const keys = book.pinnedKeys.filter(isInside).map((key) => ({ ...key, takeSec: key.takeSec + by }));
  return {
    corrections: joinSpans([...part.aside.corrections, ...inside.map((c) => shifted(c, by))]),
    pinnedKeys: [...part.aside.pinnedKeys, ...keys].sort((a, b) => a.takeSec - b.takeSec),
  };
}

/** What of a correction lies in [from, to), and what does not. Who the performer is was said to the reading: it is of no use in a cut. */
function splitCorrection(c: Correction, from: number, to: number): { inside: Correction[]; outside: Correction[] } {
  if (c.kind === 'performer') return { inside: [], outside: [c] };
  if (c.kind === 'place')
    return c.takeSec >= from - sameSec && c.takeSec < to - sameSec
      ? { inside: [c], outside: [] }
      : { inside: [], outside: [c] };
  const piece = (startSec: number, endSec: number): Correction[] =>
    endSec >= startSec ? [{ ...c, startSec, endSec }] : [];
  // What ends where the stretch begins is the one before's.
  if ((c.endSec < from + sameSec && c.startSec < from - sameSec) || c.startSec > to - sameSec)
    return { inside: [], outside: [c] };
  return {
    inside: piece(Math.max(from, c.startSec), Math.min(to, c.endSec)),
    outside: [...(c.startSec < from ? piece(c.startSec, from) : []), ...(c.endSec > to ? piece(to, c.endSec) : [])],
  };
}

/** Pieces of one span that were parted by the end of a stretch are one again. */
function joinSpans(all: readonly Correction[]): Correction[] {
  const joined: Correction[] = [];
  const startOf = (c: Correction) => ('startSec' in c ? c.startSec : c.takeSec);
  for (const c of [...all].sort((a, b) => startOf(a) - startOf(b))) {
    const at = joined.findIndex((b) => isContinuedBy(b, c));
    const one = joined[at];
    if (one && 'endSec' in one && 'endSec' in c) joined[at] = { ...one, endSec: Math.max(one.endSec, c.endSec) };
    else joined.push(c);
  }
  return joined;
}

function isContinuedBy(a: Correction, b: Correction): boolean {
  if (a.kind === 'hide' && b.kind === 'hide') return a.joint === b.joint && Math.abs(a.endSec - b.startSec) < sameSec;
  if (a.kind === 'swapSides' && b.kind === 'swapSides')
    return a.part === b.part && Math.abs(a.endSec - b.startSec) < sameSec;
  return false;
}

function shifted(c: Correction, by: number): Correction {
  return c.kind === 'place' || c.kind === 'performer'
    ? { ...c, takeSec: c.takeSec + by }
    : { ...c, startSec: c.startSec + by, endSec: c.endSec + by };
}

/**
 * The retiming on the new clock: each stretch keeps the timing it had, what is new of it runs as in its take; and how frames moved,
 * for what is written at them.
 */
function moveTime(book: Book, cut: readonly CutPart[]): { knots: TimeKnot[]; moves: FrameMove[] } {
  const before = book.cut;
  const end = before.at(-1);
  if (!end) return { knots: [...book.retiming.knots], moves: [] };
  const map = makeTimeMap(book.retiming, 0, end.startSec + end.lengthSec);
  const fps = fpsOf(book.rate);
  // Both clocks of frames begin with the trimmed shot; without a trim at 0.
  const shotStart = (book.trimStartSec ?? 0) > 0 ? map.shotAt(book.trimStartSec!) : 0;
  const knots: TimeKnot[] = [];
  const moves: FrameMove[] = [];
  let shotSec = 0;
  for (const part of cut) {
    const untilSec = part.startSec + part.lengthSec;
    knots.push({ takeSec: part.startSec, shotSec });
    const old = before.find((p) => p.id === part.id);
    const fromSec = Math.max(part.fromSec, old?.fromSec ?? Number.POSITIVE_INFINITY);
    const toSec = Math.min(part.fromSec + part.lengthSec, old ? old.fromSec + old.lengthSec : Number.NEGATIVE_INFINITY);
    if (!old || toSec <= fromSec) {
      shotSec += part.lengthSec;
      knots.push({ takeSec: untilSec, shotSec });
      continue;
    }
    const [oldFrom, oldTo] = [old.startSec + fromSec - old.fromSec, old.startSec + toSec - old.fromSec];
    const newSec = (sec: number) => part.startSec + sec - part.fromSec;
    const at = shotSec + fromSec - part.fromSec;
    const shift = at - map.shotAt(oldFrom);
    const isLast = old === end;
    const within = map.knots.filter(
      (k) => k.takeSec >= oldFrom && (k.takeSec < oldTo || (isLast && k.takeSec <= oldTo)),
    );
    knots.push({ takeSec: newSec(fromSec), shotSec: at });
    for (const knot of within)
      knots.push({ takeSec: newSec(fromSec) + knot.takeSec - oldFrom, shotSec: knot.shotSec + shift });
    const lastShown = isLast && within.length > 0 ? map.lastShotAt(oldTo) : map.shotAt(oldTo);
    knots.push({ takeSec: newSec(toSec), shotSec: lastShown + shift });
    shotSec = lastShown + shift + part.fromSec + part.lengthSec - toSec;
    knots.push({ takeSec: untilSec, shotSec });
    const fromFrame = Math.max(0, Math.round((map.shotAt(oldFrom) - shotStart) * fps));
    const toFrame = Math.max(0, Math.round((at - shotStart) * fps));
    const last = moves.at(-1);
    if (!last || (fromFrame > last.fromFrame && toFrame > last.toFrame)) moves.push({ fromFrame, toFrame });
  }
  return { knots: book.retiming.knots.length > 0 ? rising(knots) : [], moves };
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
