import { jointWords, type Part } from '../base/joints.ts';
import type { Support } from '../puppet/hitch.ts';
import type { FrameRun } from '../puppet/puppetMotion.ts';
import { clockHour } from './moves.ts';
import type { Plan } from './plan.ts';
import { exposureAtFrame, keyOfExposure, type Pose } from './poses.ts';
import { replanAt } from './replans.ts';
import { sheetParts } from './sheetParts.ts';
import { type StepTurn, turnsAt } from './stepTurns.ts';
import { supportAt, supportPhrase } from './support.ts';

/** One part's way into an exposure, as the hand does it. */
export interface StepMove {
  readonly joint: Part;
  /** "left wrist". */
  readonly words: string;
  /** A multiple of the printed step, over 0. */
  readonly mm: number;
  /** Where to, degrees clockwise from straight up on the screen; and the hour on a clock face that this is nearest to. */
  readonly directionDeg: number;
  readonly hour: number;
  /** The hinge that carries the part there; null where none turns as far as a hand can place. */
  readonly turn: StepTurn | null;
  /** It also goes toward or away from the lens: the millimetres understate the way. */
  readonly outOfPlane: boolean;
  /** The part was hidden: the number is filled in. */
  readonly guessed: boolean;
}

/** What carries the puppet or holds it from below in these frames. */
export interface Prepared extends FrameRun {
  readonly support: Support;
  readonly sentence: string;
}

/** The next key pose that the puppet is heading for. */
export interface KeyAhead {
  /** How many exposures on; at least 1. */
  readonly inExposures: number;
  readonly poseNumber: number;
  /** The animator's name for it, else the first reason for it. */
  readonly name: string;
  readonly firstFrame: number;
}

/** Everything that the animator has to know at the set for one exposure. Frames and exposures from 0. */
export interface StepCard extends FrameRun {
  readonly exposure: number;
  readonly exposures: number;
  readonly pose: Pose;
  /** Name of the key that the pose is, else its first reason; "" for an in-between. */
  readonly poseName: string;
  /** The pose before is exposed again: nothing is touched. */
  readonly isHeld: boolean;
  /** How many exposures show this pose unmoved, and which of them this is, from 1. */
  readonly heldOf: number;
  readonly heldAt: number;
  readonly isMovingHold: boolean;
  /** The exposure that these moves were laid anew from, as the puppet was found to stand in it; null = they are the plan's own. */
  readonly laidFrom: number | null;
  /** Parts on the sheet that are moved, biggest first, at most `mostMoves`; and how many smaller ones are left to the sheet. */
  readonly moves: readonly StepMove[];
  readonly smallerMoves: number;
  /** Parts on the sheet of which nothing can be said here, in words. */
  readonly unknown: readonly string[];
  /** What the puppet stands on, as a phrase, and in the exposure before where that was something else; "" = no foot was seen, or the same. */
  readonly standing: string;
  readonly stoodBefore: string;
  /** Hands that hold on, take hold or let go, a phrase each. */
  readonly hands: readonly string[];
  /** What has to be there for these frames. */
  readonly prepared: readonly Prepared[];
  /** The next thing to prepare, and in how many exposures it has to be there; null = nothing within the next `preparesAhead`. */
  readonly toPrepare: (Prepared & { readonly inExposures: number }) | null;
  /** Null behind the last key. */
  readonly ahead: KeyAhead | null;
  /** What the animator has written beside these frames, joined; "" = nothing. */
  readonly note: string;
}

/** Rigs are told so many exposures ahead: an hour or more to build one. */
export const preparesAhead = 10;
/** More moves than this are not taken in at a glance. */
export const mostMoves = 6;
/** So many are always told; those behind only where they are at least this share of the biggest. */
const alwaysTold = 3;
const tellsFrom = 0.25;

/**
 * What the screen at the set shows for an exposure: the moves that lead into it, before it is shot. Null where the shot has no such
 * exposure. Does not look at `book.shooting`.
 */
