import type { Hitch, HitchKind } from '../puppet/hitch.ts';
import type { Plan } from './plan.ts';
import type { Finding } from './shotFacts.ts';

/** Something that this puppet may not be able to do, as `plan.json` holds it. Frames from 0. */
export interface HitchJson {
  kind: HitchKind;
  part: string;
  firstFrame: number;
  frames: number;
  worstFrame: number;
  worst: number;
  unit: 'deg' | 'mm';
  sentence: string;
  why: string;
  /** What has to be prepared on the set. */
  support: 'tie-down' | 'rig' | null;
}

const ofBalance: ReadonlySet<HitchKind> = new Set(['offBalance', 'airborne', 'sliding', 'heelOrToe']);

/** `limits` and `balance` of `plan.json`. */
export function hitchesJson({ hitches }: Plan): { limits: HitchJson[]; balance: HitchJson[] } {
  const json = ({
    kind,
    part,
    firstFrame,
    frames,
    worstFrame,
    worst,
    unit,
    sentence,
    why,
    support,
  }: Hitch): HitchJson => ({
    ...{ kind, part, firstFrame, frames, worstFrame },
    worst: Number(worst.toFixed(3)),
    ...{ unit, sentence, why, support },
  });
  return {
    limits: hitches.hitches.filter((h) => !ofBalance.has(h.kind)).map(json),
    balance: hitches.hitches.filter((h) => ofBalance.has(h.kind)).map(json),
  };
}

/** More than this on a card is not read, but for what has to be prepared. */
const mostFindings = 12;

/** What the shot card tells of the puppet: all that has to be prepared, then the worst of the rest, in order of time. */
export function findingsOf(plan: Plan): Finding[] {
  const { hitches } = plan.hitches;
  const prepared = hitches.filter((h) => h.support !== null);
  const others = hitches.filter((h) => h.support === null).slice(0, Math.max(0, mostFindings - prepared.length));
  const worst = [...prepared, ...others];
  const told = [...worst]
    .sort((a, b) => a.firstFrame - b.firstFrame)
    .map(({ firstFrame, frames, sentence }): Finding => ({ firstFrame, frames, sentence }));
  const left = hitches.length - worst.length;
  const rest: Finding = {
    firstFrame: 0,
    frames: plan.timing.grid.frameCount,
    sentence: `And ${left} more, on the Puppet screen.`,
  };
  return left > 0 ? [...told, rest] : told;
}
