import { fpsOf, frameStartSec } from '../base/frameRate.ts';
import { makeTimeMap, type TimeMap } from '../timing/timeMap.ts';
import type { ExposureSpan } from '../timing/timing.ts';
import type { Book, CutPart, FrameNote, FramesAside, ReplanChoice } from './book.ts';
import { inOrder, layReplan, replansAt } from './cutReplans.ts';
import type { PartTime } from './cutTime.ts';

/** A frame shows what has appeared when it begins, up to rounding, seconds. */
const sameSec = 5e-4;

/** The frames that show a part, and those that come of its own time wherever it stands. */
interface PartFrames {
  /** When it begins, frames from the shot's start, exactly; below 0 where the shot is trimmed. */
  readonly begin: number;
  /** The first frame that shows it. */
  readonly first: number;
  /** As many as stand in the shot: where the part begins between two frames it may be one more or less than `own`. */
  readonly shown: number;
  readonly own: number;
}

/**
 * What is written at frames of a cut shot gone along with its parts, whatever order they are in now: action, camera, locked exposures
 * and those by hand, and where moves go on from a shot pose. What stands at frames that a part lost is set aside with it. Dialogue stays
 * at its frame, as in `moveFrames`.
 * @param before the book with the parts as they were.
 * @param after  the same with the parts as they are, its time and trim moved already.
 * @param times  of the new parts, shape [part].
 */
export function moveCutFrames(before: Book, after: Book, times: readonly PartTime[]): Book {
  const fps = fpsOf(before.rate);
  const [was, is] = [shotMap(before), shotMap(after)];
  const were = framesOf(before, was, (k) => lengthBefore(before.cut[k]!, times));
  const are = framesOf(after, is, (k) => times[k]!.lengthSec);
  const notes = new Map<number, FrameNote>();
  const write = (frame: number, part: Partial<FrameNote>) => {
    const there = notes.get(frame) ?? { action: '', dialogue: '', camera: '' };
    const join = (a: string, b = '') => (a && b ? `${a} / ${b}` : a || b);
    notes.set(frame, {
      action: join(there.action, part.action),
      dialogue: join(there.dialogue, part.dialogue),
      camera: join(there.camera, part.camera),
    });
  };
  for (const [frame, { dialogue }] of before.frameNotes) if (dialogue) write(frame, { dialogue });
  const exposed = new Set<number>();
  const spans: ExposureSpan[] = [];
  const replans: ReplanChoice[] = [];
  const cut = after.cut.map((part, k): CutPart => {
    const { old, laterSec } = times[k]!;
    const to = are[k]!;
    const from = old ? were[before.cut.indexOf(old)]! : to;
    const own = old ? writtenAt(before, was, old, from) : fromAside(part.aside.frames, to.own);
    // All of a part moves by whole frames, as many there as back again; it is counted from its first frame.
    const by = wholeFrames(to.begin - from.begin - laterSec * fps);
    const later = to.first - from.first - by;
    const room = Math.max(to.own, to.shown);
    const isInside = (frame: number) => frame >= 0 && frame < room;
    const place = (frame: number) => Math.max(0, to.first + Math.max(0, Math.min(frame, to.shown - 1)));
    const asideFrame = (frame: number) => (frame < 0 ? frame : frame - to.own);
    const moved = {
      notes: own.notes.map((note) => ({ ...note, frame: note.frame - later })),
      exposed: own.exposed.map((frame) => frame - later),
      spans: own.spans.map((span) => ({ ...span, firstFrame: span.firstFrame - later })),
      replans: own.replans.map((aside) => ({ ...aside, frame: aside.frame - later })),
    };
    for (const { frame, action, camera } of moved.notes) if (isInside(frame)) write(place(frame), { action, camera });
    for (const frame of moved.exposed) if (isInside(frame)) exposed.add(place(frame));
    for (const aside of moved.replans)
      if (isInside(aside.frame)) {
        const frame = place(aside.frame);
        // What had to be pushed onto a frame that shows the part does not show its own pose there, and is told as out of date.
        const pushedSec = (to.first + aside.frame - frame) / fps;
        const there = { ...aside, awaySec: aside.awaySec + pushedSec };
        replans.push(layReplan(there, frame, is.shownSec, after.cut));
      }
    const split = moved.spans.map((span) => splitSpan(span, room, to.own));
    for (const { inside } of split)
      if (inside) {
        const firstFrame = place(inside.firstFrame);
        const last = place(inside.firstFrame + inside.frames - 1);
        spans.push({ ...inside, firstFrame, frames: last - firstFrame + 1 });
      }
    const frames: FramesAside = {
      notes: moved.notes
        .filter(({ frame }) => !isInside(frame))
        .map((note) => ({ ...note, frame: asideFrame(note.frame) })),
      exposed: moved.exposed.filter((frame) => !isInside(frame)).map(asideFrame),
      spans: split.flatMap((s) => s.outside),
      replans: moved.replans
        .filter(({ frame }) => !isInside(frame))
        .map((aside) => ({ ...aside, frame: asideFrame(aside.frame) })),
    };
    return { ...part, aside: { ...part.aside, frames } };
  });
  return {
    ...after,
    cut,
    frameNotes: new Map([...notes].sort(([a], [b]) => a - b)),
    exposedFrames: [...exposed].sort((a, b) => a - b),
    exposureSpans: spans,
    replans: inOrder(replans),
  };
}

