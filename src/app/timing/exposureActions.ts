import type { OnFrames } from '../../timing/timing.ts';
import type { Session } from '../session.svelte.ts';
import { markSpanOfShot } from './spanMark.ts';

/** The frame under the playhead is exposed whatever is computed, or no longer has to be. */
export function lockExposureHere(session: Session): void {
  if (session.clock !== 'shot' || !session.shotTiming) return;
  const frame = session.playhead.frame;
  const { exposedFrames } = session.book;
  const isLocked = exposedFrames.includes(frame);
  const frames = isLocked ? exposedFrames.filter((f) => f !== frame) : [...exposedFrames, frame];
  session.edit({ kind: 'setExposedFrames', frames });
  session.say(isLocked ? `Frame ${frame + 1} need not be exposed` : `Frame ${frame + 1} is always exposed`);
}

/** Frames are exposed whatever is computed, besides those that are already. */
export function exposeFrames(session: Session, frames: readonly number[]): void {
  session.edit({ kind: 'setExposedFrames', frames: [...new Set([...session.book.exposedFrames, ...frames])] });
  const [first] = frames;
  if (first === undefined) return;
  session.say(
    frames.length === 1 ? `Frame ${first + 1} is always exposed` : `${frames.length} frames are always exposed`,
  );
}

/** Exposes a span of the shot by hand, over what was laid there before. */
export function exposeByHand(session: Session, firstFrame: number, frames: number, onFrames: OnFrames): void {
  session.edit({ kind: 'setExposureSpans', spans: [...session.book.exposureSpans, { firstFrame, frames, onFrames }] });
}

/** Begins a span that is exposed by hand at the playhead; the second time it ends there. */
export function markExposureSpan(session: Session, onFrames: OnFrames): void {
  const span = markSpanOfShot(session, 'exposingFrom');
  if (span) exposeByHand(session, span[0], span[1] - span[0] + 1, onFrames);
}
