import type { Hold, Key } from '../timing/timing.ts';
import type { TrueKey } from './benchTruth.ts';

/** How well keys or holds were found. */
export interface FoundScore {
  readonly authored: number;
  readonly found: number;
  /** Authored ones that were found in time. */
  readonly hit: number;
  /** Found ones that answer to no authored one. */
  readonly extra: number;
}

/**
 * Keys against authored poses. A turning point must be found within one frame. A held pose may be found at either end of
 * its hold or inside it, within two frames: an eased move starts and ends softly (a minimum-jerk move has gone 1 % of its
 * way after 10 % of its time), so nobody can see these ends more sharply.
 * @param frameSec one frame of the shot, seconds
 */
export function scoreKeys(keys: readonly Key[], truth: readonly TrueKey[], frameSec: number): FoundScore {
  const spans = truth.map(({ arriveSec, leaveSec }) => {
    // A hair over whole frames, so that a rounded time stamp decides nothing.
    const tolerance = (leaveSec > arriveSec ? 2.01 : 1.01) * frameSec;
    return { from: arriveSec - tolerance, to: leaveSec + tolerance };
  });
  const used = new Set<Key>();
  let hit = 0;
  for (const { from, to } of spans) {
    const key = keys.find((k) => !used.has(k) && k.takeSec >= from && k.takeSec <= to);
    if (!key) continue;
    used.add(key);
    hit++;
  }
  // Both ends of one hold may be keys: the second is no extra pose.
  const extra = keys.filter((k) => !used.has(k) && !spans.some((s) => k.takeSec >= s.from && k.takeSec <= s.to)).length;
  return { authored: truth.length, found: keys.length, hit, extra };
}

/**
 * Holds against authored ones: both ends within two frames.
 * @param takeTimeSec take time of each frame of the shot
 */
export function scoreHolds(
  holds: readonly Hold[],
  truth: readonly { readonly startSec: number; readonly endSec: number }[],
  takeTimeSec: Float64Array,
  frameSec: number,
): FoundScore {
  const tolerance = 2.01 * frameSec;
  const at = (frame: number) => takeTimeSec[Math.min(frame, takeTimeSec.length - 1)] ?? Number.NaN;
  const spans = holds.map((h) => ({ startSec: at(h.firstFrame), endSec: at(h.firstFrame + h.frames - 1) }));
  const fits = (a: { startSec: number; endSec: number }, b: { startSec: number; endSec: number }) =>
    Math.abs(a.startSec - b.startSec) <= tolerance && Math.abs(a.endSec - b.endSec) <= tolerance;
  return {
    authored: truth.length,
    found: spans.length,
    hit: truth.filter((t) => spans.some((s) => fits(s, t))).length,
    extra: spans.filter((s) => !truth.some((t) => fits(s, t))).length,
  };
}
