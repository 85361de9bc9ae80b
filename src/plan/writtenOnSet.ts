import type { Plan } from './plan.ts';
import { keyOfExposure } from './poses.ts';
import { sheetParts } from './sheetParts.ts';

/** Every way in which something is written at the set over a whole shot, each once: the widest has its room in every exposure. */
export interface WrittenOnSet {
  /** Millimetres of the parts on the sheet, "12.5", and degrees, "24°". */
  readonly mm: readonly string[];
  readonly deg: readonly string[];
  /** Is a move guessed or in depth anywhere? */
  readonly hasDoubt: boolean;
  /** Frames that an exposure stays, and exposures from one key to the next. */
  readonly stays: readonly string[];
  readonly ahead: readonly string[];
}

/** Reads it off a plan; of all moves, not only of those that are among the biggest of their exposure. */
export function writtenOnSet(plan: Plan): WrittenOnSet {
  const { timing, moves, angles } = plan;
  const parts = sheetParts(plan);
  const told = moves.filter((m) => parts.includes(m.joint) && m.roundedMm > 0);
  const keys = keyOfExposure(timing).flatMap((key, i) => (key?.kind === 'key' ? [i] : []));
  return {
    mm: once(told.map((m) => `${m.roundedMm}`)),
    deg: once(angles.flatMap((a) => (Math.abs(a.roundedDeg) > 0 ? [`${Math.abs(a.roundedDeg)}°`] : []))),
    hasDoubt: told.some((m) => m.guessed || m.outOfPlane),
    stays: once(timing.exposures.map((e) => `${e.frames}`)),
    ahead: once(keys.map((at, i) => `${at - (keys[i - 1] ?? 0)}`)),
  };
}

function once(words: readonly string[]): string[] {
  return [...new Set(words)];
}
