import { type Joint, jointWords } from '../base/joints.ts';
import type { Planted, PuppetMotion, Side } from '../puppet/puppetMotion.ts';
import type { Exposure, Hold } from '../timing/timing.ts';
import { median } from '../track/quantile.ts';
import type { Off } from './deviations.ts';
import { type Finding, mmWords, runWords, wayWords } from './finding.ts';
import { areJoined, judgedJoints } from './offRuns.ts';
import { fitRamp, middleOfThree, type Ramp } from './ramp.ts';

/** How far a part may wander in a hold, and a foot while it stands, as a share of the height: 1 mm of 250; more in a hold kept alive. */
const stillShare = 0.004;
const aliveTimes = 1.5;
/** What remains must exceed so many standard deviations of a place. */
const surely = 3.5;
/** A ramp must explain this share of where the part is: what goes to and fro is life, or noise. */
const leastExplained = 0.6;
const leastExposures = 4;
/** In so many of a hold's exposures, or a stand's, a part must be known: what is known of the others goes on past a few that are not. */
const knownShare = 2 / 3;
/** While a pose is held, what lasts of its error is the same all the while; what is new adds up to so many times itself. */
const stillSds = 1.5;

interface Wander {
  readonly joint: Joint;
  readonly ramp: Ramp;
  /** The exposures that the ramp was laid through. */
  readonly at: readonly number[];
  readonly size: number;
  readonly sd: number;
}

/** Something that stays wrong once it is. */
export interface Lasting {
  readonly finding: Finding;
  /** The frame up to which it puts poses off the plan that are no faults of their own. */
  readonly untilFrame: number;
}

/** What has wandered is brought back within so many frames, at 24 fps. */
const backFrames = 16;

/**
 * Parts that wander off the plan in a planned hold: what the plan itself does there is taken out.
 * @param planFrame of each exposure.
 */
export function driftFindings(
  offs: ReadonlyMap<Joint, Off>,
  holds: readonly Hold[],
  planFrame: Float64Array,
  exposures: readonly Exposure[],
  sizeMm: number,
): Lasting[] {
  return holds.flatMap((hold) => {
    const within = seenIn(offs, planFrame).filter(
      (i) => planFrame[i]! > hold.firstFrame - 0.75 && planFrame[i]! < hold.firstFrame + hold.frames - 0.25,
    );
    const limit = stillShare * sizeMm * (hold.kind === 'hold' ? 1 : aliveTimes);
    const wanders = judgedJoints.flatMap((joint) => wanderOf(joint, [offs.get(joint)], within, limit, false));
    return joined(wanders).map((group) => {
      const worst = group.reduce((a, b) => (b.size > a.size ? b : a));
      const first = worst.at[worst.ramp.from]!;
      const last = worst.at[worst.ramp.to]!;
      const firstFrame = exposures[first]!.firstFrame;
      const end = exposures[last]!;
      const frames = end.firstFrame + end.frames - firstFrame;
      const finding: Finding = {
        kind: 'holdDrift',
        joint: worst.joint,
        also: group.filter((w) => w !== worst).map((w) => w.joint),
        firstFrame,
        frames,
        atFrame: end.firstFrame,
        size: worst.size,
        unit: 'mm',
        sd: worst.sd,
        weight: (1.5 * (worst.size - 2 * worst.sd)) / (0.006 * sizeMm),
        sentence: `The ${jointWords(worst.joint)} drifts ${mmWords(worst.size)} over ${runWords(firstFrame, frames)}, though the pose is held: it ends ${wayWords(worst.ramp.x, worst.ramp.y)}.`,
      };
      return { finding, untilFrame: hold.firstFrame + hold.frames + backFrames };
    });
  });
}

/** Feet that move while the plan has them stand. */
export function slideFindings(
  offs: ReadonlyMap<Joint, Off>,
  { planted }: PuppetMotion,
  planFrame: Float64Array,
  exposures: readonly Exposure[],
  sizeMm: number,
): Lasting[] {
  return (['left', 'right'] as const).flatMap((side) =>
    standsOf(planted, side).flatMap((run): Lasting[] => {
      const within = seenIn(offs, planFrame).filter(
        (i) => planFrame[i]! > run.first - 0.25 && planFrame[i]! < run.last + 0.25,
      );
      const names = footJoints(side, run.on).filter((joint) => offs.has(joint));
      const columns = names.map((joint) => offs.get(joint));
      const [wander] = names.length > 0 ? wanderOf(names[0]!, columns, within, stillShare * sizeMm, true) : [];
      if (!wander) return [];
      const { ramp, at } = wander;
      const [first, last] = [at[ramp.from + 1]!, at[ramp.to]!];
      const firstFrame = exposures[first]!.firstFrame;
      const end = exposures[last]!;
      const frames = end.firstFrame + end.frames - firstFrame;
      const finding: Finding = {
        kind: 'footSlide',
        joint: wander.joint,
        also: names.slice(1),
        firstFrame,
        frames,
        atFrame: firstFrame,
        size: wander.size,
        unit: 'mm',
        sd: wander.sd,
        weight: (1.5 * (wander.size - 2 * wander.sd)) / (0.006 * sizeMm),
        sentence: `The ${side} foot slides ${mmWords(wander.size)} over ${runWords(firstFrame, frames)} while it stands: it ends ${wayWords(ramp.x, ramp.y)}.`,
      };
      return [{ finding, untilFrame: run.last + backFrames }];
    }),
  );
}

