import { type Joint, jointWords } from '../base/joints.ts';
import type { Exposure } from '../timing/timing.ts';
import type { Off } from './deviations.ts';
import { type EasedMove, easedMoves, evenFrame, type FrameSpan } from './evenMoves.ts';
import { type Finding, mmWords } from './finding.ts';
import { areJoined, judgedJoints, type OffRun } from './offRuns.ts';
import { columnAt, type JointPlaces, type PlaceColumns } from './places.ts';

/** A joint that went in even steps where the plan eases. */
export interface EvenJoint {
  readonly joint: Joint;
  readonly span: FrameSpan;
}

/** Even steps are what a joint is off by where they explain this share of its squares ... */
const leastExplained = 0.8;
/** ... taken so many times: 1 = quite even, 0 = as planned. */
const [leastEven, mostEven] = [0.6, 1.4];
/** Fewer exposures within a move tell nothing of its spacing. */
const leastExposures = 4;

/**
 * Takes out what even steps explain: a joint that is off its plan in a move is held against the plan in even steps there, its own or those
 * of a joint that it hangs on.
 * @param runs where joints are off: only these are asked of.
 * @param byKeys the plan's frame at each exposure by its keys alone. Shape [exposure].
 */
export function withoutEvenSteps(
  offs: ReadonlyMap<Joint, Off>,
  runs: readonly OffRun[],
  planned: JointPlaces,
  spans: readonly FrameSpan[],
  byKeys: Float64Array,
  sizeMm: number,
): { readonly offs: ReadonlyMap<Joint, Off>; readonly even: readonly EvenJoint[] } {
  const out = new Map(offs);
  const even: EvenJoint[] = [];
  for (const span of spans) {
    const within = [...byKeys.keys()].filter((i) => byKeys[i]! > span.from && byKeys[i]! < span.to);
    if (within.length < leastExposures) continue;
    const moves = easedMoves(planned, span, sizeMm);
    for (const joint of judgedJoints) {
      const [off, path] = [out.get(joint), planned.at.get(joint)];
      const isOff = (run: OffRun) => run.joint === joint && run.last >= within[0]! && run.first <= within.at(-1)!;
      if (!off || !path || !runs.some(isOff)) continue;
      const laws = moves.filter((move) => move.joint === joint || areJoined(move.joint, joint));
      const tried = laws.map((law) => evenFit(off, path, law, within, byKeys));
      const best = tried.reduce((a, b) => (b.explained > a.explained ? b : a), unexplained);
      if (!best.law || best.explained < leastExplained) continue;
      even.push({ joint, span });
      out.set(
        joint,
        heldAgainst(off, path, within, (i) => evenFrame([best.law!], byKeys[i]!)),
      );
    }
  }
  return { offs: out, even };
}

interface EvenFit {
  readonly law: EasedMove | null;
  readonly explained: number;
}

const unexplained: EvenFit = { law: null, explained: 0 };

/** How much of what a joint lies off the plan's own spacing even steps explain. */
function evenFit(
  off: Off,
  path: PlaceColumns,
  law: EasedMove,
  within: readonly number[],
  byKeys: Float64Array,
): EvenFit {
  let [offs, evens, both] = [0, 0, 0];
  for (const i of within) {
    const [f, g] = [byKeys[i]!, evenFrame([law], byKeys[i]!)];
    const [px, py] = [columnAt(path.x, f), columnAt(path.y, f)];
    const [ox, oy] = [off.planX[i]! + off.x[i]! - px, off.planY[i]! + off.y[i]! - py];
    const [ex, ey] = [columnAt(path.x, g) - px, columnAt(path.y, g) - py];
    if (Number.isNaN(ox + oy + ex + ey)) continue;
    offs += ox * ox + oy * oy;
    evens += ex * ex + ey * ey;
    both += ox * ex + oy * ey;
  }
  const times = both / evens;
  if (!(times > leastEven && times < mostEven)) return unexplained;
  return { law, explained: (both * both) / (evens * offs) };
}

