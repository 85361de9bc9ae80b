import { good, type Outcome } from '../base/failure.ts';
import type { Footage } from '../base/footage.ts';
import type { PropId } from '../base/joints.ts';
import { WorkerCalls } from '../ingest/calls.ts';
import type { TakeSource } from '../ingest/openTake.ts';
import type { DueLeg, FollowedLeg } from '../track/followedProp.ts';
import type { DetectCalls, PointLeg } from './protocol.ts';

/** What is heard while marked points are followed. */
export interface PointHooks {
  /** A leg is done. */
  readonly onLeg: (id: PropId, leg: FollowedLeg) => void;
  /** So many pictures of those to be looked at have been. */
  readonly onPace?: ((done: number, total: number) => void) | undefined;
  readonly signal?: AbortSignal | undefined;
}

/** Follows marked points in a worker of its own. Keep one for several times. */
export class PointsFollower {
  #worker: WorkerCalls<DetectCalls> | null = null;

  /**
   * Follows the legs given; those done are told by `hooks` and stand even when it is cancelled or fails.
   * @param stillsRate pictures per second of numbered stills.
   */
  async follow(
    source: TakeSource,
    footage: Footage,
    stillsRate: number,
    due: readonly DueLeg[],
    hooks: PointHooks,
  ): Promise<Outcome<null>> {
    const { timesSec } = footage;
    const legs = due.map(
      ({ mark, untilSec, known }, leg): PointLeg => ({
        leg,
        from: nearest(timesSec, mark.takeSec),
        to: nearest(timesSec, untilSec),
        xPx: mark.xPx,
        yPx: mark.yPx,
        knownXPx: known?.xPx ?? new Float64Array(0),
      }),
    );
    if (legs.length === 0) return good(null);
    this.#worker ??= new WorkerCalls<DetectCalls>(
      new Worker(new URL('./detect.worker.ts', import.meta.url), { type: 'module', name: 'points' }),
    );
    return this.#worker.call(
      'followPoints',
      {
        source: source instanceof File ? source : [...source],
        stillsRate,
        backend: null,
        pixelWay: null,
        stampsSec: timesSec.map((time) => time + footage.firstStampSec),
        legs,
      },
      {
        signal: hooks.signal,
        onProgress: (told) => {
          if (told.kind === 'pace') return hooks.onPace?.(told.done, told.total);
          const { id, mark, direction } = due[told.leg]!;
          const { from } = legs[told.leg]!;
          const { xPx, yPx, sdPx, lost } = told.trace;
          hooks.onLeg(id, {
            mark,
            direction,
            timesSec: xPx.map((_, k) => timesSec[from + k * direction]!),
            xPx,
            yPx,
            sdPx,
            lost: lost && { takeSec: timesSec[lost.picture]!, why: lost.why, xPx: lost.xPx, yPx: lost.yPx },
          });
        },
      },
    );
  }

  /** Ends the worker. */
  close(): void {
    this.#worker?.close();
    this.#worker = null;
  }
}

/** The picture whose time is nearest. */
function nearest(timesSec: Float64Array, sec: number): number {
  let best = 0;
  for (let i = 1; i < timesSec.length; i++)
    if (Math.abs(timesSec[i]! - sec) < Math.abs(timesSec[best]! - sec)) best = i;
  return best;
}
