import { jointWords, type Part } from '../base/joints.ts';
import type { FrameRun, Planted } from '../puppet/puppetMotion.ts';
import type { Plan } from './plan.ts';
import { sheetParts } from './sheetParts.ts';

/** Something about the shot that has to be prepared or watched. */
export interface Finding extends FrameRun {
  /** One sentence for the animator. */
  readonly sentence: string;
}

/** A shot in a few numbers, for its card. Frames from 0. */
export interface ShotFacts {
  readonly frames: number;
  readonly exposures: number;
  readonly poses: number;
  /** All exposures at the book's minutes each. */
  readonly minutes: number;
  /** How many exposures stay 1, 2, 3 … frames, rising by length. */
  readonly lengths: readonly { readonly frames: number; readonly exposures: number }[];
  /** The pose that stays longest; null for a shot of one pose. */
  readonly longestHold: FrameRun | null;
  /** The largest step that a hand is asked for, of the parts on the sheet; null where nothing moves. */
  readonly biggestMove: { readonly joint: Part; readonly mm: number; readonly frame: number } | null;
}

/** What has to be said wherever rigs and tie-downs are named. */
export const setCautions =
  'Rigs and wires hang under load, lamps are hot, and acting out a fall hurts: take the usual care, keep to the rules of your place, and have licensed people do what needs a licence. No strength of a rig, a wire, a tie-down or a joint is reckoned here.';

/** Reads the numbers off a plan. */
export function shotFacts(plan: Plan): ShotFacts {
  const { timing, poses, moves, book } = plan;
  const counts = new Map<number, number>();
  for (const { frames } of timing.exposures) counts.set(frames, (counts.get(frames) ?? 0) + 1);
  const longest = poses.reduce((best, p) => (p.frames > best.frames ? p : best), poses[0]!);
  const parts = sheetParts(plan);
  let biggestMove: ShotFacts['biggestMove'] = null;
  for (const { joint, roundedMm, exposure } of moves)
    if (parts.includes(joint) && roundedMm > (biggestMove?.mm ?? 0))
      biggestMove = { joint, mm: roundedMm, frame: timing.exposures[exposure]!.firstFrame };
  return {
    frames: timing.grid.frameCount,
    exposures: timing.exposures.length,
    poses: poses.length,
    minutes: timing.exposures.length * book.minutesPerExposure,
    lengths: [...counts].sort(([a], [b]) => a - b).map(([frames, exposures]) => ({ frames, exposures })),
    longestHold: poses.length > 1 ? { firstFrame: longest.firstFrame, frames: longest.frames } : null,
    biggestMove,
  };
}

/** When each foot stands, for its tie-downs: "left foot" with its runs, rising. */
export function standingFeet(planted: readonly Planted[]): { readonly words: string; readonly runs: FrameRun[] }[] {
  const words = { foot: 'foot', heel: 'heel', toe: 'toes' } as const;
  return (['left', 'right'] as const).flatMap((side) =>
    (['foot', 'heel', 'toe'] as const).flatMap((on) => {
      const runs = planted.filter((p) => p.side === side && p.on === on);
      return runs.length === 0 ? [] : [{ words: `${side} ${words[on]}`, runs }];
    }),
  );
}

/** "left wrist 12.5 mm to frame 31". */
export function moveWords({ joint, mm, frame }: NonNullable<ShotFacts['biggestMove']>): string {
  return `${jointWords(joint)} ${mm} mm to frame ${frame + 1}`;
}

/** "14 h 10 min", "35 min"; rounded to whole minutes. */
export function hoursWords(minutes: number): string {
  const whole = Math.round(minutes);
  const [h, min] = [Math.floor(whole / 60), whole % 60];
  return [h > 0 ? `${h} h` : '', min > 0 || h === 0 ? `${min} min` : ''].filter(Boolean).join(' ');
}

/** "1–24", or "7" for a single frame; frames from 1. */
export function runWords({ firstFrame, frames }: FrameRun): string {
  return frames === 1 ? `${firstFrame + 1}` : `${firstFrame + 1}–${firstFrame + frames}`;
}

/** "1 frame", "2 frames". */
export function many(count: number, what: string): string {
  return `${count} ${what}${count === 1 ? '' : 's'}`;
}
