import { stepSdOf } from '../track/motion.ts';
import { type ArcFault, faultSize, type PartWords, type Poses } from './arcFault.ts';
import { leastShare, surelySds } from './popFaults.ts';
import { sizeWords } from './sizeUnit.ts';
import type { Timing } from './timing.ts';

/** Steps before and after that go the same way: within 60° of each other. */
const sameWay = 0.5;

/**
 * One pose that goes back, between two steps before and two after that go on the same way. What is measured is how far it goes
 * back along that way.
 */
export function reversalFaults(timing: Timing, poses: Poses, words: PartWords): ArcFault[] {
  const { x, y, frame } = poses;
  const { motion } = timing;
  const leastPx = leastShare * timing.bodyHeightPx;
  const faults: ArcFault[] = [];
  for (let i = 2; i < x.length - 1; i++) {
    const before = [x[i - 1]! - x[i - 2]!, y[i - 1]! - y[i - 2]!] as const;
    const after = [x[i + 1]! - x[i]!, y[i + 1]! - y[i]!] as const;
    const [a, b] = [Math.hypot(...before), Math.hypot(...after)];
    if (!(a > 0 && b > 0) || (before[0] * after[0] + before[1] * after[1]) / (a * b) < sameWay) continue;
    const way = [before[0] / a + after[0] / b, before[1] / a + after[1] / b] as const;
    const length = Math.hypot(...way);
    const along = (k: number) => ((x[k]! - x[k - 1]!) * way[0] + (y[k]! - y[k - 1]!) * way[1]) / length;
    const back = -along(i);
    if (!(back > leastPx)) continue;
    // A part that trembles goes back again and again: that is no single pose gone wrong.
    if (i >= 3 && along(i - 2) < -leastPx) continue;
    if (i < x.length - 2 && along(i + 2) < -leastPx) continue;
    const sd = stepSdOf(motion, poses.part, frame[i - 1]!, frame[i]!);
    const onward = Math.min(along(i - 1), along(i + 1));
    if (!(back > surelySds * sd && onward > Math.max(leastPx / 2, surelySds * sd * 0.5))) continue;
    faults.push({
      kind: 'reversal',
      part: poses.part,
      firstFrame: frame[i]!,
      frames: poses.lasts[i]!,
      atFrame: frame[i]!,
      ...faultSize(timing, back, sd),
      sentence: `The ${words(poses.part)} goes back ${sizeWords(back, timing)} at frame ${frame[i]! + 1}, for one pose only.`,
      why: `The poses before and after it go on the same way, by ${sizeWords(along(i - 1), timing)} and ${sizeWords(along(i + 1), timing)}.`,
    });
  }
  return faults;
}
