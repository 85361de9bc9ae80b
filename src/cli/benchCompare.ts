import { meanScore, type TrackScore } from '../track/score.ts';
import type { TakeAccuracy } from './benchAccuracy.ts';
import { digits, textTable } from './benchTable.ts';

/** All numbers of a benchmark, to be read again by `accuraciesFrom`. Where there was nothing to measure: null. */
export function accuracyJson(takes: readonly TakeAccuracy[]): string {
  return JSON.stringify({ format: 'nudgebook-accuracy', takes });
}

/** The takes in a text of `accuracyJson`. @throws Error when it is another kind of file. */
export function accuraciesFrom(text: string): TakeAccuracy[] {
  // JSON has no NaN: inside scores a null is one.
  const numbers = (key: string, value: unknown) =>
    value === null && key !== 'keys' && key !== 'holds' ? Number.NaN : value;
  const file = JSON.parse(text, numbers) as { format?: unknown; takes: TakeAccuracy[] };
  if (file.format !== 'nudgebook-accuracy') throw new Error('--compare wants a file that --json has written.');
  return file.takes;
}

/** A number of a score that is compared, under a short name. */
interface Column {
  readonly title: string;
  readonly places: number;
  readonly of: (s: TrackScore) => number;
}

const columns: readonly Column[] = [
  { title: 'position', places: 2, of: (s) => s.positionMedian },
  { title: 'p95', places: 2, of: (s) => s.positionP95 },
  { title: 'ones', places: 3, of: (s) => s.onesMedian },
  { title: 'p95', places: 2, of: (s) => s.onesP95 },
  { title: 'twos', places: 3, of: (s) => s.twosMedian },
  { title: 'p95', places: 2, of: (s) => s.twosP95 },
  { title: 'in 1 sd', places: 1, of: (s) => 100 * s.within1Sd },
  { title: 'in 2 sd', places: 1, of: (s) => 100 * s.within2Sd },
  { title: 'missing', places: 1, of: (s) => 100 * s.missing },
];

/** Our tracks' numbers of two runs, take by take and in the mean, over the takes that both have. */
export function comparison(before: readonly TakeAccuracy[], after: readonly TakeAccuracy[]): string {
  const pairs = after.flatMap((now) => {
    const earlier = before.find((take) => take.name === now.name);
    return earlier ? [{ name: now.name, earlier: earlier.scores.ours, now: now.scores.ours }] : [];
  });
  if (pairs.length === 0) return 'The earlier run has none of these takes.';
  const rows = pairs.flatMap(({ name, earlier, now }) => threeRows(name, earlier, now));
  const mean = threeRows('mean', meanScore(pairs.map((p) => p.earlier)), meanScore(pairs.map((p) => p.now)));
  return [
    'Our tracks before and now; errors in % of the torso’s length.',
    '',
    textTable(['take', 'run', ...columns.map((c) => c.title)], pairs.length > 1 ? [...rows, ...mean] : rows),
  ].join('\n');
}

function threeRows(name: string, earlier: TrackScore, now: TrackScore): string[][] {
  const row = (first: string, run: string, value: (c: Column) => string) => [first, run, ...columns.map(value)];
  const change = (c: Column) => {
    const by = c.of(now) - c.of(earlier);
    return by > 0 ? `+${digits(by, c.places)}` : digits(by, c.places);
  };
  return [
    row(name, 'before', (c) => digits(c.of(earlier), c.places)),
    row('', 'now', (c) => digits(c.of(now), c.places)),
    row('', 'change', change),
  ];
}
