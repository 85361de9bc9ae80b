import type { Joint } from '../base/joints.ts';
import type { KeyWarp, WarpKnot } from './keyWarp.ts';
import { judgedJoints } from './offRuns.ts';
import type { JointPlaces, PlaceColumns } from './places.ts';

/** Joints that are early or late together: a limb, the head, the trunk. */
const limbs: readonly (readonly Joint[])[] = [
  ['leftElbow', 'leftWrist'],
  ['rightElbow', 'rightWrist'],
  ['leftKnee', 'leftAnkle'],
  ['rightKnee', 'rightAnkle'],
  ['nose'],
  ['neck', 'leftShoulder', 'rightShoulder', 'pelvis'],
];

/** Where those who are known carry this share of the plan's way, all of the body is heard. */
const heardShare = 0.75;
/** What is late by less is no matter of a limb alone: frames. */
const leastFrames = 1;
const surely = 3;
/** Who carries less than this share of the plan's way into a moment and out of it does not say for all when it was met. */
const speakingShare = 0.5;
/** A limb that was taken out of one move may be told late in the next. */
const mostRounds = 4;

/**
 * Of a shot of which few joints are known: without limbs, around moments of the plan whose lateness hangs on them alone. Without the limb
 * the moment is not late by half as much, and the limb carries less than half of what the plan moves there, or what is known of the rest
 * surely denies it. A wrist that stays behind is then off itself, instead of taking the body's time with it. Joints that nobody knows count
 * in the plan's way: beside a trunk that hardly moves, one wrist does not speak for arms and legs that were not seen.
 * @param shot registered. Shape [exposure]. @param planned its unit. Shape [frame].
 * @param timed lays places over the plan in time.
 */
export function withoutLoneLimbs(
  shot: JointPlaces,
  planned: JointPlaces,
  warp: KeyWarp,
  timed: (places: JointPlaces) => KeyWarp,
): JointPlaces {
  const rests = new Map<(typeof limbs)[number], KeyWarp>();
  const restOf = (limb: (typeof limbs)[number]) => {
    if (!rests.has(limb)) rests.set(limb, timed(without(shot, limb, () => true)));
    return rests.get(limb)!;
  };
  let [places, now] = [shot, warp];
  for (let round = 0; round < mostRounds; round++) {
    const before = places;
    for (const [k, knot] of now.knots.entries()) {
      if (!isLate(knot)) continue;
      const [from, to] = [
        now.knots[Math.max(0, k - 1)]!.frame,
        now.knots[Math.min(k + 1, now.knots.length - 1)]!.frame,
      ];
      if (wayShare(planned, [...shot.at.keys()], from, to) >= heardShare) continue;
      for (const limb of limbs) {
        if (!limb.some((joint) => shot.at.has(joint))) continue;
        const rest = restOf(limb).knots[k]!;
        if (Math.abs(rest.late) >= Math.abs(knot.late) / 2 && rest.late * knot.late > 0) continue;
        const isDenied = Math.abs(knot.late - rest.late) > surely * Math.hypot(rest.sd, knot.sd);
        if (!isDenied && wayShare(planned, limb, from, to) >= speakingShare) continue;
        const shown = [now.planFrame, restOf(limb).planFrame];
        places = without(places, limb, (i) => shown.some((frames) => frames[i]! > from && frames[i]! < to));
      }
    }
    if (places === before) break;
    now = timed(places);
  }
  return places;
}

function isLate({ late, sd }: WarpKnot): boolean {
  return Math.abs(late) >= leastFrames && Math.abs(late) > surely * sd;
}

/** Which share of the way that the plan moves judged joints over from one frame to another is that of some of them. */
function wayShare(planned: JointPlaces, some: readonly Joint[], from: number, to: number): number {
  let [own, all] = [0, 0];
  for (const joint of judgedJoints) {
    const path = planned.at.get(joint);
    if (!path) continue;
    let way = 0;
    for (let f = from + 1; f <= to; f++) way += Math.hypot(path.x[f]! - path.x[f - 1]!, path.y[f]! - path.y[f - 1]!);
    all += way;
    if (some.includes(joint)) own += way;
  }
  return own / all;
}

/** Places that say nothing of some joints in some exposures. */
function without(places: JointPlaces, some: readonly Joint[], isLeftOut: (exposure: number) => boolean): JointPlaces {
  const at = new Map(places.at);
  for (const joint of some) {
    const columns = at.get(joint);
    if (!columns) continue;
    at.set(joint, unknownWhere(columns, isLeftOut));
  }
  return { count: places.count, at };
}

/** Places where others are known. */
export function knownIn(others: JointPlaces, places: JointPlaces): JointPlaces {
  const known = [...places.at].map(([joint, columns]) => {
    const other = others.at.get(joint);
    return [joint, unknownWhere(columns, (i) => Number.isNaN(other?.x[i]))] as const;
  });
  return { count: places.count, at: new Map(known) };
}

function unknownWhere({ x, y, sd }: PlaceColumns, isUnknown: (exposure: number) => boolean): PlaceColumns {
  const known = (column: Float64Array) => column.map((v, i) => (isUnknown(i) ? Number.NaN : v));
  return { x: known(x), y: known(y), sd };
}
