import { frameRunWords, type Hitch, mm } from './hitch.ts';
import type { FrameRun } from './puppetMotion.ts';

/** What comes with every step. */
const kinds = ['offBalance', 'heelOrToe', 'sliding'] as const;

/**
 * Steps of a walk lean out of balance one after the other, or go over the toes: that is told once for each walk, with the worst of
 * them, not step by step.
 */
export function oncePerWalk(hitches: readonly Hitch[], walks: readonly FrameRun[]): Hitch[] {
  const rest = new Set(hitches);
  const told = walks.flatMap((walk) =>
    kinds.flatMap((kind): Hitch[] => {
      const within = [...rest].filter((h) => h.kind === kind && overlaps(h, walk));
      if (within.length < 2) return [];
      for (const hitch of within) rest.delete(hitch);
      return [ofWalk(within, kind)];
    }),
  );
  return [...rest, ...told];
}

function overlaps(a: FrameRun, b: FrameRun): boolean {
  return a.firstFrame < b.firstFrame + b.frames && b.firstFrame < a.firstFrame + a.frames;
}

function ofWalk(all: readonly Hitch[], kind: (typeof kinds)[number]): Hitch {
  const worst = all.reduce((a, b) => (b.worst > a.worst ? b : a));
  const firstFrame = Math.min(...all.map((h) => h.firstFrame));
  const run = { firstFrame, frames: Math.max(...all.map((h) => h.firstFrame + h.frames)) - firstFrame };
  const support = all.some((h) => h.support === 'rig') ? 'rig' : 'tie-down';
  const hold = support === 'rig' ? 'prepare a rig' : 'prepare tie-downs on each foot in turn';
  const what =
    kind === 'offBalance'
      ? `the weight lies beside the feet that stand ${all.length} times, ${mm(worst.worst)} at worst, at ${worst.worstFrame + 1}`
      : kind === 'heelOrToe'
        ? `it stands on heel or toes alone ${all.length} times`
        : `no foot stands still ${all.length} times`;
  const fixes = all.flatMap(({ fix }) => (fix ? [fix] : []));
  return {
    ...worst,
    ...run,
    id: `${kind}:walk:${firstFrame}`,
    sentence: `While it walks, ${frameRunWords(run)}, ${what}: ${hold}.`,
    fix:
      fixes.length === all.length
        ? {
            id: `overFeet:${firstFrame}`,
            kind: 'overFeet',
            startSec: Math.min(...fixes.map((f) => f.startSec)),
            endSec: Math.max(...fixes.map((f) => f.endSec)),
          }
        : null,
    support,
  };
}