export function stepCard(plan: Plan, exposure: number): StepCard | null {
  const { timing, poses, book, puppet } = plan;
  const shown = timing.exposures[exposure];
  const pose = poses.find((p) => p.firstExposure <= exposure && exposure < p.firstExposure + p.exposureCount);
  if (!shown || !pose) return null;
  const { firstFrame, frames } = shown;
  const frameBefore = timing.exposures[exposure - 1]?.firstFrame ?? null;
  const standing = supportPhrase(supportAt(puppet, firstFrame));
  const stood = frameBefore === null ? standing : supportPhrase(supportAt(puppet, frameBefore));
  const toPrepare = prepare(plan, exposure);
  const heldAt = exposure - pose.firstExposure + 1;
  return {
    exposure,
    exposures: timing.exposures.length,
    firstFrame,
    frames,
    pose,
    poseName: pose.key?.name || (pose.key?.reasons[0] ?? ''),
    isHeld: heldAt > 1,
    heldOf: pose.exposureCount,
    heldAt,
    isMovingHold: timing.holds.some((h) => h.kind === 'movingHold' && covers(h, firstFrame)),
    laidFrom: laidFrom(plan, firstFrame),
    ...movesInto(plan, exposure),
    standing,
    stoodBefore: stood === standing ? '' : stood,
    hands: handsAt(plan, firstFrame, frames, frameBefore),
    prepared: toPrepare.filter((p) => p.inExposures === 0).map(({ inExposures: _, ...rest }) => rest),
    toPrepare: toPrepare.find((p) => p.inExposures > 0 && p.inExposures <= preparesAhead) ?? null,
    ahead: keyAhead(plan, exposure),
    note: Array.from({ length: frames }, (_, k) => book.frameNotes.get(firstFrame + k))
      .flatMap((n) => (n ? [n.action, n.dialogue, n.camera] : []))
      .filter(Boolean)
      .join(' · '),
  };
}

/** The exposure that shows a frame; the number of exposures where the frame lies behind the last. */
export function exposureOf({ timing }: Plan, frame: number): number {
  const at = exposureAtFrame(timing)[frame];
  return at === undefined || at < 0 ? timing.exposures.length : at;
}

function laidFrom(plan: Plan, frame: number): number | null {
  const replan = replanAt(plan, frame);
  return replan && exposureOf(plan, replan.stance.firstFrame);
}

function covers(run: FrameRun, frame: number): boolean {
  return run.firstFrame <= frame && frame < run.firstFrame + run.frames;
}

function movesInto(plan: Plan, exposure: number): Pick<StepCard, 'moves' | 'smallerMoves' | 'unknown'> {
  const turns = turnsAt(plan, exposure);
  const parts = sheetParts(plan);
  const its = plan.moves.filter((m) => m.exposure === exposure && parts.includes(m.joint));
  const all = its
    .filter((m) => m.roundedMm > 0)
    .sort((a, b) => b.roundedMm - a.roundedMm)
    .map(
      (m): StepMove => ({
        joint: m.joint,
        words: jointWords(m.joint),
        mm: m.roundedMm,
        directionDeg: m.nudgeDeg,
        hour: clockHour(m.nudgeDeg),
        turn: turns(m.joint),
        outOfPlane: m.outOfPlane,
        guessed: m.guessed,
      }),
    );
  const least = tellsFrom * (all[0]?.mm ?? 0);
  const moves = all.filter((m, i) => i < alwaysTold || m.mm >= least).slice(0, mostMoves);
  const unknown = its.filter((m) => Number.isNaN(m.roundedMm)).map((m) => jointWords(m.joint));
  return { moves, smallerMoves: all.length - moves.length, unknown };
}

function handsAt({ puppet }: Plan, firstFrame: number, frames: number, frameBefore: number | null): string[] {
  return puppet.held.flatMap((held) => {
    const holdsNow = held.firstFrame < firstFrame + frames && held.firstFrame + held.frames > firstFrame;
    const heldBefore = frameBefore !== null && covers(held, frameBefore);
    if (!holdsNow) return heldBefore ? [`${held.side} hand lets go`] : [];
    return [`${held.side} hand ${heldBefore || frameBefore === null ? 'keeps its place' : 'takes hold'}`];
  });
}

/** What has to be there from this exposure on, by when: 0 exposures = now. */
function prepare(plan: Plan, exposure: number): (Prepared & { inExposures: number })[] {
  const { exposures } = plan.timing;
  const { firstFrame: now = 0, frames = 1 } = exposures[exposure] ?? {};
  return plan.hitches.hitches
    .flatMap(({ support, sentence, firstFrame, frames: its }) => {
      if (!support || firstFrame + its <= now) return [];
      const inExposures = firstFrame < now + frames ? 0 : exposureOf(plan, firstFrame) - exposure;
      return [{ support, sentence, firstFrame, frames: its, inExposures }];
    })
    .sort((a, b) => a.firstFrame - b.firstFrame);
}

function keyAhead({ timing, poses }: Plan, exposure: number): KeyAhead | null {
  const keys = keyOfExposure(timing);
  for (let i = exposure + 1; i < keys.length; i++) {
    const key = keys[i];
    if (key?.kind !== 'key') continue;
    const pose = poses.find((p) => p.firstExposure <= i && i < p.firstExposure + p.exposureCount);
    return {
      inExposures: i - exposure,
      poseNumber: pose?.number ?? 0,
      name: key.name || (key.reasons[0] ?? ''),
      firstFrame: timing.exposures[i]!.firstFrame,
    };
  }
  return null;
}
