import type { HandContact } from '../track/handContact.ts';
import type { Motion } from '../track/motion.ts';
import { bendSides, limbAt, reach } from './legs.ts';
import type { PerformerLengths } from './performer.ts';
import { pieceOnPuppet, soft } from './pieces.ts';
import type { Places } from './places.ts';
import type { PuppetSizes } from './profile.ts';
import type { Held, Side } from './puppetMotion.ts';

/** Arm and hand. @returns where the hand holds on. */
export function putArm(
  made: Places,
  motion: Motion,
  side: Side,
  sizes: PuppetSizes,
  truePx: PerformerLengths,
  handContacts: readonly HandContact[],
  fps: number,
  shiftFrames: number,
): Held[] {
  const n = motion.timesSec.length;
  const upper = pieceOnPuppet(motion, `${side}Shoulder`, `${side}Elbow`, sizes.upperArmMm, truePx[`${side}UpperArm`]);
  const fore = pieceOnPuppet(motion, `${side}Elbow`, `${side}Wrist`, sizes.forearmMm, truePx[`${side}Forearm`]);
  const hand = pieceOnPuppet(motion, `${side}Wrist`, `${side}Hand`, sizes.handMm, truePx[`${side}Hand`]);
  const bends = bendSides(upper, fore);
  const own = (k: number): [number, number] => [
    made.x(`${side}Shoulder`, k) + upper.x[k]! + fore.x[k]!,
    made.y(`${side}Shoulder`, k) + upper.y[k]! + fore.y[k]!,
  ];
  const held = handContacts
    .filter((c) => c.hand === `${side}Wrist`)
    .flatMap((c): Held[] => {
      const within = [...motion.timesSec.keys()].filter(
        (k) => motion.timesSec[k]! >= c.startSec - 0.5 / fps && motion.timesSec[k]! <= c.endSec + 1e-6,
      );
      const [first, last] = [within[0], within.at(-1)];
      if (first === undefined || last === undefined) return [];
      const [xMm, yMm] = own(first);
      return [{ side, firstFrame: first, frames: last - first + 1, xMm, yMm }];
    });
  for (let k = 0; k < n; k++) {
    const shoulder: [number, number] = [made.x(`${side}Shoulder`, k), made.y(`${side}Shoulder`, k)];
    const run = held.find((h) => k >= h.firstFrame && k < h.firstFrame + h.frames);
    let target = own(k);
    if (run) target = [run.xMm, run.yMm];
    else {
      // Off the thing it let go of, the hand comes back to its own way softly.
      const before = held.findLast((h) => h.firstFrame + h.frames <= k && k - lastOf(h) < shiftFrames);
      if (before) {
        const [ox, oy] = own(lastOf(before));
        const left = 1 - soft((k - lastOf(before)) / shiftFrames);
        target = [target[0] + left * (before.xMm - ox), target[1] + left * (before.yMm - oy)];
      }
    }
    const bent = reach(shoulder, target, limbAt(upper, fore, k), sizes.upperArmMm, sizes.forearmMm, bends[k]!);
    made.put(`${side}Elbow`, k, ...bent.middle, bent.middleZ);
    made.put(`${side}Wrist`, k, ...bent.end, bent.endZ);
    made.put(`${side}Hand`, k, bent.end[0] + hand.x[k]!, bent.end[1] + hand.y[k]!, hand.z[k]!);
  }
  return held;
}

function lastOf({ firstFrame, frames }: Held): number {
  return firstFrame + frames - 1;
}
