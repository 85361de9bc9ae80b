import type { Beat } from '../base/tempo.ts';
import type { KeyRoom } from './keyRooms.ts';
import type { Key } from './timing.ts';

/** A key that could be put on a beat. */
export interface SnapProposal {
  readonly key: Key;
  readonly beat: Beat;
  /** The frame it would come to: the beat's, less the lead. */
  readonly toFrame: number;
  /** How many frames later than now; negative = earlier; never 0. */
  readonly byFrames: number;
}

/**
 * How far ahead of its sound a body accent is placed, frames at 24 a second: about 3 for a jump, a landing, a hit or a take. Trade
 * practice (animators' textbooks, from Disney on).
 */
export const accentLeadFrames24 = 3;

/**
 * Which keys could move onto a beat: to the nearest one, `leadFrames` ahead of it, where that is at most `mostFrames` away. A beat
 * takes one key, the nearest; keys keep their order; one that stands right is not named, nor the pose that the shot begins with, nor one
 * that cannot come there. Rising frames.
 * @param rooms how far each key can be moved, by its id.
 */
export function snapToBeats(
  keys: readonly Key[],
  beats: readonly Beat[],
  leadFrames: number,
  mostFrames: number,
  rooms: ReadonlyMap<string, KeyRoom>,
): SnapProposal[] {
  const wanted = keys.flatMap((key) => {
    const room = rooms.get(key.id);
    if (key.frameIndex === 0 || !room) return [];
    const near = beats.reduce<Beat | null>((best, beat) => {
      const away = Math.abs(beat.frame - leadFrames - key.frameIndex);
      return best === null || away < Math.abs(best.frame - leadFrames - key.frameIndex) ? beat : best;
    }, null);
    if (!near) return [];
    const toFrame = near.frame - leadFrames;
    const byFrames = toFrame - key.frameIndex;
    const isWithin = toFrame >= room.firstFrame && toFrame <= room.lastFrame && Math.abs(byFrames) <= mostFrames;
    return isWithin ? [{ key, beat: near, toFrame, byFrames }] : [];
  });
  const nearest = wanted.filter((w) =>
    wanted.every(
      (other) =>
        other === w ||
        other.beat !== w.beat ||
        Math.abs(other.byFrames) > Math.abs(w.byFrames) ||
        (Math.abs(other.byFrames) === Math.abs(w.byFrames) && other.key.frameIndex > w.key.frameIndex),
    ),
  );
  let kept = nearest.filter((w) => w.byFrames !== 0);
  for (;;) {
    // Whoever stays behind must still stand on the same side; leaving one out may hem in another, so once more.
    const fitting = kept.filter((w) => keepsOrder(w, keys, kept));
    if (fitting.length === kept.length) return kept;
    kept = fitting;
  }
}

function keepsOrder(w: SnapProposal, keys: readonly Key[], moved: readonly SnapProposal[]): boolean {
  const place = (key: Key) => moved.find((m) => m.key === key)?.toFrame ?? key.frameIndex;
  const at = keys.indexOf(w.key);
  const before = keys[at - 1];
  const after = keys[at + 1];
  return (!before || place(before) < w.toFrame) && (!after || place(after) > w.toFrame);
}
