import { gridTimesSec, layGrid } from '../base/frameGrid.ts';
import { cocoJoints, type DetectedJoint, detectedJoints, furtherJoints } from '../base/joints.ts';
import { choicesOf, newBook } from '../project/book.ts';
import { computeTiming } from '../timing/computeTiming.ts';
import { baselineMotion, baselines } from '../track/baselines.ts';
import { fitTracks } from '../track/fitTracks.ts';
import { type JointTruth, scoreMotion, type TrackScore, truthTorsoPx } from '../track/score.ts';
import { type MomentScore, type MotionAt, scoreMoments } from '../track/scoreMoments.ts';
import { cell, type Sightings } from '../track/sighting.ts';
import type { BatchReading } from './batchJob.ts';
import { type FoundScore, scoreHolds, scoreKeys } from './benchKeys.ts';
import type { TrueKey, TruthTake } from './benchTruth.ts';

/** The ways of turning sightings into tracks that stand side by side, ours last. */
export const ways = ['raw', 'Savitzky–Golay', 'Butterworth 6 Hz', 'ours'] as const;
/** One of them. */
export type Way = (typeof ways)[number];
/** Something measured of every way. */
export type ByWay<T> = Readonly<Record<Way, T>>;

/** The parts of the body that are also measured by themselves. All but the last make up the whole. */
export const groups = ['head', 'arms', 'legs', 'hands & feet'] as const;
/** One of them. */
export type Group = (typeof groups)[number];

const jointsOf: Readonly<Record<Group, readonly DetectedJoint[]>> = {
  head: ['nose', 'leftEye', 'rightEye', 'leftEar', 'rightEar'],
  arms: ['leftShoulder', 'rightShoulder', 'leftElbow', 'rightElbow', 'leftWrist', 'rightWrist'],
  legs: ['leftHip', 'rightHip', 'leftKnee', 'rightKnee', 'leftAnkle', 'rightAnkle'],
  'hands & feet': furtherJoints,
};

/** What was measured of one take. */
export interface TakeAccuracy {
  readonly name: string;
  /** Median length of the torso in the truth, pixels. */
  readonly torsoPx: number;
  /** The 17 COCO joints together. */
  readonly scores: ByWay<TrackScore>;
  /** A group is missing where the truth or the model knows none of its joints. */
  readonly groups: Readonly<Partial<Record<Group, ByWay<TrackScore>>>>;
  readonly moments: ByWay<MomentScore>;
  /** Null where the truth says nothing of them. */
  readonly keys: FoundScore | null;
  readonly holds: FoundScore | null;
}

/** Everything is measured on the frames of a 24 fps shot that takes in the whole take. */
const rate = { frames: 24, seconds: 1 };
const frameSec = rate.seconds / rate.frames;

/** Measures one take's reading against its truth. All ways get the same sightings. */
export function measureTake(take: TruthTake, { footage, sightings }: BatchReading): TakeAccuracy {
  const times = gridTimesSec(layGrid(rate, 0, footage.endSec));
  const tracks = fitTracks(sightings, []);
  const by = (clean: (typeof baselines)['raw']) => (sec: Float64Array) => baselineMotion(sightings, clean, sec);
  const tracksBy: ByWay<MotionAt> = {
    raw: by(baselines.raw),
    'Savitzky–Golay': by(baselines.savitzkyGolay),
    'Butterworth 6 Hz': by(baselines.butterworth),
    ours: (sec) => tracks.at(sec),
  };
  const motions = everyWay((way) => tracksBy[way](times));
  const moments = {
    turningKeysSec: take.keys && turningKeys(take.keys),
    stops: take.stops,
    holds: take.holds ?? [],
  };
  const measuredGroups = groups.flatMap((group) => {
    const which = measurable(jointsOf[group], take.truth, sightings);
    return which.length > 0 ? [[group, everyWay((way) => scoreMotion(motions[way], take.truth, which))] as const] : [];
  });
  const timing = computeTiming(tracks, choicesOf({ ...newBook(''), rate }, 0, footage.endSec));
  return {
    name: take.name,
    torsoPx: truthTorsoPx(take.truth),
    scores: everyWay((way) => scoreMotion(motions[way], take.truth, cocoJoints)),
    groups: Object.fromEntries(measuredGroups),
    moments: everyWay((way) => scoreMoments(tracksBy[way], motions[way], take.truth, moments, cocoJoints)),
    keys: take.keys && scoreKeys(timing.keys, take.keys, frameSec),
    holds: take.holds && scoreHolds(timing.holds, take.holds, timing.takeTimeSec, frameSec),
  };
}

function everyWay<T>(of: (way: Way) => T): ByWay<T> {
  return Object.fromEntries(ways.map((way) => [way, of(way)])) as Record<Way, T>;
}

/** Times of authored poses that are not kept and not the take's first; null where there are none. */
export function turningKeys(keys: readonly TrueKey[]): number[] | null {
  const times = keys.filter((key, i) => i > 0 && key.leaveSec === key.arriveSec).map((key) => key.arriveSec);
  return times.length > 0 ? times : null;
}

/** The joints that the truth has; beyond the COCO set only those that the model ever sees: not every model knows them. */
function measurable(which: readonly DetectedJoint[], truth: JointTruth, seen: Sightings): DetectedJoint[] {
  const isSeen = (joint: DetectedJoint): boolean => {
    const j = detectedJoints.indexOf(joint);
    for (let i = 0; i < seen.readCount; i++) if (Number.isFinite(seen.xPx[cell(i, j)]!)) return true;
    return false;
  };
  const isCoco = (joint: DetectedJoint): boolean => (cocoJoints as readonly string[]).includes(joint);
  return which.filter((joint) => truth.joints.has(joint) && (isCoco(joint) || isSeen(joint)));
}
