import { stepSdOf } from '../track/motion.ts';
import { type ArcFault, type FaultPoses, faultSize, type PartWords, posesOf } from './arcFault.ts';
import { surelySds } from './popFaults.ts';
import { sizeWords } from './sizeUnit.ts';
import type { Timing } from './timing.ts';

/** A leg is nearly straight within this of 180°. */
const straightDeg = 5;
/** A step smaller than this is no snap. */
const leastStepDeg = 6;
/** A snap is this many times the larger of the steps before and after it. */
const timesNeighbours = 2.2;

/**
 * Knees that leap into or out of the straight leg: a step of the knee's angle, as seen from the camera, that is far larger than
 * the steps before and after it, with the leg nearly straight on one side of it. The size is how far the knee leaps sideways
 * of the line from hip to ankle, beyond what the neighbouring steps would do.
 */
export function kneeFaults(timing: Timing, which: FaultPoses, words: PartWords): ArcFault[] {
  const faults: ArcFault[] = [];
  for (const side of ['left', 'right'] as const) {
    const [hip, knee, ankle] = [`${side}Hip`, `${side}Knee`, `${side}Ankle`] as const;
    const [h, k, a] = [hip, knee, ankle].map((joint) => posesOf(timing, joint, which));
    if (!h || !k || !a) continue;
    // Signed, so that a leg that goes through the straight line does not seem to bounce off it.
    const bend = k.frame.map((_, i) => {
      const [tx, ty] = [k.x[i]! - h.x[i]!, k.y[i]! - h.y[i]!];
      const [sx, sy] = [a.x[i]! - k.x[i]!, a.y[i]! - k.y[i]!];
      return (Math.atan2(tx * sy - ty * sx, tx * sx + ty * sy) * 180) / Math.PI;
    });
    for (let i = 2; i < bend.length - 1; i++) {
      const step = bend[i]! - bend[i - 1]!;
      const around = Math.max(Math.abs(bend[i - 1]! - bend[i - 2]!), Math.abs(bend[i + 1]! - bend[i]!));
      if (!(Math.abs(step) > leastStepDeg && Math.abs(step) > timesNeighbours * around)) continue;
      if (Math.min(Math.abs(bend[i]!), Math.abs(bend[i - 1]!)) > straightDeg) continue;
      const shank = Math.hypot(a.x[i]! - k.x[i]!, a.y[i]! - k.y[i]!);
      const thigh = Math.hypot(k.x[i]! - h.x[i]!, k.y[i]! - h.y[i]!);
      const leap = ((Math.abs(step) - around) * Math.PI) / 180;
      // The knee's distance from the line between hip and ankle per radian of bend.
      const sizePx = (leap * shank * thigh) / (shank + thigh);
      const [f, g] = [k.frame[i - 1]!, k.frame[i]!];
      const sd = Math.hypot(
        stepSdOf(timing.motion, knee, f, g),
        stepSdOf(timing.motion, hip, f, g) / 2,
        stepSdOf(timing.motion, ankle, f, g) / 2,
      );
      if (!(sizePx > surelySds * sd)) continue;
      const into = Math.abs(bend[i]!) < Math.abs(bend[i - 1]!);
      faults.push({
        kind: 'kneeSnap',
        part: knee,
        firstFrame: g,
        frames: k.lasts[i]!,
        atFrame: g,
        ...faultSize(timing, sizePx, sd),
        sentence: `The ${words(knee)} snaps ${into ? 'straight' : 'out of the straight leg'} at frame ${g + 1}, by ${Math.round(Math.abs(step))}° in one pose.`,
        why: `The steps before and after it are at most ${Math.round(around)}°; beyond that the knee leaps ${sizeWords(sizePx, timing)} to the side.`,
      });
    }
  }
  return faults;
}
