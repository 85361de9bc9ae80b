import type { Part } from '../base/joints.ts';
import { bodyChains, partWordsWith } from '../timing/chains.ts';
import { type Lag, measureLags } from '../timing/lags.ts';
import { bodyParts, findPhases, type Phase } from '../timing/phases.ts';
import type { Plan } from './plan.ts';

/** A number, or null where nothing can be said. */
type MaybeNumber = number | null;

/** One phase of one move. Times are take seconds, frames from 0, millimetres the puppet's. */
export interface PhaseJson {
  /** Stays the same as long as the keys at both ends of the move do. */
  id: string;
  /** Moves have the ids of their keys, with ">" between; see `lags[].move`. */
  move: string;
  kind: Phase['kind'];
  /** `body`: the whole body, by the part that shows it most. `part`: that part by itself. */
  of: 'body' | 'part';
  /** A joint or a marked point ("prop:…"); null for a reaction to a cue. */
  part: Part | null;
  firstFrame: number;
  frames: number;
  /** Between frames. */
  startSec: MaybeNumber;
  endSec: MaybeNumber;
  /** How far back, on its way or beyond: the straight distance; null for reactions and for parts that only trail. */
  sizeMm: MaybeNumber;
  sizePx: MaybeNumber;
  /** That distance over the one between the part's places before and after the move. */
  share: MaybeNumber;
  /** The animator's name, or "". */
  name: string;
  sentence: string;
}

/** By how much one link of a chain comes after the one before it, in one move. */
export interface LagJson {
  /** `leftArm`, `rightArm`, `head`, `leftLeg`, `rightLeg`, or the id of a chain that the animator picked. */
  chain: string;
  move: string;
  /** `turning`: directions of the stretches between neighbouring parts; `going`: how far points have gone. */
  measure: Lag['measure'];
  /** The two parts that a stretch lies between; one part for a point. */
  leader: Part[];
  follower: Part[];
  firstFrame: number;
  frames: number;
  startSec: MaybeNumber;
  endSec: MaybeNumber;
  /** Positive = the follower comes later. In frames of the shot as retimed, and in take seconds; null = cannot be said. */
  lagFrames: MaybeNumber;
  lagSec: MaybeNumber;
  /** Standard deviation, frames. */
  sdFrames: MaybeNumber;
  /** Chance that the true lag lies within half a frame, 0..1. */
  confidence: MaybeNumber;
  /** `free`: the follower's direction does what the leader's did; `carried`: its bend against the leader does. Null for points. */
  follows: Lag['follows'];
  /** How it was read, or why it cannot be said. */
  why: string;
}

/** The phases of every move: of the whole body first, then of each part by itself. */
export function phasesJson(plan: Plan): PhaseJson[] {
  const { timing, tracks, book } = plan;
  const wishes = { names: book.phaseNames, wordsOf: partWordsWith(book.props) };
  const body = findPhases(tracks, timing, wishes).map((p) => phaseJson(p, 'body'));
  const parts: readonly Part[] = [...bodyParts(tracks), ...book.props.map((p) => p.id)];
  const each = parts.flatMap((part) =>
    findPhases(tracks, timing, { ...wishes, part }).map((p) => phaseJson(p, 'part')),
  );
  return [...body, ...each];
}

/** Who leads and who drags, down the body's chains and those that the animator picked. */
export function lagsJson(plan: Plan): LagJson[] {
  const { timing, tracks, book } = plan;
  const chains = [...bodyChains, ...book.chains];
  return measureLags(tracks, timing, chains, ['turning', 'going'], partWordsWith(book.props)).map((lag) => ({
    chain: lag.chainId,
    move: lag.moveId,
    measure: lag.measure,
    leader: [...lag.leaderParts],
    follower: [...lag.followerParts],
    firstFrame: lag.firstFrame,
    frames: lag.frames,
    startSec: short(lag.startSec),
    endSec: short(lag.endSec),
    lagFrames: short(lag.lagFrames),
    lagSec: short(lag.lagSec),
    sdFrames: short(lag.sdFrames),
    confidence: short(lag.confidence),
    follows: lag.follows,
    why: lag.why,
  }));
}

function phaseJson(phase: Phase, of: PhaseJson['of']): PhaseJson {
  return {
    id: phase.id,
    move: phase.moveId,
    kind: phase.kind,
    of,
    part: phase.part,
    firstFrame: phase.firstFrame,
    frames: phase.frames,
    startSec: short(phase.startSec),
    endSec: short(phase.endSec),
    sizeMm: short(phase.sizeMm),
    sizePx: short(phase.sizePx),
    share: short(phase.share),
    name: phase.name,
    sentence: phase.sentence,
  };
}

/** Four digits behind the point: more than anything here is known to. */
function short(value: number | null): MaybeNumber {
  return value === null || !Number.isFinite(value) ? null : Math.round(value * 1e4) / 1e4 + 0;
}
