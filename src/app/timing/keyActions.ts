import type { Key } from '../../timing/timing.ts';
import type { Session } from '../session.svelte.ts';
import { moveKeyInTime } from './retimeActions.ts';

/** The key whose frame this is, or null. */
export function keyAt(session: Session, frame: number): Key | null {
  return session.timing?.keys.find((k) => k.frameIndex === frame) ?? null;
}

/** Goes to the next key (direction 1) or the one before (−1). */
export function stepToKey(session: Session, direction: 1 | -1): void {
  const keys = session.timing?.keys ?? [];
  const here = session.playhead.frame;
  const next = direction > 0 ? keys.find((k) => k.frameIndex > here) : keys.findLast((k) => k.frameIndex < here);
  if (!next) return;
  session.playhead.pause();
  session.playhead.goTo(next.frameIndex);
  session.say(keyWords(session, next));
}

/** Makes the frame under the playhead a key; a computed key there becomes the animator's; a locked one is given back. */
export function pinHere(session: Session): void {
  const frame = session.playhead.frame;
  const key = keyAt(session, frame);
  if (key?.locked) {
    session.edit({ kind: 'unpinKey', id: key.id });
    session.say(`Frame ${frame + 1}: key unlocked`);
    return;
  }
  const takeSec = key?.takeSec ?? session.frameTimesSec[frame];
  if (takeSec === undefined || !session.timing) return;
  session.edit({ kind: 'pinKey', key: { id: pinId(), takeSec, kind: key?.kind ?? 'key', name: key?.name ?? '' } });
  session.say(key ? `Frame ${frame + 1}: key locked` : `Frame ${frame + 1} is a key now`);
}

/** Makes a moment of the take, which stands on `frame`, a key of the animator's. */
export function pinMoment(session: Session, takeSec: number, frame: number): void {
  session.playhead.pause();
  session.edit({ kind: 'pinKey', key: { id: pinId(), takeSec, kind: 'key', name: '' } });
  session.playhead.goTo(frame);
  session.say(`Frame ${frame + 1} is a key now`);
}

/** Takes the key under the playhead away. */
export function removeHere(session: Session): void {
  const key = keyAt(session, session.playhead.frame);
  if (!key) return;
  session.edit({ kind: 'removeKey', id: key.id, takeSec: key.takeSec });
  session.say(`Frame ${key.frameIndex + 1} is no key any more`);
}

/** The pose under the playhead falls so many frames later (earlier when negative), and the playhead goes with it. */
export function moveKeyHere(session: Session, frames: number): void {
  const key = keyAt(session, session.playhead.frame);
  if (!key || !session.timing) return;
  moveKeyInTime(session, session.timing, key, key.frameIndex + frames);
  const moved = session.timing.keys.find((k) => k.id === key.id);
  if (!moved || moved.frameIndex === key.frameIndex) return;
  session.playhead.goTo(moved.frameIndex);
  session.say(`Key at frame ${moved.frameIndex + 1} now`);
}

/** The key under the playhead is another moment of the take, so many frames beside it; the timing of the shot stays. */
export function choosePoseHere(session: Session, frames: number): void {
  const key = keyAt(session, session.playhead.frame);
  if (key) moveKeyTo(session, key, key.frameIndex + frames, null);
}

/**
 * Makes another moment of the take the key: the one that is shown at a frame (clamped to the shot). The moved key is the
 * animator's. Moves of one `gesture` are undone together.
 */
export function moveKeyTo(session: Session, key: Key, toFrame: number, gesture: string | null): string {
  const last = (session.grid?.frameCount ?? 1) - 1;
  const frame = Math.max(0, Math.min(last, toFrame));
  const takeSec = session.frameTimesSec[frame];
  if (takeSec === undefined || frame === key.frameIndex) return key.id;
  const id = key.locked ? key.id : pinId();
  session.edit(
    { kind: 'moveKey', id: key.id, fromSec: key.takeSec, key: { id, takeSec, kind: key.kind, name: key.name } },
    gesture,
  );
  session.playhead.goTo(frame);
  session.say(`Key moved to frame ${frame + 1}`);
  return id;
}

/** "Frame 14 of 96, key, left wrist turns". */
export function keyWords(session: Session, key: Key): string {
  return `Frame ${key.frameIndex + 1} of ${session.grid?.frameCount ?? 0}, ${key.kind}, ${key.reasons.join(', ')}`;
}

function pinId(): string {
  return `p${crypto.randomUUID().slice(0, 8)}`;
}
