import { fpsOf } from '../base/frameRate.ts';
import type { Timing } from './timing.ts';

/** What places a moment of the take in the shot. */
export type ShotClock = Pick<Timing, 'map' | 'grid'>;

/**
 * The frame of the shot (from 0, fractional) at which a moment of the take is shown first, or last where it is held. Before and
 * after the shot it goes on at the shot's rate.
 * @param takeSec take seconds.
 */
export function frameOfTakeSec(clock: ShotClock, takeSec: number, shown: 'first' | 'last' = 'first'): number {
  const sec = shown === 'first' ? clock.map.shotAt(takeSec) : clock.map.lastShotAt(takeSec);
  return sec * fpsOf(clock.grid.rate);
}

/**
 * A span of the take as whole frames of the shot: at least one, within the shot. What is held at its start or its end lies
 * outside it.
 */
export function framesOfSpan(
  clock: ShotClock,
  startSec: number,
  endSec: number,
): { readonly firstFrame: number; readonly frames: number } {
  const count = clock.grid.frameCount;
  const first = Math.max(0, Math.min(count - 1, Math.round(frameOfTakeSec(clock, startSec, 'last'))));
  const end = Math.min(count, Math.round(frameOfTakeSec(clock, endSec)));
  return { firstFrame: first, frames: Math.max(1, end - first) };
}

/**
 * Frames of the shot (fractional, signed) from one moment of the take to another, without those in which a moment between them
 * is held.
 */
export function movingFramesBetween(clock: ShotClock, fromSec: number, toSec: number): number {
  if (toSec < fromSec) return -movingFramesBetween(clock, toSec, fromSec);
  const { knots } = clock.map;
  const heldSec = knots.reduce((sum, knot, i) => {
    const before = knots[i - 1];
    const isHeld = before !== undefined && before.takeSec === knot.takeSec;
    return isHeld && knot.takeSec > fromSec && knot.takeSec < toSec ? sum + knot.shotSec - before.shotSec : sum;
  }, 0);
  return frameOfTakeSec(clock, toSec) - frameOfTakeSec(clock, fromSec, 'last') - heldSec * fpsOf(clock.grid.rate);
}
