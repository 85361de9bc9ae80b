import { assert } from '../base/assert.ts';
import { joints as allJoints, type Joint, type Part } from '../base/joints.ts';
import { type Doubt, type JointPath, type Motion, type SeenJoint, stepSdOf, type Tracks } from './motion.ts';
import { median } from './quantile.ts';

/** The tracks of one stretch of a shot that is cut together, on the shot's own clock. */
export interface JoinedPart {
  readonly tracks: Tracks;
  /** When its first picture appears, seconds; it lasts until the next part begins. */
  readonly startSec: number;
}

/** What the body does where one part follows another. */
export interface CutJump {
  /** The new part's first picture, seconds. */
  readonly atSec: number;
  /** Root mean square over the joints of how far they leap, pixels. */
  readonly jumpPx: number;
  /** The joint that leaps furthest, and how far, pixels. */
  readonly joint: Joint;
  readonly furthestPx: number;
  /** The new part's performer over the old one's: sizes in the picture; 1 = the same. */
  readonly scale: number;
}

/** A jump is worth a sentence from this share of the body's height on: 2.5 mm of a 250 mm puppet, more than life drifts between pictures. */
const worthTelling = 0.01;

/**
 * Tracks of several takes one after another. Each part keeps its own fit and nothing is smoothed across a cut: the pose leaps
 * there, and a doubt says so. Joints that were not made out in every part are left out; sizes are the parts' medians.
 * @param parts at least one, in rising order of `startSec`; their tracks lie on the same clock.
 */
export function joinTracks(parts: readonly JoinedPart[]): Tracks {
  const first = parts[0]?.tracks;
  assert(first, 'tracks are joined out of no parts');
  if (parts.length === 1) return first;
  const joints = allJoints.filter((joint) => parts.every((p) => p.tracks.joints.includes(joint)));
  const bodyHeightPx = median(parts.map((p) => p.tracks.bodyHeightPx));
  const torsoPx = median(parts.map((p) => p.tracks.torsoPx));
  let doubts: readonly Doubt[] | null = null;
  return {
    timesSec: joined(parts.map((p) => p.tracks.timesSec)),
    bodyHeightPx,
    torsoPx,
    joints,
    cutsSec: parts.slice(1).map((p) => p.startSec),
    at: (timesSec) => motionOf(parts, joints, timesSec),
    seen: (joint) => seenIn(parts, joint),
    get doubts() {
      doubts ??= [
        ...parts.flatMap((p) => p.tracks.doubts),
        ...jumpsAtCuts(parts).flatMap((jump) => cutDoubt(jump, bodyHeightPx, torsoPx)),
      ];
      return doubts;
    },
  };
}

/** How far the body leaps at each cut: one for every part but the first. Parts without joints in common are left out. */
export function jumpsAtCuts(parts: readonly JoinedPart[]): CutJump[] {
  return parts.slice(1).flatMap((part, k) => {
    const before = parts[k]!.tracks;
    const when = Float64Array.of(part.startSec);
    const [from, to] = [before.at(when), part.tracks.at(when)];
    const leaps = before.joints.flatMap((joint) => {
      const [a, b] = [from.paths.get(joint), to.paths.get(joint)];
      return a && b ? [{ joint, px: Math.hypot(b.xPx[0]! - a.xPx[0]!, b.yPx[0]! - a.yPx[0]!) }] : [];
    });
    const furthest = leaps.reduce<(typeof leaps)[0] | null>((most, l) => (most && most.px >= l.px ? most : l), null);
    if (!furthest) return [];
    const jumpPx = Math.sqrt(leaps.reduce((sum, l) => sum + l.px ** 2, 0) / leaps.length);
    const scale = part.tracks.bodyHeightPx / before.bodyHeightPx;
    return [{ atSec: part.startSec, jumpPx, joint: furthest.joint, furthestPx: furthest.px, scale }];
  });
}

function cutDoubt(jump: CutJump, bodyHeightPx: number, torsoPx: number): Doubt[] {
  if (!(jump.jumpPx > worthTelling * bodyHeightPx)) return [];
  const size = Math.round(100 * (jump.scale - 1));
  const nearer = size > 0 ? `${size} % larger` : `${-size} % smaller`;
  return [
    {
      code: 'cut',
      joint: null,
      startSec: jump.atSec,
      endSec: jump.atSec,
      headline: 'the pose jumps at a cut',
      sentence: `Here another take begins, and the pose does not join.${Math.abs(size) >= 3 ? ` The performer is ${nearer} in it: measure nothing across the cut.` : ''} Lead into the new pose by hand, or cut where the two takes agree better.`,
      worth: torsoPx > 0 ? jump.jumpPx / torsoPx : 0,
      plane: null,
    },
  ];
}

/** Which part is on screen at a time: the last that has begun; the first before all. */
function partAt(parts: readonly JoinedPart[], sec: number): number {
  let k = 0;
  while (k + 1 < parts.length && sec >= parts[k + 1]!.startSec) k++;
  return k;
}

function motionOf(parts: readonly JoinedPart[], joints: readonly Joint[], timesSec: Float64Array): Motion {
  const of = Int32Array.from(timesSec, (sec) => partAt(parts, sec));
  /** Where the entries of each part begin, and, last, how many there are. */
  const begins = [...parts.keys(), parts.length].map((k) => {
    const i = of.findIndex((part) => part >= k);
    return i < 0 ? timesSec.length : i;
  });
  const motions = parts.map((p, k) => p.tracks.at(timesSec.subarray(begins[k], begins[k + 1])));
  const paths = new Map<Part, JointPath>();
  for (const joint of joints) {
    const each = motions.map((m) => m.paths.get(joint)!);
    const column = (name: 'xPx' | 'yPx' | 'vxPx' | 'vyPx' | 'sdPx') => joined(each.map((path) => path[name]));
    paths.set(joint, {
      xPx: column('xPx'),
      yPx: column('yPx'),
      vxPx: column('vxPx'),
      vyPx: column('vyPx'),
      sdPx: column('sdPx'),
      confidence: Float32Array.from(each.flatMap((path) => [...path.confidence])),
      guessed: Uint8Array.from(each.flatMap((path) => [...path.guessed])),
    });
  }
  return {
    timesSec,
    paths,
    stepSdPx: (part, from, to) => {
      const k = of[from] ?? -1;
      const motion = motions[k];
      if (motion && of[to] === k) return stepSdOf(motion, part, from - begins[k]!, to - begins[k]!);
      // Two fits that know nothing of each other.
      const path = paths.get(part);
      return Math.hypot(path?.sdPx[from] ?? Number.NaN, path?.sdPx[to] ?? Number.NaN);
    },
  };
}

function seenIn(parts: readonly JoinedPart[], joint: Joint): SeenJoint | null {
  const each = parts.flatMap((p) => p.tracks.seen(joint) ?? []);
  if (each.length < parts.length) return null;
  return {
    timesSec: joined(each.map((s) => s.timesSec)),
    xPx: joined(each.map((s) => s.xPx)),
    yPx: joined(each.map((s) => s.yPx)),
    believed: Uint8Array.from(each.flatMap((s) => [...s.believed])),
    influences: each.flatMap((s) => s.influences),
  };
}

function joined(columns: readonly Float64Array[]): Float64Array {
  const all = new Float64Array(columns.reduce((n, c) => n + c.length, 0));
  let at = 0;
  for (const column of columns) {
    all.set(column, at);
    at += column.length;
  }
  return all;
}
