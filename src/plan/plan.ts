import type { Footage } from '../base/footage.ts';
import type { Book } from '../project/book.ts';
import type { Hitches } from '../puppet/hitches.ts';
import type { PuppetMotion } from '../puppet/puppetMotion.ts';
import type { Timing } from '../timing/timing.ts';
import type { Doubt, Tracks } from '../track/motion.ts';
import type { SeenProp } from '../track/propTracks.ts';
import type { DetectorFacts, Sightings } from '../track/sighting.ts';
import { type HingeAngle, planAngles } from './angles.ts';
import type { Heard } from './heard.ts';
import { type Move, planMoves } from './moves.ts';
import { listPoses, type Pose } from './poses.ts';
import { hitchesOf, replannedOf } from './puppetShot.ts';
import { type PlacedReplan, standingExposures } from './replans.ts';

/** Everything that a plan is made from. All of one take and one shot. */
export interface PlanInput {
  readonly book: Book;
  readonly footage: Footage;
  /** Null where no joint was looked for, and marked points alone are followed. */
  readonly sightings: Sightings | null;
  readonly tracks: Tracks;
  readonly timing: Timing;
  /** Absent or null where the take has no sound, or it was not read. */
  readonly heard?: Heard | null;
  /** The marked points as measured, for weight, which smoothing would round off. Absent where none were followed. */
  readonly seenProps?: readonly SeenProp[];
}

/** A doubt, with the frames of the shot that it touches. */
export interface PlacedDoubt extends Doubt {
  /** First frame (from 0) and how many; 0 frames = the doubt lies outside the shot. */
  readonly firstFrame: number;
  readonly frames: number;
}

/** What the animator takes to the set, before any layout. Holds everything that sheet, pages and `plan.json` show. */
export interface Plan {
  readonly book: Book;
  readonly footage: Footage;
  readonly detector: DetectorFacts;
  readonly tracks: Tracks;
  readonly timing: Timing;
  /** The shot on the animator's puppet; at exposures that moves were laid anew from as it was found to stand there. */
  readonly puppet: PuppetMotion;
  /** What is asked of it in every frame, those exposures too: what a shot is held against. */
  readonly asked: PuppetMotion;
  /** The book's re-plans, in force or out of date. */
  readonly replans: readonly PlacedReplan[];
  /** What the puppet may not be able to do. */
  readonly hitches: Hitches;
  readonly poses: readonly Pose[];
  readonly moves: readonly Move[];
  readonly angles: readonly HingeAngle[];
  readonly doubts: readonly PlacedDoubt[];
  /** Null where the take has no sound. */
  readonly heard: Heard | null;
  /** In the book's order; empty where none were followed. */
  readonly seenProps: readonly SeenProp[];
}

/** Said of a take in which no joint was looked for. */
const noDetector: DetectorFacts = {
  model: 'none',
  backend: 'none',
  millisecondsPerFrame: Number.NaN,
  readSeconds: Number.NaN,
};

/** Makes the plan of a shot. Pure: the same input gives the same plan. */
export function buildPlan({ book, footage, sightings, tracks, timing, heard, seenProps }: PlanInput): Plan {
  const { puppet, asked, replans } = replannedOf(book, timing, tracks);
  const standing = { asked, at: standingExposures(timing, replans) };
  return {
    book,
    footage,
    detector: sightings?.detector ?? noDetector,
    tracks,
    timing,
    poses: listPoses(timing),
    puppet,
    asked,
    replans,
    hitches: hitchesOf(asked),
    moves: planMoves(timing, tracks.doubts, puppet, standing),
    angles: planAngles(timing, puppet, standing),
    doubts: placeDoubts(tracks.doubts, timing.takeTimeSec, timing.mmPerPx),
    heard: heard ?? null,
    seenProps: seenProps ?? [],
  };
}

/** Doubts with the frames that they touch, and with the puppet's millimetres in their sentences. @param takeTimeSec Shape [frame]. */
export function placeDoubts(doubts: readonly Doubt[], takeTimeSec: Float64Array, mmPerPx: number): PlacedDoubt[] {
  return doubts.map((d) => ({
    ...d,
    sentence: d.sentence + onThePuppet(d, mmPerPx),
    ...framesTouched(takeTimeSec, d.startSec, d.endSec),
  }));
}

/** What a limb out of the picture plane hides, in the puppet's millimetres; "" where nothing can be said. */
function onThePuppet({ plane }: Doubt, mmPerPx: number): string {
  if (!plane || !(mmPerPx > 0)) return '';
  return ` On the puppet the picture hides about ${Math.round(plane.hiddenPx * mmPerPx)} of its ${Math.round(plane.truePx * mmPerPx)} mm.`;
}

/** Which frames show a time inside [startSec, endSec] of the take. */
function framesTouched(
  takeTimeSec: Float64Array,
  startSec: number,
  endSec: number,
): { firstFrame: number; frames: number } {
  let first = -1;
  let last = -1;
  for (const [k, sec] of takeTimeSec.entries()) {
    // A frame shows its moment of the take until the next frame begins, so a doubt shorter than a frame is not lost.
    const untilSec = takeTimeSec[k + 1] ?? sec;
    if (Math.max(sec, untilSec) < startSec || sec > endSec) continue;
    if (first < 0) first = k;
    last = k;
  }
  return first < 0 ? { firstFrame: 0, frames: 0 } : { firstFrame: first, frames: last - first + 1 };
}
