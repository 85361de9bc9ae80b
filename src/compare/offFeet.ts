import type { Planted, PuppetMotion, Side } from '../puppet/puppetMotion.ts';
import type { MeasuredPose } from './poseOffsets.ts';
import { standsOf } from './standFindings.ts';

/** Millimetres, y up. */
export interface Off {
  readonly x: number;
  readonly y: number;
  /** 0 = it is where it was planned. */
  readonly size: number;
}

/** A foot at the last shot exposure: how it stands there and after it, and how far from its place. */
export interface FootThere {
  readonly side: Side;
  /** First and last frame of the stand; null = it does not stand on. */
  readonly stand: { readonly first: number; readonly last: number } | null;
  readonly off: Off;
}

/** A foot that stands beside its place by no more than this share of the height is on it: 1 mm of 250. */
const footShare = 0.004;
const nothing: Off = { x: 0, y: 0, size: 0 };

/**
 * Both feet at an exposure.
 * @param from   its first frame, `held` its last.
 * @param places the plan by its own frames, which `planFrame` is one of.
 */
export function feetThere(
  planted: readonly Planted[],
  from: number,
  held: number,
  pose: MeasuredPose,
  places: PuppetMotion,
  planFrame: number,
  sizeMm: number,
): FootThere[] {
  return (['left', 'right'] as const).map((side) => {
    const stand = standsOf(planted, side).find((s) => s.first <= from && s.last > held) ?? null;
    return { side, stand, off: stand ? footOff(pose, places, side, Math.round(planFrame), sizeMm) : nothing };
  });
}

/** How far a standing foot is from where it was planned, where that is more than can be placed, and sure. */
function footOff(pose: MeasuredPose, { paths }: PuppetMotion, side: Side, frame: number, sizeMm: number): Off {
  let [x, y, sd, count] = [0, 0, 0, 0];
  for (const joint of [`${side}Ankle`, `${side}Heel`, `${side}Toe`] as const) {
    const [seen, planned] = [pose.get(joint), paths.get(joint)];
    if (!seen || !planned || Number.isNaN(seen[0] + planned.xMm[frame]!)) continue;
    x += seen[0] - planned.xMm[frame]!;
    y += seen[1] - planned.yMm[frame]!;
    sd += seen[2];
    count++;
  }
  if (count === 0) return nothing;
  [x, y, sd] = [x / count, y / count, sd / count];
  const size = Math.hypot(x, y);
  return size > footShare * sizeMm && size > (3 * sd) / Math.sqrt(count) ? { x, y, size } : nothing;
}

/** Runs of standing feet, one foot's moved aside in some frames (both ends included). */
export function movePlanted(
  planted: readonly Planted[],
  side: Side,
  first: number,
  last: number,
  { x, y }: Off,
): Planted[] {
  return planted.flatMap((run): Planted[] => {
    const end = run.firstFrame + run.frames;
    const [a, b] = [Math.max(first, run.firstFrame), Math.min(last + 1, end)];
    if (run.side !== side || b <= a) return [run];
    const piece = (from: number, to: number, moved: boolean): Planted[] =>
      to > from
        ? [{ ...run, firstFrame: from, frames: to - from, ...(moved && { xMm: run.xMm + x, yMm: run.yMm + y }) }]
        : [];
    return [...piece(run.firstFrame, a, false), ...piece(a, b, true), ...piece(b, end, false)];
  });
}
