import { fpsOf } from '../base/frameRate.ts';
import { isProp, type Joint, type Part } from '../base/joints.ts';
import type { Tracks } from '../track/motion.ts';
import { partWords, type Region, regionOf } from './chains.ts';
import { partMove } from './excursion.ts';
import { moveSpans, windowOf } from './moveSpans.ts';
import { type SampledJoint, samplePoses, sampleSec } from './poseSamples.ts';
import { fitShift } from './shiftFit.ts';
import { frameOfTakeSec, framesOfSpan } from './takeFrames.ts';
import type { Timing } from './timing.ts';

/**
 * Something that happens together: both sides do the same, mirrored (`twins`), or everything stops at once (`stop`). It is told
 * and never called a fault: fists may come down on a table together.
 */
export interface Together {
  readonly kind: 'twins' | 'stop';
  readonly moveId: string;
  readonly parts: readonly Part[];
  /** The frame of the shot, from 0, at which both arrive or everything stops. */
  readonly frame: number;
  /** The move's frames. */
  readonly firstFrame: number;
  readonly frames: number;
  /** Twins: how much later the right side is, frames, signed. Stops: within how many frames all stop (twice the spread). */
  readonly withinFrames: number;
  readonly sentence: string;
}

/** Sides are twins when one is no later than this, seconds (0.8 frames at 24 fps, what tracks can tell) ... */
const twinSec = 0.8 / 24;
/** ... when the mirrored shift explains this part of the other's way ... */
const twinExplained = 0.9;
/** ... and when neither goes further than this many times the other's way. */
const twinRatio = 1.7;
/** A part that goes less far says nothing, body heights. */
const leastWay = 0.03;
/** All stops at once when the stops' spread (sd over the regions of the body) is below this, seconds: 0.7 frames at 24 fps. */
const stopSpreadSec = 0.7 / 24;
/** So many regions of the body must stop: two arms that stop together are twins already. */
const leastRegions = 3;
/** A part counts for a stop from this share of the furthest way. */
const countsShare = 0.15;

/** Pairs whose mirrored movement an audience sees; the first that is told speaks for its side. */
const pairs: readonly (readonly [Joint, Joint])[] = [
  ['leftWrist', 'rightWrist'],
  ['leftElbow', 'rightElbow'],
  ['leftKnee', 'rightKnee'],
];

/** What happens together in each move, in order of time. */
export function findTogether(tracks: Tracks, timing: Timing): Together[] {
  const { startSec, endSec } = timing.choices;
  const lastSec = Math.max(startSec, Math.min(endSec, tracks.timesSec.at(-1) ?? endSec));
  const samples = samplePoses(tracks, startSec, lastSec);
  const moves = moveSpans(timing, samples);
  const most = Math.round(0.15 / samples.stepSec);
  const fps = fpsOf(timing.grid.rate);
  return moves.flatMap((move, i) => {
    const span = windowOf(move, moves[i - 1] ?? null, moves[i + 1] ?? null, lastSec);
    const at = (sec: number) =>
      Math.min(samples.count - 1, Math.max(0, Math.round((sec - samples.startSec) / samples.stepSec)));
    const from = at(span.startSec);
    const to = at(span.endSec);
    const where = { moveId: move.id, ...framesOfSpan(timing, move.startSec, move.endSec) };
    const find = (joint: Joint) => samples.joints.find((j) => j.joint === joint);
    const movedOf = (joint: SampledJoint) => partMove(joint, from, to, samples.blur, leastWay);
    const found: Together[] = [];
    const twins = pairs.find(([l, r]) => {
      const left = find(l);
      const right = find(r);
      const a = left && movedOf(left);
      const b = right && movedOf(right);
      if (!left || !right || !a || !b) return false;
      const mirrored = [right.x.map((v) => -v), right.y];
      const fit = fitShift([left.x, left.y], mirrored, from, to, most, samples.stepSec);
      if (!fit || fit.atEdge || fit.explained < twinExplained || fit.ratio <= 0) return false;
      const ratio = Math.max(fit.ratio, 1 / fit.ratio);
      if (ratio > twinRatio || Math.abs(fit.shift * samples.stepSec) > twinSec) return false;
      const frame = Math.round(frameOfTakeSec(timing, sampleSec(samples, (a.arrives + b.arrives) / 2)));
      const what = l.replace('left', '').toLowerCase();
      found.push({
        kind: 'twins',
        ...where,
        parts: [l, r],
        frame,
        withinFrames: fit.shift * samples.stepSec * fps,
        sentence: `Both ${what}s do the same, mirrored, and arrive together on frame ${frame + 1}.`,
      });
      return true;
    });
    const stops = samples.joints.flatMap((joint) => {
      if (joint.weight < 1 || isProp(joint.joint)) return [];
      const moved = movedOf(joint);
      return moved ? [{ joint: joint.joint, distance: moved.distance, still: moved.still }] : [];
    });
    const stop = stopTogether(stops, samples.stepSec);
    if (stop) {
      const frame = Math.round(frameOfTakeSec(timing, sampleSec(samples, stop.at)));
      const parts = twins ? stop.parts.filter((p) => p !== twins[1]) : stop.parts;
      found.push({
        kind: 'stop',
        ...where,
        parts: stop.parts,
        frame,
        withinFrames: 2 * stop.spreadSec * fps,
        sentence: `Everything stops on frame ${frame + 1}: ${parts.map(partWords).join(', ')}.`,
      });
    }
    return found;
  });
}

function stopTogether(
  stops: readonly { joint: Joint; distance: number; still: number }[],
  stepSec: number,
): { at: number; spreadSec: number; parts: Joint[] } | null {
  const furthest = Math.max(0, ...stops.map((s) => s.distance));
  const counted = stops.filter((s) => s.distance >= countsShare * furthest);
  // One part speaks for each region: the one that goes furthest.
  const byRegion = new Map<Region, (typeof counted)[number]>();
  for (const s of counted) {
    const region = regionOf(s.joint);
    const there = byRegion.get(region);
    if (!there || s.distance > there.distance) byRegion.set(region, s);
  }
  if (byRegion.size < leastRegions) return null;
  let weights = 0;
  let sum = 0;
  let squares = 0;
  for (const s of byRegion.values()) {
    weights += 1;
    sum += s.still;
    squares += s.still ** 2;
  }
  const at = sum / weights;
  const spreadSec = Math.sqrt(Math.max(0, squares / weights - at * at)) * stepSec;
  return spreadSec <= stopSpreadSec ? { at, spreadSec, parts: [...byRegion.values()].map((s) => s.joint) } : null;
}
