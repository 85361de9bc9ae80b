import type { Plan } from '../../plan/plan.ts';
import { listPopThrough } from '../../plan/popThrough.ts';

/** The smallest and largest side of a picture that is written: beyond, no camera delivers and no canvas holds. */
export const leastSide = 16;
/** See `leastSide`. */
export const mostSide = 8192;

/** Which pictures get an overlay. */
export type OverlayFor = 'exposures' | 'frames';
/** What a movie plays: the keys, each held until the next; or every exposure. */
export type MovieOf = 'popThrough' | 'asExposed';
/** What is seen in a movie: the take's pictures, or the puppet. */
export type MovieShows = 'photo' | 'puppet';

/** A side of a picture that can be written, whole pixels; `otherwise` for what is no number. */
export function sideWithin(px: number, otherwise: number): number {
  if (!Number.isFinite(px)) return otherwise;
  return Math.min(mostSide, Math.max(leastSide, Math.round(px)));
}

/** The name of a frame's overlay; `frame` from 0, the name counts from 1: "shot_0001.png". */
export function overlayName(frame: number): string {
  return `shot_${String(frame + 1).padStart(4, '0')}.png`;
}

/** The frames (from 0) that get an overlay: the first of every exposure, or all. */
export function overlayFrames({ timing }: Plan, of: OverlayFor): number[] {
  if (of === 'exposures') return timing.exposures.map((e) => e.firstFrame);
  return Array.from({ length: timing.grid.frameCount }, (_, k) => k);
}

/** A picture of a movie and for how long it stays. */
export interface MovieHold {
  /** The frame (from 0) whose pose is seen. */
  readonly poseFrame: number;
  /** The moment of the take whose photo is seen, seconds. */
  readonly takeSec: number;
  /** The sheet's number of the pose. */
  readonly poseNumber: number;
  /** First frame (from 0) that shows it, and how many. Holds tile the shot. */
  readonly firstFrame: number;
  readonly frames: number;
}

/** What a movie shows, in order; its frames add up to the shot's. */
export function movieHolds(plan: Plan, of: MovieOf): MovieHold[] {
  if (of === 'popThrough')
    return listPopThrough(plan).map(({ poseFrame, takeSec, poseNumber, firstFrame, frames }) => ({
      ...{ poseFrame, takeSec, poseNumber, firstFrame, frames },
    }));
  const { timing, poses } = plan;
  return timing.exposures.map(({ firstFrame, frames }) => {
    const pose = poses.findLast((p) => p.firstFrame <= firstFrame);
    return {
      poseFrame: firstFrame,
      takeSec: timing.takeTimeSec[firstFrame] ?? 0,
      poseNumber: pose?.number ?? 1,
      ...{ firstFrame, frames },
    };
  });
}

/** The name of a movie without its ending. */
export function movieName(of: MovieOf, shows: MovieShows): string {
  return `${of === 'popThrough' ? 'pop-through' : 'as-exposed'}${shows === 'puppet' ? '-puppet' : ''}`;
}

/** Bytes as people say them: "840 kB", "12.3 MB". */
export function sizeWords(bytes: number): string {
  return bytes < 999_500 ? `${Math.max(1, Math.round(bytes / 1e3))} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}
