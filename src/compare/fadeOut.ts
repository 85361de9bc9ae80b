/** What is to go: how far something is off at a moment, and how fast it grows there (per frame). */
export interface Offset {
  readonly by: number;
  readonly perFrame: number;
}

/** What grows at a moment has stopped growing within so many frames: longer, and it would carry the puppet far off. */
const mostFrames = 8;

/**
 * An offset on its way to nothing: as large and as fast as it is at frame 0, gone at `frames`, with velocity and acceleration 0 at the
 * end (the polynomial of least jerk between these ends; Flash & Hogan 1985, from memory).
 * @param at frames since; before 0 as at 0, after `frames` 0.
 */
export function fadeOut({ by, perFrame }: Offset, at: number, frames: number): number {
  if (at <= 0) return by;
  if (at >= frames) return 0;
  const u = at / frames;
  const left = 1 - u * u * u * (10 - 15 * u + 6 * u * u);
  const short = Math.min(frames, mostFrames);
  const v = at / short;
  const run = v < 1 ? v - v * v * v * (6 - 8 * v + 3 * v * v) : 0;
  return by * left + perFrame * short * run;
}

/** A rate without what it may err by: nothing where it is not larger than its errors. */
export function sureRate(perFrame: number, sd: number): number {
  const share = perFrame === 0 ? 1 : (1.5 * sd) / Math.abs(perFrame);
  return share < 1 ? perFrame * (1 - share * share) : 0;
}
