import { meanScore, type TrackScore } from '../track/score.ts';
import { type MomentScore, meanMoments } from '../track/scoreMoments.ts';
import { type ByWay, groups, type TakeAccuracy, type Way, ways } from './benchAccuracy.ts';
import { digits, textTable } from './benchTable.ts';

/** A number of a score: its short title, its digits. */
interface Column<T> {
  readonly title: string;
  readonly places: number;
  readonly of: (score: T) => number;
}

const errorColumns: readonly Column<TrackScore>[] = [
  { title: 'position', places: 2, of: (s) => s.positionMedian },
  { title: 'p95', places: 2, of: (s) => s.positionP95 },
  { title: 'ones', places: 2, of: (s) => s.onesMedian },
  { title: 'p95', places: 2, of: (s) => s.onesP95 },
  { title: 'twos', places: 2, of: (s) => s.twosMedian },
  { title: 'p95', places: 2, of: (s) => s.twosP95 },
  { title: 'place ±1', places: 0, of: (s) => 100 * s.within1Sd },
  { title: '±2', places: 0, of: (s) => 100 * s.within2Sd },
  { title: 'ones ±1', places: 0, of: (s) => 100 * s.onesWithin1Sd },
  { title: '±2', places: 0, of: (s) => 100 * s.onesWithin2Sd },
  { title: 'twos ±1', places: 0, of: (s) => 100 * s.twosWithin1Sd },
  { title: '±2', places: 0, of: (s) => 100 * s.twosWithin2Sd },
  { title: 'missing', places: 0, of: (s) => 100 * s.missing },
];

const momentColumns: readonly Column<MomentScore>[] = [
  { title: 'turns', places: 0, of: (m) => m.turns },
  { title: 'lost', places: 0, of: (m) => m.turnsLost },
  { title: 'off, ms', places: 1, of: (m) => 1000 * m.turnMedianSec },
  { title: 'p95', places: 1, of: (m) => 1000 * m.turnP95Sec },
  { title: 'frames', places: 2, of: (m) => 24 * m.turnMedianSec },
  { title: 'p95', places: 2, of: (m) => 24 * m.turnP95Sec },
  { title: 'stops', places: 0, of: (m) => m.stops },
  { title: 'speed left', places: 0, of: (m) => 100 * m.stopWorst },
  { title: 'held', places: 0, of: (m) => m.held },
  { title: 'wander', places: 2, of: (m) => m.wanderMedian },
  { title: 'p95', places: 2, of: (m) => m.wanderP95 },
  { title: 'most', places: 2, of: (m) => m.wanderMax },
];

/** Says what the tables' columns are. */
const legend = [
  'Errors on the frames of a 24 fps shot, in % of the torso’s length, each joint’s constant offset taken out: median and',
  '95th percentile. ones, twos: errors of the step from one exposure to the next. ±1, ±2: share of the coordinates, in %,',
  'that lie within 1 and 2 of the stated standard deviations: of places, of steps on ones, of steps on twos.',
  'turns: places where a wrist, ankle or the nose turns back at an authored pose (where all are held: anywhere);',
  'lost: those not found within 4 frames; off: how much too early or too late the others come. speed left: speed 2 frames',
  'after a dead stop, in % of the greatest before it, the worst. held: joints times holds; wander: how far they go in it.',
];

/** What several takes have in the mean. */
interface Mean {
  readonly scores: ByWay<TrackScore>;
  readonly groups: TakeAccuracy['groups'];
  readonly moments: ByWay<MomentScore>;
}

function meanOf(takes: readonly TakeAccuracy[]): Mean {
  const everyWay = <T>(of: (way: Way) => T): ByWay<T> =>
    Object.fromEntries(ways.map((way) => [way, of(way)])) as Record<Way, T>;
  const ofGroups = groups.flatMap((group) => {
    const known = takes.flatMap((take) => take.groups[group] ?? []);
    return known.length > 0 ? [[group, everyWay((way) => meanScore(known.map((score) => score[way])))] as const] : [];
  });
  return {
    scores: everyWay((way) => meanScore(takes.map((take) => take.scores[way]))),
    groups: Object.fromEntries(ofGroups),
    moments: everyWay((way) => meanMoments(takes.map((take) => take.moments[way]))),
  };
}

/**
 * The tables to print: a block per take and one of the mean.
 * @param wide joint groups of every way, not of ours alone
 */
