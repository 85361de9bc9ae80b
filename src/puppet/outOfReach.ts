import { runsWhere } from './frameRuns.ts';
import type { Held, OutOfReach, PuppetJoint, PuppetPath } from './puppetMotion.ts';

/** A thousandth of a millimetre is no distance. */
const leastShortMm = 1e-3;

/** Runs in which a limb stays short of where it should be. @param mm by how much at each frame. */
export function shortRuns(limb: OutOfReach['limb'], mm: Float64Array): OutOfReach[] {
  return runsWhere(mm.length, (k) => mm[k]! > leastShortMm).map((run) => {
    let worst = run.firstFrame;
    for (let k = run.firstFrame; k < run.firstFrame + run.frames; k++) if (mm[k]! > mm[worst]!) worst = k;
    return { ...run, limb, worstMm: mm[worst]!, worstFrame: worst };
  });
}

/** Arms that stay short of what their hands hold on to. */
export function shortArms(paths: ReadonlyMap<PuppetJoint, PuppetPath>, held: readonly Held[]): OutOfReach[] {
  return (['left', 'right'] as const).flatMap((side) => {
    const wrist = paths.get(`${side}Wrist`);
    if (!wrist) return [];
    const mm = new Float64Array(wrist.xMm.length);
    for (const { side: of, firstFrame, frames, xMm, yMm } of held)
      for (let k = firstFrame; of === side && k < firstFrame + frames; k++)
        mm[k] = Math.hypot(wrist.xMm[k]! - xMm, wrist.yMm[k]! - yMm);
    return shortRuns(`${side}Arm`, mm);
  });
}