/** A joint held against other frames of its plan in some exposures. */
function heldAgainst(off: Off, path: PlaceColumns, exposures: readonly number[], frameOf: (i: number) => number): Off {
  const [planX, planY, x, y] = [off.planX.slice(), off.planY.slice(), off.x.slice(), off.y.slice()];
  for (const i of exposures) {
    const f = frameOf(i);
    const [px, py] = [columnAt(path.x, f), columnAt(path.y, f)];
    x[i]! += planX[i]! - px;
    y[i]! += planY[i]! - py;
    [planX[i], planY[i]] = [px, py];
  }
  return { ...off, planX, planY, x, y };
}

/** Joints that hang together and go in even steps in the same move, told once. */
export function evenJointFindings(
  even: readonly EvenJoint[],
  offs: ReadonlyMap<Joint, Off>,
  planned: JointPlaces,
  byKeys: Float64Array,
  exposures: readonly Exposure[],
  sizeMm: number,
): Finding[] {
  const left = [...even];
  const findings: Finding[] = [];
  while (left.length > 0) {
    const group = [left.shift()!];
    for (let i = 0; i < group.length; i++)
      for (let k = left.length - 1; k >= 0; k--)
        if (left[k]!.span === group[i]!.span && areJoined(left[k]!.joint, group[i]!.joint))
          group.push(...left.splice(k, 1));
    const told = group.flatMap(({ joint, span }) => {
      const finding = evenFinding(joint, span, offs, planned, byKeys, exposures, sizeMm);
      return finding ? [finding] : [];
    });
    if (told.length === 0) continue;
    const worst = told.reduce((a, b) => (b.size > a.size ? b : a));
    findings.push({ ...worst, also: group.map((g) => g.joint).filter((joint) => joint !== worst.joint) });
  }
  return findings;
}

/** Steps are told that differ by more than this share of the height: 1.5 mm of 250. */
const leastShare = 0.006;

/**
 * A joint's move that went in even steps, told at the end where the planned small step is missed most; null where it is missed by less
 * than anybody sees.
 * @param isWhole the whole body went so.
 */
export function evenFinding(
  joint: Joint,
  span: FrameSpan,
  offs: ReadonlyMap<Joint, Off>,
  planned: JointPlaces,
  byKeys: Float64Array,
  exposures: readonly Exposure[],
  sizeMm: number,
  isWhole = false,
): Finding | null {
  const [path, off] = [planned.at.get(joint), offs.get(joint)];
  if (!path || !off) return null;
  const within = [...exposures.keys()].filter((i) => byKeys[i]! > span.from - 0.5 && byKeys[i]! < span.to + 0.5);
  const steps = within.slice(1).map((i) => {
    const [a, b] = [byKeys[i - 1]!, byKeys[i]!];
    const plan = Math.hypot(columnAt(path.x, b) - columnAt(path.x, a), columnAt(path.y, b) - columnAt(path.y, a));
    const at = (k: number) => [off.planX[k]! + off.x[k]!, off.planY[k]! + off.y[k]!] as const;
    const [p, q] = [at(i - 1), at(i)];
    return { i, plan, shot: Math.hypot(q[0] - p[0], q[1] - p[1]) };
  });
  const ends = [steps[0], steps.at(-1)].flatMap((s) => (s && Number.isFinite(s.shot) ? [s] : []));
  if (ends.length === 0) return null;
  const worst = ends.reduce((a, b) => (b.shot - b.plan > a.shot - a.plan ? b : a));
  const size = worst.shot - worst.plan;
  if (!(size > leastShare * sizeMm)) return null;
  const which = worst === steps[0] ? 'first' : 'last';
  const who = isWhole ? `The body moves` : `The ${jointWords(joint)} moves`;
  const whose = isWhole ? `the ${jointWords(joint)}’s` : 'its';
  const { firstFrame } = exposures[within[0]!]!;
  const end = exposures[within.at(-1)!]!;
  return {
    kind: 'evenSpacing',
    joint,
    also: [],
    firstFrame,
    frames: end.firstFrame + end.frames - firstFrame,
    atFrame: exposures[worst.i]!.firstFrame,
    size,
    unit: 'mm',
    sd: Math.hypot(off.sd[worst.i]!, off.sd[worst.i - 1]!),
    weight: size / (leastShare * sizeMm) / 2,
    sentence: `${who} in even steps from frame ${firstFrame + 1} to ${end.firstFrame + end.frames}, where the plan eases: ${whose} ${which} step is ${mmWords(worst.shot)} instead of ${mmWords(worst.plan)}.`,
  };
}
