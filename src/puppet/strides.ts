import type { Part } from '../base/joints.ts';
import type { JointPath, Motion } from '../track/motion.ts';
import { soft } from './pieces.ts';
import type { FrameRun } from './puppetMotion.ts';

/** Legs come into the longer or shorter stride and out of it within so many frames: the poses around the walk stay. */
const leadFrames = 8;
/** Strides are made this much shorter or longer at most: beyond, legs would not reach or would trip. */
const mostChange = 1.3;

/**
 * Every stride of a walk made longer or shorter along the picture, so that it ends where it should: legs swing further or less far
 * beside the hips, and all goes on by as much. Heights stay, so feet come down as they did.
 * @param by 1.1 = a tenth longer; held within what legs can do.
 */
export function withStrides(motion: Motion, { firstFrame, frames }: FrameRun, by: number): Motion {
  const pelvis = motion.paths.get('pelvis');
  const factor = Math.max(1 / mostChange, Math.min(mostChange, by));
  if (!pelvis || Math.abs(factor - 1) < 1e-3) return motion;
  const last = firstFrame + frames;
  const swung = (k: number) => 1 + (factor - 1) * soft(Math.min(k - firstFrame, last - k) / leadFrames);
  const further = (k: number) =>
    k <= firstFrame ? 0 : (factor - 1) * (pelvis.xPx[Math.min(k, last)]! - pelvis.xPx[firstFrame]!);
  const paths = new Map<Part, JointPath>();
  for (const [part, path] of motion.paths) {
    const isOfLeg = /Knee|Ankle|Heel|Toe/.test(part);
    paths.set(part, {
      ...path,
      xPx: path.xPx.map((x, k) => {
        const hip = pelvis.xPx[k]!;
        return (isOfLeg ? hip + swung(k) * (x - hip) : x) + further(k);
      }),
    });
  }
  return { ...motion, paths };
}
