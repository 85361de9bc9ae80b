import type { PuppetJoint, PuppetMotion, PuppetPath } from '../puppet/puppetMotion.ts';
import { columnAt } from './places.ts';

/** Paths that may be written into without changing those of the motion. */
export function copyOf(paths: PuppetMotion['paths']): Map<PuppetJoint, PuppetPath> {
  return new Map(
    [...paths].map(([joint, path]) => [
      joint,
      { ...path, xMm: path.xMm.slice(), yMm: path.yMm.slice(), zMm: path.zMm.slice() },
    ]),
  );
}

/** The plan laid over other frames, from one of the shot's to before a key; feet and hands stand and hold when their plan does. */
export function retimed(
  motion: PuppetMotion,
  from: number,
  keyFrame: number,
  planAt: (frame: number) => number,
): PuppetMotion {
  const paths = copyOf(motion.paths);
  for (const [joint, path] of motion.paths) {
    const to = paths.get(joint)!;
    for (let k = from; k < keyFrame; k++) {
      to.xMm[k] = columnAt(path.xMm, planAt(k));
      to.yMm[k] = columnAt(path.yMm, planAt(k));
      to.zMm[k] = columnAt(path.zMm, planAt(k));
    }
  }
  const moved = <T extends { readonly firstFrame: number; readonly frames: number }>(run: T): T[] => {
    const within = (f: number) => f >= run.firstFrame - 1e-6 && f <= run.firstFrame + run.frames - 1 + 1e-6;
    const frames: number[] = [];
    for (let k = 0; k < motion.followed.timesSec.length; k++)
      if (within(k >= from && k < keyFrame ? planAt(k) : k)) frames.push(k);
    return frames.length === 0 ? [] : [{ ...run, firstFrame: frames[0]!, frames: frames.at(-1)! - frames[0]! + 1 }];
  };
  for (const run of motion.planted) {
    const joints = { foot: ['Ankle', 'Heel', 'Toe'], heel: ['Heel'], toe: ['Toe'] } as const;
    for (const part of joints[run.on]) {
      const [was, to] = [motion.paths.get(`${run.side}${part}`), paths.get(`${run.side}${part}`)];
      if (!was || !to) continue;
      // What stands does not move by a hair, though curves between frames would bend before it is lifted.
      for (const { firstFrame, frames } of moved(run))
        for (let k = Math.max(from, firstFrame); k < Math.min(keyFrame, firstFrame + frames); k++) {
          to.xMm[k] = was.xMm[run.firstFrame]!;
          to.yMm[k] = was.yMm[run.firstFrame]!;
        }
    }
  }
  return { ...motion, paths, planted: motion.planted.flatMap(moved), held: motion.held.flatMap(moved) };
}
