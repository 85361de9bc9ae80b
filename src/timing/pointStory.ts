import type { Tracks } from '../track/motion.ts';
import type { Candidates } from './candidates.ts';
import { findRests, type Rest } from './holds.ts';
import { cheapestPath, type Legs } from './keyPath.ts';
import { endsOfLegs } from './legEnds.ts';
import { flightsOfPoints, type Touch } from './pointFlights.ts';
import { type PoseSamples, sampleSec } from './poseSamples.ts';
import type { SampleSpan, Speeds } from './stillness.ts';
import { type ToldPose, tellPose } from './toldPoses.ts';

/** Two moments nearer than this are one pose: 2.5 frames at 24 fps. */
const halfAPoseSec = 2.5 / 24;
/** A turn must save so much of what in-betweening without it would get wrong, as for a body (see `story.ts`). */
const turnPrice = 10;

/** What is known of a take of marked points before its poses are told. */
export interface PointGround {
  readonly samples: PoseSamples;
  readonly speeds: Speeds;
  readonly legs: Legs;
  readonly candidates: Candidates;
}

/**
 * The poses of a take in which nobody is known but points were marked: where they come to rest, turn and bounce. A bounce is a key
 * in the trade, since only the frame of contact makes it one to the eye; what flies between bounces turns at its top. The way between
 * is a fall, which the spacing tells: it asks for no breakdowns, however little it is like an eased move.
 * @param stillDistance how far a point may wander in a hold, body heights.
 */
export function tellPoints(
  { samples, speeds, legs, candidates }: PointGround,
  tracks: Tracks,
  endSec: number,
  stillDistance: number,
): { at: number[]; poses: ToldPose[] } {
  const gap = halfAPoseSec / samples.stepSec;
  const last = samples.count - 1;
  const { touches, releasesSec, topsSec } = flightsOfPoints(tracks);
  const stills = seenStills(samples, candidates.stills, gap);
  const touchAt = placeTouches(samples, touches, stills, gap);
  const isTop = (k: number) => topsSec.some((top) => Math.abs(top - sampleSec(samples, k)) < halfAPoseSec);
  const turns = candidates.at.filter(
    (k) => !stills.some((s) => k > s.first && k <= s.last) && (isTop(k) || turnsOrStops(samples, speeds, k)),
  );
  const fixed = fixedMarks(samples, stills, touchAt, gap);
  const marks = fixed.slice(0, 1);
  for (const to of fixed.slice(1)) {
    const from = marks.at(-1)!;
    const between = turns.filter((k) => k - from >= gap && to - k >= gap);
    marks.push(...cheapestPath(legs, [from, ...between, to], turnPrice).slice(1));
  }
  const ends = endsOfLegs(samples, marks);
  const rests = findRests(samples, marks, ends, stills, stillDistance);
  const poses = marks.map((sample, i) => {
    const touch = touchAt.get(sample);
    const still = stills.some((s) => sample >= s.first && sample <= s.last);
    const sec = sampleSec(samples, sample);
    const isTurn = !still && sample > 0 && sample < last;
    // Where it is slowest says more of a single point than the fitted ways into and out of the pose, which many limbs even out.
    const turnSec = isTurn ? (topsSec.find((top) => Math.abs(top - sec) < halfAPoseSec) ?? sec) : undefined;
    return tellPose({ samples, speeds, marks, ends, endSec }, i, {
      between: false,
      onTheWay: sample < samples.seenFrom || sample > samples.seenTo,
      // A fall starts and stops otherwise than an eased move: only what stands still rests, and it rests until it is let go.
      rest: still ? untilLetGo(rests[i] ?? null, releasesSec) : null,
      knownSec: touch?.takeSec ?? turnSec,
      touch,
    });
  });
  return { at: [...new Set([...marks, ...turns])].sort((a, b) => a - b), poses };
}

/** A point slows for a turn or a stop to less than this part of its speed around it, within so long to either side ... */
const slowing = 0.5;
const aroundSec = 0.4;
/** ... or bends off by 40° or more from a way to a way of some length, body heights, so long each. What rolls on does neither. */
const bendingOff = Math.cos((40 * Math.PI) / 180);
const leastWay = 0.01;
const waySec = 0.1;

