import { type Joint, jointWords } from '../base/joints.ts';
import type { Exposure } from '../timing/timing.ts';
import type { Off } from './deviations.ts';
import { type Finding, type FindingKind, mmWords, runWords, wayWords } from './finding.ts';
import { type OffGroup, type OffRun, stepAround } from './offRuns.ts';
import type { JointPlaces } from './places.ts';

/** Longer than so many exposures is no single pose gone wrong. */
const fewExposures = 2;
/** A joint whose planned steps are shorter than this share of the height hardly moves: 0.8 mm of 250. */
const movingShare = 0.003;
/** The eye begins to see a pose that is off by this share of the height (1.5 mm of 250): weight 1. */
const seenShare = 0.006;

/**
 * What is off the plan, in words: single poses, reversals, arcs beside the planned ones, spacing.
 * @param shot registered, millimetres, y down.
 * @param sizeMm the puppet's height.
 */
export function poseFindings(
  groups: readonly OffGroup[],
  offs: ReadonlyMap<Joint, Off>,
  shot: JointPlaces,
  exposures: readonly Exposure[],
  sizeMm: number,
): Finding[] {
  return groups.map((group) => {
    const { main } = group;
    const back = main.last - main.first < fewExposures ? reversal(group, offs, shot, sizeMm) : null;
    const told = back ?? main;
    const kind: FindingKind = back ? 'reversal' : kindOf(main, offs.get(main.joint)!, sizeMm);
    const { firstFrame } = exposures[main.first]!;
    const end = exposures[main.last]!;
    const frames = end.firstFrame + end.frames - firstFrame;
    const also = [...new Set(group.all.map((r) => r.joint))].filter((j) => j !== told.joint);
    const size = back ? back.size : main.size;
    const along = sideAlong(main, offs.get(main.joint)!, sizeMm);
    return {
      kind,
      joint: told.joint,
      also,
      firstFrame,
      frames,
      atFrame: exposures[main.worst]!.firstFrame,
      size,
      unit: 'mm',
      sd: main.sd,
      weight: (main.size - 2 * main.sd) / (seenShare * sizeMm),
      sentence: sentenceOf(kind, told.joint, main, size, also, exposures, firstFrame, frames, along),
    };
  });
}

function kindOf(run: OffRun, off: Off, sizeMm: number): FindingKind {
  if (run.isPop) return 'pop';
  if (run.last - run.first < fewExposures) return 'offPose';
  let [along, beside, moving] = [0, 0, 0];
  for (let i = run.first; i <= run.last; i++) {
    const [sx, sy] = stepAround(off, i);
    const step = Math.hypot(sx, sy);
    if (step < movingShare * sizeMm) continue;
    moving++;
    along += ((off.x[i]! * sx + off.y[i]! * sy) / step) ** 2;
    beside += ((off.x[i]! * sy - off.y[i]! * sx) / step) ** 2;
  }
  if (moving < (run.last - run.first + 1) / 2) return 'offPose';
  return beside > along / 2 ? 'arc' : 'spacing';
}

/** A pose goes back when it is off along its way, rather than beside it: cosine. */
const alongWay = 0.8;
/** That the pose is off is sure; that it goes back must exceed so many standard deviations of what is new in one exposure. */
const surelyBack = 0.7;

/** The joint of a group that goes back furthest where the plan goes on; null where none does, or the group is off otherwise. */
function reversal({ main, all }: OffGroup, offs: ReadonlyMap<Joint, Off>, shot: JointPlaces, sizeMm: number) {
  let furthest: { joint: Joint; size: number } | null = null;
  const i = main.worst;
  for (const { joint, x, y, size: offBy } of all) {
    // Of a whole arm or body that is off, the part that is off by most says what it is.
    if (offBy < 0.6 * main.size) continue;
    const [off, seen] = [offs.get(joint)!, shot.at.get(joint)!];
    if (i < 1 || i > seen.x.length - 2) continue;
    const [sx, sy] = stepAround(off, i);
    const step = Math.hypot(sx, sy);
    if (step < movingShare * sizeMm) continue;
    if (Math.abs(x * sx + y * sy) < alongWay * offBy * step) {
      if (joint === main.joint) return null;
      continue;
    }
    const along = (xs: Float64Array, ys: Float64Array, a: number, b: number) =>
      ((xs[b]! - xs[a]!) * sx + (ys[b]! - ys[a]!) * sy) / step;
    const goesOn = along(off.planX, off.planY, i - 1, i) > 0 && along(off.planX, off.planY, i, i + 1) > 0;
    // A pose too far along goes back with the next one: it is the pose itself that is wrong.
    const into = along(seen.x, seen.y, i - 1, i);
    const outOf = along(seen.x, seen.y, i, i + 1);
    const size = -Math.min(into, outOf);
    if (!goesOn || Math.max(into, outOf) <= 0) continue;
    if (!(size > 0.004 * sizeMm && size > surelyBack * Math.min(off.sd[i]!, off.quick[i]!))) continue;
    if (!furthest || size > furthest.size) furthest = { joint, size };
  }
  return furthest;
}

/** A joint's pose that is off along its way is behind (−1) or ahead (1) of where it should be; beside it: 0. */
function sideAlong({ worst, x, y, size }: OffRun, off: Off, sizeMm: number): -1 | 0 | 1 {
  const [sx, sy] = stepAround(off, worst);
  const step = Math.hypot(sx, sy);
  const dot = x * sx + y * sy;
  if (step < movingShare * sizeMm || Math.abs(dot) < alongWay * size * step) return 0;
  return dot < 0 ? -1 : 1;
}

function sentenceOf(
  kind: FindingKind,
  joint: Joint,
  main: OffRun,
  size: number,
  also: readonly Joint[],
  exposures: readonly Exposure[],
  firstFrame: number,
  frames: number,
  along: -1 | 0 | 1,
): string {
  const part = `The ${jointWords(joint)}`;
  const at = exposures[main.worst]!;
  const when = runWords(at.firstFrame, at.frames);
  const too = also.length > 0 ? ` (${also.map(jointWords).join(', ')} too)` : '';
  const run = runWords(firstFrame, frames);
  switch (kind) {
    case 'reversal':
      return `${part}${too} goes back ${mmWords(size)} at ${when}, for one pose only.`;
    case 'pop':
      if (along !== 0)
        return `${part}${too} ${along < 0 ? 'hangs back' : 'runs ahead'} by ${mmWords(size)} along its arc at ${when}, for one pose only.`;
      return `${part}${too} leaves its arc by ${mmWords(size)} at ${when}: ${wayWords(main.x, main.y)}.`;
    case 'arc':
      return `${part}${too} runs beside its planned arc over ${run}, by ${mmWords(size)} at frame ${at.firstFrame + 1}: ${wayWords(main.x, main.y)}.`;
    case 'spacing':
      if (along !== 0)
        return `${part}${too} is ${along < 0 ? 'behind' : 'ahead'} on its arc over ${run}, by ${mmWords(size)} at frame ${at.firstFrame + 1}.`;
      return `${part}${too} is not as far along its arc as planned, or further, over ${run}: by ${mmWords(size)} at frame ${at.firstFrame + 1}.`;
    default:
      if (main.isSteady) return `${part}${too} is ${mmWords(size)} ${wayWords(main.x, main.y)} over ${run}.`;
      return frames > at.frames
        ? `${part}${too} is up to ${mmWords(size)} ${wayWords(main.x, main.y)} over ${run}, most at frame ${at.firstFrame + 1}.`
        : `${part}${too} is ${mmWords(size)} ${wayWords(main.x, main.y)} at ${when}.`;
  }
}
