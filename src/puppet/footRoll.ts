import { poseOfLeg, standOn, turnAbout } from './bodyTurns.ts';
import { spanOf, spread } from './fixSpan.ts';
import { frameCountOf } from './hitch.ts';
import { jointAngleAt } from './jointAngles.ts';
import type { LimitFix } from './poseFix.ts';
import type { Planted, PuppetJoint, PuppetMotion, Side } from './puppetMotion.ts';

/** A foot rolls no further than this: another pose is the animator's to find. */
const mostDeg = 60;
const stepDeg = 2;

/** On what a foot rolls: heel off the floor where the shank leans over it too far forward, toes where too far back. */
type Pivot = 'heel' | 'toe';

/** Rolls a foot over its toes or its heel, which stays; ankle and knee follow, the hips stay. Changes the paths. */
function roll(motion: PuppetMotion, side: Side, pivot: Pivot, k: number, deg: number): void {
  const { paths } = motion;
  const [heel, toe] = [paths.get(`${side}Heel`), paths.get(`${side}Toe`)];
  const before = poseOfLeg(motion, side, k);
  if (!heel || !toe || !before) return;
  const ahead = Math.sign(toe.xMm[k]! - heel.xMm[k]!);
  const free = pivot === 'toe' ? 'Heel' : 'Toe';
  const centre: PuppetJoint = `${side}${pivot === 'toe' ? 'Toe' : 'Heel'}`;
  turnAbout(motion, centre, [`${side}${free}`, `${side}Ankle`], k, (pivot === 'toe' ? -1 : 1) * ahead * deg);
  const ankle = paths.get(`${side}Ankle`)!;
  standOn(motion, side, k, { ...before, ankle: [ankle.xMm[k]!, ankle.yMm[k]!] });
}

/** What the ankle's angle is beyond its limit after a roll; the motion is left as it was. NaN = not known. */
function overAfter(motion: PuppetMotion, side: Side, pivot: Pivot, k: number, deg: number): number {
  const kept = (['Knee', 'Ankle', 'Heel', 'Toe'] as const).flatMap((part) => {
    const path = motion.paths.get(`${side}${part}`);
    return path ? [[path, path.xMm[k]!, path.yMm[k]!, path.zMm[k]!] as const] : [];
  });
  roll(motion, side, pivot, k, deg);
  const angle = jointAngleAt(motion, `${side}Ankle`, k);
  for (const [path, x, y, z] of kept) [path.xMm[k], path.yMm[k], path.zMm[k]] = [x, y, z];
  return angle ? angle.deg - angle.limitDeg : Number.NaN;
}

/** The least roll in a frame that brings an ankle over a standing foot within its limit, degrees; NaN = none does. */
export function rollNeeded(motion: PuppetMotion, side: Side, pivot: Pivot, k: number): number {
  const isWithin = (deg: number) => overAfter(motion, side, pivot, k, deg) <= 0;
  if (!(overAfter(motion, side, pivot, k, 0) > 0)) return 0;
  let within = stepDeg;
  while (!isWithin(within)) {
    within += stepDeg;
    if (within > mostDeg) return Number.NaN;
  }
  let over = within - stepDeg;
  for (let round = 0; round < 30; round++) {
    const middle = (over + within) / 2;
    if (isWithin(middle)) within = middle;
    else over = middle;
  }
  return within;
}

/** Over what a foot rolls so that its ankle comes within its limit, by its angle in a frame. */
export function pivotOf(motion: PuppetMotion, side: Side, k: number): Pivot {
  return jointAngleAt(motion, `${side}Ankle`, k)?.name === 'ankleDown' ? 'heel' : 'toe';
}

/**
 * Rolls a standing foot over its toes or heel for the span, so that its ankle keeps its limit.
 * @returns what stands then: a whole foot has become toes or a heel, in the same place.
 */
export function rollFoot(motion: PuppetMotion, fix: LimitFix): readonly Planted[] {
  const span = spanOf(motion, fix);
  if (!span) return motion.planted;
  const [first, last] = span;
  const side: Side = fix.joint.startsWith('left') ? 'left' : 'right';
  const frames = Array.from({ length: last - first + 1 }, (_, i) => first + i);
  const worst = frames.reduce((a, b) => (beyond(motion, side, b) > beyond(motion, side, a) ? b : a));
  const pivot = pivotOf(motion, side, worst);
  const needs = frames.map((k) => rollNeeded(motion, side, pivot, k));
  const rolled = new Set<number>();
  for (const [k, deg] of spread(needs, first, frameCountOf(motion))) {
    if (deg === 0) continue;
    roll(motion, side, pivot, k, deg);
    rolled.add(k);
  }
  return motion.planted.flatMap((p) =>
    p.side === side && p.on === 'foot' ? rolledOff(motion, p, pivot, rolled) : [p],
  );
}

function beyond(motion: PuppetMotion, side: Side, k: number): number {
  const angle = jointAngleAt(motion, `${side}Ankle`, k);
  return angle ? angle.deg - angle.limitDeg : Number.NEGATIVE_INFINITY;
}

/** A foot that stands, in runs on the whole sole and on what it has rolled over. */
function rolledOff({ paths }: PuppetMotion, planted: Planted, pivot: Pivot, rolled: ReadonlySet<number>): Planted[] {
  const point = paths.get(`${planted.side}${pivot === 'toe' ? 'Toe' : 'Heel'}`)!;
  const runs: Planted[] = [];
  for (let k = planted.firstFrame; k < planted.firstFrame + planted.frames; k++) {
    const on = rolled.has(k) ? pivot : 'foot';
    const before = runs.at(-1);
    if (before?.on === on) runs[runs.length - 1] = { ...before, frames: before.frames + 1 };
    else
      runs.push(
        on === 'foot'
          ? { ...planted, firstFrame: k, frames: 1 }
          : { side: planted.side, on, firstFrame: k, frames: 1, xMm: point.xMm[k]!, yMm: point.yMm[k]! },
      );
  }
  return runs;
}