/** Is a slowing more than errors of following make of an even way? One point wavers in speed where a body's many joints do not. */
function turnsOrStops({ joints, stepSec, count }: PoseSamples, { body }: Speeds, k: number): boolean {
  const around = Math.round(aroundSec / stepSec);
  const fastest = (from: number, to: number) => Math.max(0, ...body.subarray(Math.max(0, from), Math.min(count, to)));
  if (body[k]! < slowing * Math.min(fastest(k - around, k), fastest(k + 1, k + around + 1))) return true;
  const reach = Math.round(waySec / stepSec);
  const [before, after] = [Math.max(0, k - reach), Math.min(count - 1, k + reach)];
  return joints.some(({ x, y }) => {
    const [ix, iy] = [x[k]! - x[before]!, y[k]! - y[before]!];
    const [ox, oy] = [x[after]! - x[k]!, y[after]! - y[k]!];
    const [into, outOf] = [Math.hypot(ix, iy), Math.hypot(ox, oy)];
    return Math.min(into, outOf) > leastWay && (ix * ox + iy * oy) / (into * outOf) < bendingOff;
  });
}

/** The still spans in which something is seen, laid to the ends of the take where these are near. */
function seenStills(
  { seenFrom, seenTo, count }: PoseSamples,
  stills: readonly SampleSpan[],
  gap: number,
): readonly SampleSpan[] {
  return stills
    .filter((s) => s.last > seenFrom && s.first < seenTo)
    .map(({ first, last }) => ({
      first: first < seenFrom + gap ? seenFrom : first,
      last: last > seenTo - gap ? (seenTo === count - 1 ? count - 1 : seenTo) : last,
    }));
}

/** Touches by sample: what stays where it lands does so from the rest's own beginning. The harder of two at one sample counts. */
function placeTouches(
  samples: PoseSamples,
  touches: readonly Touch[],
  stills: readonly SampleSpan[],
  gap: number,
): Map<number, Touch> {
  const placed = new Map<number, Touch>();
  for (const touch of touches) {
    const exact = (touch.takeSec - samples.startSec) / samples.stepSec;
    if (exact < 0 || exact > samples.count - 1) continue;
    const rest = stills.find((s) => Math.abs(s.first - exact) < gap || settlesInto(samples, touch, exact, s));
    const sample = rest?.first ?? Math.round(exact);
    const there = placed.get(sample);
    if (!there || touch.speedPx > there.speedPx) placed.set(sample, touch);
  }
  return placed;
}

/** What lands may hop a little or roll on before it is still: so long at most, and no farther, body heights. Then it is one pose. */
const settlingSec = 0.4;
const settlingWay = 0.03;

function settlesInto({ joints, stepSec }: PoseSamples, { part, how }: Touch, exact: number, rest: SampleSpan): boolean {
  const wait = (rest.first - exact) * stepSec;
  const path = joints.find((j) => j.joint === part);
  if (how !== 'lands' || wait < 0 || wait > settlingSec || !path) return false;
  const at = Math.round(exact);
  return Math.hypot(path.x[rest.first]! - path.x[at]!, path.y[rest.first]! - path.y[at]!) < settlingWay;
}

/** Samples that are poses whatever happens between them, rising: both ends, coming into and out of the picture, rests, touches. */
function fixedMarks(
  samples: PoseSamples,
  stills: readonly SampleSpan[],
  touchAt: ReadonlyMap<number, Touch>,
  gap: number,
): number[] {
  const last = samples.count - 1;
  const marks = [0, ...touchAt.keys()];
  // What rests until the shot ends is told by its rest.
  const restsAtEnd = stills.some((s) => s.last === last && s.first > 0);
  const further = [samples.seenFrom, samples.seenTo, ...stills.map((s) => s.first), ...(restsAtEnd ? [] : [last])];
  for (const sample of further) {
    const inRest = stills.some((s) => sample > s.first && sample <= s.last);
    if (!inRest && marks.every((m) => Math.abs(m - sample) >= gap || (m === 0 && sample === last))) marks.push(sample);
  }
  return [...new Set(marks)].sort((a, b) => a - b);
}

/** What is let go rests until then: its speed shows a frame or two later than it leaves. */
function untilLetGo(rest: Rest | null, releasesSec: readonly number[]): Rest | null {
  const release = rest && releasesSec.find((sec) => Math.abs(sec - rest.endSec) < halfAPoseSec);
  return rest && release ? { ...rest, endSec: release } : rest;
}
