import type { Key, Timing } from '../timing/timing.ts';

/**
 * One position of the puppet that a hand has to set. Exposures inside a hold show the pose before them again and have no
 * pose of their own.
 */
export interface Pose {
  /** Counted from 1 in shooting order; what the sheet, the pop-through list and the animator call it. */
  readonly number: number;
  /** Index of the exposure that shows it first, and how many exposures in a row show it. */
  readonly firstExposure: number;
  readonly exposureCount: number;
  /** First frame (from 0) and how many frames it stays on screen. Poses tile the shot. */
  readonly firstFrame: number;
  readonly frames: number;
  /** The key that it is, or null for an in-between. */
  readonly key: Key | null;
}

/** Index of the exposure that is on screen at each frame, or −1 where none is. Shape [frame]. */
export function exposureAtFrame(timing: Timing): Int32Array {
  const at = new Int32Array(timing.grid.frameCount).fill(-1);
  for (const [i, e] of timing.exposures.entries()) at.fill(i, e.firstFrame, e.firstFrame + e.frames);
  return at;
}

/** The key shown by each exposure (a key before a breakdown where both fall into one), null where none. Shape [exposure]. */
export function keyOfExposure(timing: Timing): (Key | null)[] {
  const at = exposureAtFrame(timing);
  const found: (Key | null)[] = timing.exposures.map(() => null);
  for (const key of timing.keys) {
    const exposure = at[key.frameIndex] ?? -1;
    if (exposure < 0) continue;
    const before = found[exposure];
    if (!before || (before.kind === 'breakdown' && key.kind === 'key')) found[exposure] = key;
  }
  return found;
}

/**
 * True for exposures that repeat the pose before them because the shot holds. The hold's own first picture is not among
 * them, nor is a key: a key inside a hold is a pose that somebody asked for. Shape [exposure].
 */
export function heldExposures(timing: Timing): boolean[] {
  const keys = keyOfExposure(timing);
  return timing.exposures.map((e, i) => {
    if (i === 0 || keys[i]) return false;
    const end = e.firstFrame + e.frames;
    return timing.holds.some((h) => h.kind === 'hold' && h.firstFrame < e.firstFrame && end <= h.firstFrame + h.frames);
  });
}

/** The poses of a shot in shooting order. Their frames add up to the shot's. */
export function listPoses(timing: Timing): Pose[] {
  const held = heldExposures(timing);
  const keys = keyOfExposure(timing);
  const poses: Pose[] = [];
  for (const [i, e] of timing.exposures.entries()) {
    const last = poses.at(-1);
    if (held[i] && last) {
      poses[poses.length - 1] = {
        ...last,
        exposureCount: last.exposureCount + 1,
        frames: last.frames + e.frames,
      };
    } else {
      poses.push({
        number: poses.length + 1,
        firstExposure: i,
        exposureCount: 1,
        firstFrame: e.firstFrame,
        frames: e.frames,
        key: keys[i] ?? null,
      });
    }
  }
  return poses;
}

/** The pose on screen at a frame; null before the first. Poses tile the shot. */
export function poseOnScreen(poses: readonly Pose[], frame: number): Pose | null {
  return poses.find((p) => p.firstFrame <= frame && frame < p.firstFrame + p.frames) ?? null;
}
