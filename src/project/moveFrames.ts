import type { FrameMove } from '../timing/retime.ts';
import type { ExposureSpan } from '../timing/timing.ts';
import type { Book, FrameNote } from './book.ts';
import { retimeReplans } from './retimedReplans.ts';

/**
 * The book with what is written at frames gone along to where those poses are now: action, camera, exposures by hand and locked
 * ones, and where moves go on from a shot pose (see `retimeReplans`).
 * Dialogue stays at its frame, since the sound does. Notes that come together on one frame are joined: nothing that was
 * written is lost.
 * @param moves rising; see `FrameMove`. None = nothing moves.
 */
export function moveFrames(book: Book, moves: readonly FrameMove[]): Book {
  if (moves.every((m) => m.fromFrame === m.toFrame)) return book;
  const notes = new Map<number, FrameNote>();
  const write = (frame: number, part: Partial<FrameNote>) => {
    const there = notes.get(frame) ?? { action: '', dialogue: '', camera: '' };
    const join = (a: string, b = '') => (a && b ? `${a} / ${b}` : a || b);
    const action = join(there.action, part.action);
    const dialogue = join(there.dialogue, part.dialogue);
    const camera = join(there.camera, part.camera);
    if (action || dialogue || camera) notes.set(frame, { action, dialogue, camera });
  };
  for (const [frame, note] of [...book.frameNotes].sort(([a], [b]) => a - b)) {
    write(movedFrame(frame, moves), { action: note.action, camera: note.camera });
    write(frame, { dialogue: note.dialogue });
  }
  return {
    ...book,
    frameNotes: notes,
    exposedFrames: [...new Set(book.exposedFrames.map((f) => movedFrame(f, moves)))].sort((a, b) => a - b),
    exposureSpans: book.exposureSpans.flatMap((span) => moveSpan(span, moves)),
    replans: retimeReplans(book, moves),
  };
}

/** Where a frame is after moves: on the straight line between the two it lies between, shifted along with the last behind it. */
function movedFrame(frame: number, moves: readonly FrameMove[]): number {
  const after = moves.findIndex((m) => m.fromFrame > frame);
  const before = moves[after < 0 ? moves.length - 1 : after - 1];
  if (!before) return frame;
  const shift = before.toFrame - before.fromFrame;
  const next = after < 0 ? undefined : moves[after];
  if (!next) return Math.max(0, frame + shift);
  const share = (frame - before.fromFrame) / (next.fromFrame - before.fromFrame);
  // Never onto the next one: that is another pose's frame.
  const most = Math.max(before.toFrame, next.toFrame - 1);
  return Math.min(most, Math.round(before.toFrame + share * (next.toFrame - before.toFrame)));
}

function moveSpan(span: ExposureSpan, moves: readonly FrameMove[]): ExposureSpan[] {
  const firstFrame = movedFrame(span.firstFrame, moves);
  const end = movedFrame(span.firstFrame + span.frames, moves);
  return end > firstFrame ? [{ ...span, firstFrame, frames: end - firstFrame }] : [];
}