/** The first frame that begins at a time or after it, from 0. */
function frameAt(sec: number, fps: number): number {
  // Not −0.
  return Math.ceil((sec - sameSec) * fps) + 0;
}

/** Half frames away from 0, so that what moves by −x comes back by x. */
function wholeFrames(frames: number): number {
  return Math.sign(frames) * Math.round(Math.abs(frames)) + 0;
}

function lengthBefore(part: CutPart, times: readonly PartTime[]): number {
  return times.find((t) => t.old === part)?.oldLengthSec ?? 0;
}

/** The time of a cut shot, all of its parts, and where in it the shot begins, which may be trimmed. */
interface ShotMap {
  readonly map: TimeMap;
  readonly start: number;
  /** The moment shown at a frame, on the clock of the parts. */
  shownSec(frame: number): number;
}

function shotMap(book: Book): ShotMap {
  const last = book.cut.at(-1);
  const map = makeTimeMap(book.retiming, 0, last ? last.startSec + last.lengthSec : 0);
  const start = (book.trimStartSec ?? 0) > 0 ? map.shotAt(book.trimStartSec!) : 0;
  return { map, start, shownSec: (frame) => map.takeAt(start + frameStartSec(book.rate, frame)) };
}

function framesOf(book: Book, { map, start }: ShotMap, lengthSec: (k: number) => number): PartFrames[] {
  const fps = fpsOf(book.rate);
  const begins = [...book.cut.map((p) => map.shotAt(p.startSec)), map.lengthSec].map((sec) => sec - start);
  const firsts = begins.map((sec) => frameAt(sec, fps));
  return book.cut.map((part, k) => ({
    begin: begins[k]! * fps,
    first: firsts[k]!,
    shown: firsts[k + 1]! - firsts[k]!,
    own: frameAt(part.fromSec + lengthSec(k), fps) - frameAt(part.fromSec, fps),
  }));
}

/** All that is written at the frames of a part, counted from its first; what was set aside with it, too. */
function writtenAt(book: Book, was: ShotMap, part: CutPart, { first, shown, own }: PartFrames): FramesAside {
  const end = book.cut.at(-1) === part ? Number.POSITIVE_INFINITY : first + shown;
  const isIts = (frame: number) => frame >= first && frame < end;
  const aside = fromAside(part.aside.frames, own);
  const inside = book.exposureSpans.flatMap((span): ExposureSpan[] => {
    const [a, b] = [Math.max(first, span.firstFrame), Math.min(end, span.firstFrame + span.frames)];
    return b > a ? [{ ...span, firstFrame: a - first, frames: b - a }] : [];
  });
  return {
    notes: [
      ...aside.notes,
      ...[...book.frameNotes].flatMap(([frame, { action, camera }]) =>
        isIts(frame) && (action || camera) ? [{ frame: frame - first, action, camera }] : [],
      ),
    ],
    exposed: [...aside.exposed, ...book.exposedFrames.filter(isIts).map((frame) => frame - first)],
    spans: joinPieces(inside, aside.spans),
    replans: [...aside.replans, ...replansAt(book, isIts, first, was.shownSec)],
  };
}

function fromAside({ notes, exposed, spans, replans }: FramesAside, own: number): FramesAside {
  const back = (frame: number) => (frame < 0 ? frame : own + frame);
  return {
    notes: notes.map((note) => ({ ...note, frame: back(note.frame) })),
    exposed: exposed.map(back),
    spans: spans.map((span) => ({ ...span, firstFrame: back(span.firstFrame) })),
    replans: replans.map((aside) => ({ ...aside, frame: back(aside.frame) })),
  };
}

/** Pieces of one span that were parted by the end of a stretch are one again. */
function joinPieces(inside: readonly ExposureSpan[], aside: readonly ExposureSpan[]): ExposureSpan[] {
  const joined = [...inside];
  for (const piece of aside) {
    const at = joined.findIndex(
      (s) =>
        s.onFrames === piece.onFrames &&
        (s.firstFrame + s.frames === piece.firstFrame || piece.firstFrame + piece.frames === s.firstFrame),
    );
    const one = joined[at];
    if (!one) joined.push(piece);
    else
      joined[at] = {
        ...one,
        firstFrame: Math.min(one.firstFrame, piece.firstFrame),
        frames: one.frames + piece.frames,
      };
  }
  return joined;
}

function splitSpan(
  span: ExposureSpan,
  room: number,
  own: number,
): { inside: ExposureSpan | null; outside: ExposureSpan[] } {
  const piece = (from: number, to: number): ExposureSpan[] =>
    to > from ? [{ ...span, firstFrame: from, frames: to - from }] : [];
  const end = span.firstFrame + span.frames;
  return {
    inside: piece(Math.max(0, span.firstFrame), Math.min(room, end))[0] ?? null,
    outside: [
      ...piece(span.firstFrame, Math.min(0, end)),
      ...piece(Math.max(room, span.firstFrame), end).map((s) => ({ ...s, firstFrame: s.firstFrame - own })),
    ],
  };
}
