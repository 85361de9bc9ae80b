import type { Part } from '../base/joints.ts';
import type { Tracks } from '../track/motion.ts';
import { type PoseSamples, type SampledPath, wanderOf } from './poseSamples.ts';

/**
 * Paths of any parts at the samples of a pose: joints, joints made of others, marked points. Body heights. A part whose place is
 * not known throughout is left out.
 */
export function sampleParts(tracks: Tracks, samples: PoseSamples, parts: readonly Part[]): Map<Part, SampledPath> {
  const found = new Map<Part, SampledPath>();
  const missing = parts.filter((part) => {
    const joint = samples.joints.find((j) => j.joint === part);
    if (joint) found.set(part, joint);
    return !joint;
  });
  if (missing.length === 0) return found;
  const { startSec, stepSec, count } = samples;
  const motion = tracks.at(Float64Array.from({ length: count }, (_, k) => startSec + k * stepSec));
  const scale = 1 / tracks.bodyHeightPx;
  for (const part of missing) {
    const path = motion.paths.get(part);
    if (!path || path.xPx.some(Number.isNaN) || path.yPx.some(Number.isNaN)) continue;
    const x = path.xPx.map((v) => v * scale);
    const y = path.yPx.map((v) => v * scale);
    const sd = path.sdPx.map((v) => (Number.isFinite(v) ? v * scale : 0));
    found.set(part, { x, y, sd: wanderOf(x, y, sd, stepSec) });
  }
  return found;
}
