import type { PinnedKey } from '../timing/timing.ts';
import type { Correction } from '../track/correction.ts';
import type { Book, CutPart, SetAside } from './book.ts';
import { moveCutFrames } from './cutFrames.ts';
import { moveCutTime } from './cutTime.ts';
import { momentOf, shotSecOf } from './takeMoment.ts';

/** Ends of spans that touch this nearly are one span, seconds. */
const sameSec = 1e-6;

/**
 * The book of a cut shot with other parts: trimmed, put in another order, left out, or new. What stands at a moment of a take goes along
 * with that moment, wherever its stretch goes: corrections, locked keys, keys taken away, the time it was given, what is written at its
 * frames, how those are exposed, and the moves laid anew from them. What lies beyond a stretch is set aside and comes back when it is made longer; what lies
 * in one that is left out goes with it. The shot's own trim stays while the stretches keep their order.
 */
export function moveCut(book: Book, cut: readonly CutPart[]): Book {
  const before = book.cut;
  const moved = (sec: number): number | null => {
    const moment = momentOf(before, sec);
    return moment && shotSecOf(cut, moment);
  };
  const corrections: Correction[] = [];
  const pinnedKeys: PinnedKey[] = [];
  const removedKeysSec: number[] = [];
  const times = moveCutTime(book, cut);
  const parts = cut.map((part, k): CutPart => {
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
    const isShown = (sec: number) => sec >= from - sameSec && sec < to - sameSec;
    removedKeysSec.push(...own.removedKeysSec.filter(isShown).map((sec) => sec + by));
    const aside = {
      ...own,
      knots: times.parts[k]!.aside,
      corrections: split.flatMap((s) => s.outside),
      pinnedKeys: keys.filter((key) => !isInside(key)),
      removedKeysSec: own.removedKeysSec.filter((sec) => !isShown(sec)),
    };
    return { ...part, aside };
  });
  const startSec = book.trimStartSec === null ? null : moved(book.trimStartSec);
  // The end belongs to what it ends, not to what would follow.
  const last = book.trimEndSec === null ? null : moved(book.trimEndSec - 2 * sameSec);
  const endSec = last === null ? null : last + 2 * sameSec;
  const isTrimmed = isInOrder(before, cut) && (startSec === null || endSec === null || endSec > startSec);
  const moving: Book = {
    ...book,
    cut: parts,
    corrections,
    pinnedKeys: pinnedKeys.sort((a, b) => a.takeSec - b.takeSec),
    exaggeration: {
      ...book.exaggeration,
      neutralSec: book.exaggeration.neutralSec === null ? null : moved(book.exaggeration.neutralSec),
    },
    handContacts: book.handContacts.flatMap((span) => movedSpan(span, moved)),
    poseFixes: book.poseFixes.flatMap((span) => movedSpan(span, moved)),
    removedKeysSec: removedKeysSec.sort((a, b) => a - b),
    trimStartSec: isTrimmed ? startSec : null,
    trimEndSec: isTrimmed ? endSec : null,
    retiming: { knots: before.length > 0 ? times.knots : book.retiming.knots },
  };
  return before.length > 0 ? moveCutFrames(book, moving, times.parts) : moving;
}

/** A span goes along with the moment at which it begins, as long as it was; none where that is not shown any more. */
function movedSpan<T extends { readonly startSec: number; readonly endSec: number }>(
  span: T,
  moved: (sec: number) => number | null,
): T[] {
  const startSec = moved(span.startSec);
  return startSec === null ? [] : [{ ...span, startSec, endSec: startSec + span.endSec - span.startSec }];
}

/** Do the stretches that were there before follow one another as they did? */
function isInOrder(before: readonly CutPart[], cut: readonly CutPart[]): boolean {
  const places = cut.map((p) => before.findIndex((old) => old.id === p.id)).filter((k) => k >= 0);
  return places.every((k, i) => i === 0 || k > places[i - 1]!);
}

/** All that is decided about a part's take, in the take's seconds: what stands in the shot, and what is set aside. */
function decidedAbout(book: Book, part: CutPart): SetAside {
  const by = part.fromSec - part.startSec;
  const [from, to] = [part.startSec, part.startSec + part.lengthSec];
  const inside = book.corrections.flatMap((c) => splitCorrection(c, from, to).inside);
  const isInside = ({ takeSec }: PinnedKey) => takeSec >= from - sameSec && takeSec < to - sameSec;
  const keys = book.pinnedKeys.filter(isInside).map((key) => ({ ...key, takeSec: key.takeSec + by }));
  const removed = book.removedKeysSec.filter((sec) => sec >= from - sameSec && sec < to - sameSec);
  return {
    ...part.aside,
    removedKeysSec: [...part.aside.removedKeysSec, ...removed.map((sec) => sec + by)].sort((a, b) => a - b),
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
