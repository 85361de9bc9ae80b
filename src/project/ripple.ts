import type { ExposureSpan } from '../timing/timing.ts';
import type { Book, FrameNote } from './book.ts';

/**
 * The book with everything that is written at a frame from `fromFrame` on moved by `byFrames`, as when the shot became
 * longer or shorter there. Where frames fall away (`byFrames` < 0), what stood in them stays at the last frame before, and notes that
 * come together are joined: nothing that was written is lost.
 */
export function rippleFrames(book: Book, fromFrame: number, byFrames: number): Book {
  const move = (frame: number): number => {
    if (frame >= fromFrame) return Math.max(0, frame + byFrames);
    return Math.max(0, Math.min(frame, fromFrame + Math.min(0, byFrames) - 1));
  };
  const frameNotes = new Map<number, FrameNote>();
  for (const [frame, note] of [...book.frameNotes].sort(([a], [b]) => a - b)) {
    const there = frameNotes.get(move(frame));
    frameNotes.set(move(frame), there ? joinNotes(there, note) : note);
  }
  return {
    ...book,
    frameNotes,
    exposedFrames: [...new Set(book.exposedFrames.map(move))].sort((a, b) => a - b),
    exposureSpans: book.exposureSpans.flatMap((span) => moveSpan(span, fromFrame, byFrames)),
  };
}

function joinNotes(a: FrameNote, b: FrameNote): FrameNote {
  const join = (x: string, y: string) => (x && y ? `${x} / ${y}` : x || y);
  return {
    action: join(a.action, b.action),
    dialogue: join(a.dialogue, b.dialogue),
    camera: join(a.camera, b.camera),
  };
}

/** A span before the change stays, one behind it moves, one around it grows or shrinks; one that loses all frames is gone. */
function moveSpan(span: ExposureSpan, fromFrame: number, byFrames: number): ExposureSpan[] {
  const end = span.firstFrame + span.frames;
  const edge = (frame: number) => {
    if (frame >= fromFrame) return Math.max(0, frame + byFrames);
    return Math.max(0, Math.min(frame, fromFrame + Math.min(0, byFrames)));
  };
  // An end that stands at the change belongs to what lies before it.
  const last = end <= fromFrame ? Math.min(end, Math.max(0, fromFrame + Math.min(0, byFrames))) : edge(end);
  const firstFrame = edge(span.firstFrame);
  return last > firstFrame ? [{ ...span, firstFrame, frames: last - firstFrame }] : [];
}
