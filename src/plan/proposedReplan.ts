import type { Part } from '../base/joints.ts';
import { newHitches, type Replan, replanFrom } from '../compare/replan.ts';
import type { Stance } from '../compare/stance.ts';
import type { ReplanChoice } from '../project/book.ts';
import type { Hitch } from '../puppet/hitch.ts';
import { standingHeightMm } from '../puppet/profile.ts';
import type { PuppetJoint, PuppetMotion } from '../puppet/puppetMotion.ts';
import type { Key } from '../timing/timing.ts';
import { clockHour, type Move, planMoves } from './moves.ts';
import type { Plan } from './plan.ts';
import { puppetMotionOf } from './puppetShot.ts';
import { type ReplannedMotion, replanMotion, replannable, stanceIn, standingExposures } from './replans.ts';
import { sheetParts } from './sheetParts.ts';

/** One part's way into an exposure, as it would be without the re-plan and with it. */
export interface ChangedMove {
  /** From 0. */
  readonly exposure: number;
  readonly joint: Part;
  /** What the hand would be asked for, millimetres; 0 = leave it. */
  readonly wasMm: number;
  readonly isMm: number;
  /** Where to now, on a clock face; NaN = leave it. */
  readonly hour: number;
}

/** A re-plan before it is decided, beside what the plan says without it. */
export interface ProposedReplan {
  /** What the book keeps if it is accepted. */
  readonly choice: ReplanChoice;
  readonly replan: Replan;
  /** What is asked of the puppet without it. */
  readonly was: PuppetMotion;
  /** Of the parts on the sheet, by exposure; those that do not change are left out. */
  readonly moves: readonly ChangedMove[];
  /** What the puppet may not be able to do of it, and could without. */
  readonly hitches: readonly Hitch[];
  /** The part on the sheet that goes elsewhere most, and how far at worst; null = none has a place. */
  readonly most: { readonly joint: PuppetJoint; readonly mm: number } | null;
}

/** The moves laid anew from a stance to a key: upon the book's re-plans from before it, with those from behind it as they are. */
export function proposeReplan(plan: Plan, stance: Stance, key: Key): ProposedReplan {
  const { book, timing, tracks } = plan;
  const acted = puppetMotionOf(book, timing, tracks);
  const before = replansFrom(plan, stance.firstFrame, -1);
  const after = replansFrom(plan, stance.firstFrame, 1);
  const choice: ReplanChoice = {
    stance,
    takeSec: timing.takeTimeSec[stance.firstFrame] ?? Number.NaN,
    heightMm: standingHeightMm(acted.profile),
    keySec: key.takeSec,
    keyAside: null,
  };
  const without = replanMotion(acted, timing, [...before, ...after]);
  const upon = replanMotion(acted, timing, before).asked;
  const replan = replanFrom(replannable(upon, timing), stanceIn(timing, stance), key);
  return {
    choice,
    replan,
    was: upon,
    moves: changedMoves(plan, without, replanMotion(acted, timing, [...before, choice, ...after])),
    hitches: newHitches(replan, upon),
    most: changesMost(plan, upon, replan),
  };
}

/** What was asked of the puppet up to an exposure and beyond before moves were laid anew from it or a later one: poses are held against it. */
export function askedBefore(plan: Plan, firstFrame: number): PuppetMotion {
  const { book, timing, tracks } = plan;
  const before = replansFrom(plan, firstFrame, -1);
  if (before.length === book.replans.length) return plan.asked;
  return replanMotion(puppetMotionOf(book, timing, tracks), timing, before).asked;
}

/** The book's re-plans from before a frame (−1) or from behind it (1). */
function replansFrom({ book }: Plan, firstFrame: number, way: -1 | 1): ReplanChoice[] {
  return book.replans.filter((r) => Math.sign(r.stance.firstFrame - firstFrame) === way);
}

/** Says the same of the same pose. */
export function isSameChoice(a: ReplanChoice, b: ReplanChoice): boolean {
  return JSON.stringify(a) === JSON.stringify(b);
}

function changedMoves(plan: Plan, was: ReplannedMotion, is: ReplannedMotion): ChangedMove[] {
  const parts = sheetParts(plan);
  const told = (of: ReplannedMotion): Move[] => {
    const { timing, tracks } = plan;
    const standing = { asked: of.asked, at: standingExposures(timing, of.replans) };
    return planMoves(timing, tracks.doubts, of.puppet, standing).filter((m) => parts.includes(m.joint));
  };
  const old = told(was);
  return told(is).flatMap(({ exposure, joint, roundedMm, nudgeDeg }, i): ChangedMove[] => {
    const wasMm = old[i]!.roundedMm;
    const isSame = wasMm === roundedMm || Number.isNaN(wasMm + roundedMm);
    return isSame ? [] : [{ exposure, joint, wasMm, isMm: roundedMm, hour: clockHour(nudgeDeg) }];
  });
}

function changesMost(plan: Plan, was: PuppetMotion, { motion, firstFrame, lastFrame }: Replan): ProposedReplan['most'] {
  let most: ProposedReplan['most'] = null;
  for (const joint of plan.book.sheetJoints) {
    const [a, b] = [was.paths.get(joint), motion.paths.get(joint)];
    if (!a || !b) continue;
    for (let k = firstFrame; k <= lastFrame; k++) {
      const mm = Math.hypot(b.xMm[k]! - a.xMm[k]!, b.yMm[k]! - a.yMm[k]!);
      if (mm > (most?.mm ?? 0)) most = { joint, mm };
    }
  }
  return most;
}