export function accuracyReport(takes: readonly TakeAccuracy[], wide: boolean): string {
  const blocks = takes.map((take) =>
    [
      `${take.name}, torso ${digits(take.torsoPx, 0)} px`,
      '',
      ...block(take, wide),
      ...found('keys', take.keys, 'within one frame, two where a pose is held'),
      ...found('holds', take.holds, 'both ends within two frames'),
    ].join('\n'),
  );
  const mean = takes.length > 1 ? [['mean', '', ...block(meanOf(takes), true)].join('\n')] : [];
  return [legend.join('\n'), ...blocks, ...mean].join('\n\n');
}

function block({ scores, groups: byGroup, moments }: Mean, wide: boolean): string[] {
  const row = <T>(name: string, columns: readonly Column<T>[], score: T) => [
    name,
    ...columns.map((c) => digits(c.of(score), c.places)),
  ];
  const ofGroups = groups.flatMap((group) => {
    const score = byGroup[group];
    if (!score) return [];
    return wide
      ? ways.map((way, i) => row(i === 0 ? `${group}: ${way}` : `  ${way}`, errorColumns, score[way]))
      : [row(`ours, ${group}`, errorColumns, score.ours)];
  });
  const errors = [...ways.map((way) => row(way, errorColumns, scores[way])), ...ofGroups];
  const { turns, stops, held } = moments.ours;
  const atMoments = ways.map((way) => row(way, momentColumns, moments[way]));
  return [
    textTable(['', ...errorColumns.map((c) => c.title)], errors),
    ...(turns + stops + held > 0 ? ['', textTable(['', ...momentColumns.map((c) => c.title)], atMoments)] : []),
  ];
}

function found(what: string, score: TakeAccuracy['keys'], when: string): string[] {
  if (!score) return [];
  return [`${what}: ${score.hit} of ${score.authored} found in time (${when}), ${score.extra} beside them`];
}

/** Our tracks' numbers of two runs, take by take and in the mean, over the takes that both have. */
export function comparison(
  before: readonly TakeAccuracy[],
  after: readonly TakeAccuracy[],
  withGroups: boolean,
): string {
  const both = after.filter((take) => before.some((b) => b.name === take.name));
  const earlier = both.map((take) => before.find((b) => b.name === take.name)!);
  if (both.length === 0) return 'The earlier run has none of these takes.';
  const means = both.length > 1 ? [{ name: 'mean', was: meanOf(earlier), is: meanOf(both) }] : [];
  const pairs = [...both.map((is, i) => ({ name: is.name, was: earlier[i]! as Mean, is: is as Mean })), ...means];
  const errors = pairs.flatMap(({ name, was, is }) => [
    ...threeRows(name, finer, was.scores.ours, is.scores.ours),
    ...groups.flatMap((group) => {
      const [a, b] = [was.groups[group], is.groups[group]];
      return withGroups && a && b ? threeRows(`  ${group}`, finer, a.ours, b.ours) : [];
    }),
  ]);
  const moments = pairs
    .filter(({ is }) => is.moments.ours.turns + is.moments.ours.stops + is.moments.ours.held > 0)
    .flatMap(({ name, was, is }) => threeRows(name, momentColumns, was.moments.ours, is.moments.ours));
  return [
    'Our tracks before and now. What the columns are is said above the tables that are printed without --compare.',
    '',
    textTable(['', '', ...finer.map((c) => c.title)], errors),
    ...(moments.length > 0 ? ['', textTable(['', '', ...momentColumns.map((c) => c.title)], moments)] : []),
  ].join('\n');
}

/** As the errors' columns, with one digit more where small gains are looked for. */
const finer: readonly Column<TrackScore>[] = errorColumns.map((c) =>
  c.title === 'ones' || c.title === 'twos' ? { ...c, places: 3 } : c,
);

function threeRows<T>(name: string, columns: readonly Column<T>[], was: T, is: T): string[][] {
  const change = (c: Column<T>) => {
    const by = c.of(is) - c.of(was);
    return by > 0 ? `+${digits(by, c.places)}` : digits(by, c.places);
  };
  return [
    [name, 'before', ...columns.map((c) => digits(c.of(was), c.places))],
    ['', 'now', ...columns.map((c) => digits(c.of(is), c.places))],
    ['', 'change', ...columns.map(change)],
  ];
}