/** Exposures in which anything is known: a picture may be missing. */
function seenIn(offs: ReadonlyMap<Joint, Off>, planFrame: Float64Array): number[] {
  const all = [...offs.values()];
  return [...planFrame.keys()].filter((i) => all.some(({ x, y }) => Number.isFinite(x[i]! + y[i]!)));
}

interface Stand {
  readonly first: number;
  readonly last: number;
  readonly on: ReadonlySet<Planted['on']>;
}

/** How a foot stands without leaving the floor: runs on the whole foot, the heel or the toes that follow on each other are one. */
export function standsOf(planted: readonly Planted[], side: Side): Stand[] {
  const stands: Stand[] = [];
  for (const run of planted) {
    if (run.side !== side) continue;
    const before = stands.at(-1);
    const last = run.firstFrame + run.frames - 1;
    if (before && run.firstFrame <= before.last + 1)
      stands[stands.length - 1] = { first: before.first, last, on: new Set([...before.on, run.on]) };
    else stands.push({ first: run.firstFrame, last, on: new Set([run.on]) });
  }
  return stands;
}

/** What of a foot stands still all the while; of a foot that rolls from heel to toe, whatever follows the plan. */
function footJoints(side: Side, on: ReadonlySet<Planted['on']>): Joint[] {
  if (on.has('toe') && !on.has('heel')) return [`${side}Toe`, `${side}Ankle`];
  if (on.has('heel') && !on.has('toe')) return [`${side}Heel`, `${side}Ankle`];
  return [`${side}Ankle`, `${side}Heel`, `${side}Toe`];
}

/**
 * The ramp that some joints' mean way off the plan makes over some exposures, if it is a fault.
 * @param isPush what stands is pushed at once; what is held by a joint gives way by and by.
 */
function wanderOf(
  joint: Joint,
  columns: readonly (Off | undefined)[],
  within: readonly number[],
  limit: number,
  isPush: boolean,
): Wander[] {
  const known = columns.flatMap((c) => c ?? []);
  if (known.length === 0) return [];
  const at = within.filter((i) => known.every((c) => Number.isFinite(c.x[i]! + c.y[i]!)));
  if (at.length < leastExposures || at.length < knownShare * within.length) return [];
  const mean = (of: (c: Off) => Float64Array) =>
    middleOfThree(at.map((i) => known.reduce((sum, c) => sum + of(c)[i]! / known.length, 0)));
  const ramp = fitRamp(
    mean((c) => c.x),
    mean((c) => c.y),
    isPush,
  );
  if (!ramp || ramp.explained < leastExplained) return [];
  const size = Math.hypot(ramp.x, ramp.y);
  const sd = Math.max(...known.map((c) => stillSd(c, at, leastFollowed * limit))) * Math.sqrt(2 / known.length);
  return size - limit > surely * (sd / Math.SQRT2) ? [{ joint, ramp, at, size, sd }] : [];
}

/**
 * What a place in a held pose errs by against another, as a standard deviation along one axis. A joint whose steps were followed errs by
 * what its steps add up to, and these differ from each other by as much as each errs by: it is read from the hold itself.
 * @param least millimetres.
 */
function stillSd({ x, y, sd, quick, stepSd }: Off, at: readonly number[], least: number): number {
  const usual = median(at.map((i) => Math.min(sd[i]!, stillSds * quick[i]!)));
  if (!stepSd) return usual;
  const stepsOf = (column: Float64Array) => at.slice(1).map((i, k) => column[i]! - column[at[k]!]!);
  const [dx, dy] = [stepsOf(x), stepsOf(y)];
  const [mx, my] = [median(dx), median(dy)];
  const apart = median(dx.map((d, k) => Math.hypot(d - mx, dy[k]! - my))) / Math.sqrt(2 * Math.LN2);
  // Steps to and from exposures that are not known err as well.
  const claimed = claimedShare * Math.hypot(...stepSd.slice(at[0]! + 1, at.at(-1)! + 1).map((v) => v || 0));
  return Math.min(usual, Math.max(least, claimed, apart * Math.sqrt(dx.length)));
}

/** Steps that are followed err by no less than this part of how far a part may wander, a quarter of a millimetre of 250: a patch slips a little. */
const leastFollowed = 0.25;
/** ... nor than this share of what they are said to: in a held pose that is too much by far. */
const claimedShare = 0.3;

/** Wanders in the same hold, of joints that hang together or go the same way, are one. */
function joined(wanders: readonly Wander[]): Wander[][] {
  const left = [...wanders].sort((a, b) => b.size - a.size);
  const groups: Wander[][] = [];
  while (left.length > 0) {
    const group = [left.shift()!];
    for (let i = 0; i < group.length; i++)
      for (let k = left.length - 1; k >= 0; k--)
        if (areJoined(left[k]!.joint, group[i]!.joint) || sameWay(left[k]!.ramp, group[i]!.ramp))
          group.push(...left.splice(k, 1));
    groups.push(group);
  }
  return groups;
}

function sameWay(a: Ramp, b: Ramp): boolean {
  const [p, q] = [Math.hypot(a.x, a.y), Math.hypot(b.x, b.y)];
  return a.x * b.x + a.y * b.y > 0.8 * p * q && Math.max(p, q) < 2 * Math.min(p, q);
}
