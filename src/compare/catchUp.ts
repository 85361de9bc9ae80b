import { hermite } from '../base/pchip.ts';

/** The plan's time at frames of the shot: an early or late shot that is on time again at a key. */
export interface CatchUp {
  /** The last shot frame, and the plan's frame it shows. */
  readonly fromFrame: number;
  readonly fromPlan: number;
  /** The plan's frames for one of the shot there. */
  readonly speed: number;
  /** The key, met on its frame. */
  readonly keyFrame: number;
}

/**
 * The frame of the plan to show at a frame of the shot: on from where the shot is, as fast as it goes, on time at the key and at the
 * plan's own speed there; never back (slopes held within three times the mean: Fritsch & Carlson 1980, from memory).
 */
export function planFrameFor({ fromFrame, fromPlan, speed, keyFrame }: CatchUp, frame: number): number {
  if (frame >= keyFrame) return frame;
  const span = keyFrame - fromFrame;
  const most = (3 * (keyFrame - fromPlan)) / span;
  const slope = (v: number) => Math.max(0, Math.min(most, v));
  return hermite(span, fromPlan, keyFrame, slope(speed), slope(1), (frame - fromFrame) / span);
}
