import { frameRunWords, type Hitch, mm, partWords, worstWords } from './hitch.ts';
import { nearestReach } from './lean.ts';
import { standingHeightMm } from './profile.ts';
import type { PuppetMotion } from './puppetMotion.ts';

/** What cannot be reached, in words. */
export function reachHitches(motion: PuppetMotion): Hitch[] {
  const heightMm = standingHeightMm(motion.profile);
  return motion.outOfReach.map((run) => ({
    id: `outOfReach:${run.limb}:${run.firstFrame}`,
    kind: 'outOfReach',
    part: partWords(run.limb),
    firstFrame: run.firstFrame,
    frames: run.frames,
    worstFrame: run.worstFrame,
    worst: run.worstMm,
    unit: 'mm',
    weight: (run.worstMm / heightMm) * 20,
    sentence: `The ${partWords(run.limb)} is ${mm(run.worstMm)} too short to reach, ${frameRunWords(run)}${worstWords(run)}.`,
    why: 'The straight limb against the place where it should stand or hold on.',
    fix: nearestReach(motion, run),
    support: null,
  }));
}
