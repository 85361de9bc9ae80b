import { gridTimesSec, layGrid } from '../base/frameGrid.ts';
import { computeTiming } from '../timing/computeTiming.ts';
import { baselineMotion, baselines } from '../track/baselines.ts';
import { fitTracks } from '../track/fitTracks.ts';
import type { Motion } from '../track/motion.ts';
import { meanScore, scoreMotion, type TrackScore } from '../track/score.ts';
import type { BatchReading } from './batchJob.ts';
import { type FoundScore, scoreHolds, scoreKeys } from './benchKeys.ts';
import { digits, textTable } from './benchTable.ts';
import type { TruthTake } from './benchTruth.ts';

/** The ways of turning sightings into tracks that stand side by side, ours last. */
export const ways = ['raw', 'Savitzky–Golay', 'Butterworth 6 Hz', 'ours'] as const;
/** One of them. */
export type Way = (typeof ways)[number];

/** What was measured of one take. */
export interface TakeAccuracy {
  readonly name: string;
  readonly scores: Readonly<Record<Way, TrackScore>>;
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
  const motions: Record<Way, Motion> = {
    raw: baselineMotion(sightings, baselines.raw, times),
    'Savitzky–Golay': baselineMotion(sightings, baselines.savitzkyGolay, times),
    'Butterworth 6 Hz': baselineMotion(sightings, baselines.butterworth, times),
    ours: tracks.at(times),
  };
  const scores = Object.fromEntries(ways.map((way) => [way, scoreMotion(motions[way], take.truth)]));
  const timing = computeTiming(tracks, {
    rate,
    startSec: 0,
    endSec: footage.endSec,
    onFrames: 2,
    keyCount: null,
    pinnedKeys: [],
    removedKeysSec: [],
    puppetHeightMm: 250,
    smallestStepMm: 0.3,
  });
  return {
    name: take.name,
    scores: scores as Record<Way, TrackScore>,
    keys: take.keys && scoreKeys(timing.keys, take.keys, frameSec),
    holds: take.holds && scoreHolds(timing.holds, take.holds, timing.takeTimeSec, frameSec),
  };
}

const head = ['take', 'way', 'position', 'p95', 'ones', 'p95', 'twos', 'p95', 'in 1 sd', 'in 2 sd', 'missing'];

/** The tables to print: errors of every way on every take and in the mean, then keys and holds. */
export function accuracyReport(takes: readonly TakeAccuracy[]): string {
  const rowsOf = (name: string, score: (way: Way) => TrackScore) =>
    ways.map((way, i) => scoreRow(i === 0 ? name : '', way, score(way)));
  const errors = takes.flatMap((take) => rowsOf(take.name, (way) => take.scores[way]));
  const mean = takes.length > 1 ? rowsOf('mean', (way) => meanScore(takes.map((take) => take.scores[way]))) : [];
  const found = takes.flatMap(({ name, keys, holds }) => [
    ...(keys ? [foundRow(name, 'keys', keys)] : []),
    ...(holds ? [foundRow(name, 'holds', holds)] : []),
  ]);
  const foundHead = ['take', 'what', 'authored', 'found in time', 'extra', 'all found'];
  return [
    'Errors on the frames of a 24 fps shot, in % of the torso’s length, each joint’s constant offset taken out;',
    'ones and twos are the errors of the step from one exposure to the next. Median and 95th percentile.',
    '',
    textTable(head, [...errors, ...mean]),
    ...(found.length > 0
      ? ['', 'Keys within one frame (two where a pose is held), holds within two at both ends.', '']
      : []),
    ...(found.length > 0 ? [textTable(foundHead, found)] : []),
  ].join('\n');
}

function scoreRow(name: string, way: Way, s: TrackScore): string[] {
  const percent = (share: number) => (Number.isFinite(share) ? `${digits(100 * share, 0)} %` : '–');
  return [
    name,
    way,
    digits(s.positionMedian),
    digits(s.positionP95),
    digits(s.onesMedian),
    digits(s.onesP95),
    digits(s.twosMedian),
    digits(s.twosP95),
    percent(s.within1Sd),
    percent(s.within2Sd),
    percent(s.missing),
  ];
}

function foundRow(name: string, what: string, s: FoundScore): string[] {
  return [name, what, `${s.authored}`, `${s.hit}`, `${s.extra}`, `${s.found}`];
}
