/** Places of a body between which the tables measure. Without a side: in the middle. */
export type MiddleLandmark = 'vertex' | 'cervicale' | 'ear' | 'midShoulder' | 'midHip';
/** Places that a body has on both sides; knuckles = the third metacarpal's head (Dempster: the second's), ball = that of the foot. */
export type SideLandmark =
  | 'shoulder'
  | 'elbow'
  | 'wrist'
  | 'knuckles'
  | 'hip'
  | 'knee'
  | 'ankle'
  | 'heel'
  | 'toe'
  | 'ball';

/** Pieces of a body. Arms and legs have each one per side. */
export const segmentNames = ['head', 'trunk', 'upperArm', 'forearm', 'hand', 'thigh', 'shank', 'foot'] as const;
/** One of them. */
export type SegmentName = (typeof segmentNames)[number];

/** How heavy a piece of a body is, and where its own centre of mass lies. */
export interface SegmentMass {
  /** Share of the whole body's mass; of one side. */
  readonly share: number;
  readonly from: MiddleLandmark | SideLandmark;
  readonly to: MiddleLandmark | SideLandmark;
  /** Where the centre lies on the way: 0 = at `from`, 1 = at `to`. */
  readonly along: number;
}

/** All pieces of a body. */
export type SegmentTable = Readonly<Record<SegmentName, SegmentMass>>;

type Numbers = Readonly<Record<SegmentName, readonly [share: number, along: number]>>;

const deLevaEnds = {
  head: ['vertex', 'cervicale'],
  trunk: ['midShoulder', 'midHip'],
  upperArm: ['shoulder', 'elbow'],
  forearm: ['elbow', 'wrist'],
  hand: ['wrist', 'knuckles'],
  thigh: ['hip', 'knee'],
  shank: ['knee', 'ankle'],
  foot: ['heel', 'toe'],
} as const;

const dempsterEnds = {
  ...deLevaEnds,
  head: ['cervicale', 'ear'],
  trunk: ['midHip', 'midShoulder'],
  foot: ['ankle', 'ball'],
} as const;

function table(
  ends: Readonly<Record<SegmentName, readonly [SegmentMass['from'], SegmentMass['to']]>>,
  numbers: Numbers,
): SegmentTable {
  return Object.fromEntries(
    segmentNames.map((name) => {
      const [[from, to], [share, along]] = [ends[name], numbers[name]];
      return [name, { share, from, to, along }];
    }),
  ) as unknown as SegmentTable;
}

const male: Numbers = {
  head: [0.0694, 0.5002],
  trunk: [0.4346, 0.431],
  upperArm: [0.0271, 0.5772],
  forearm: [0.0162, 0.4574],
  hand: [0.0061, 0.79],
  thigh: [0.1416, 0.4095],
  shank: [0.0433, 0.4395],
  foot: [0.0137, 0.4415],
};

const female: Numbers = {
  head: [0.0668, 0.4841],
  trunk: [0.4257, 0.3782],
  upperArm: [0.0255, 0.5754],
  forearm: [0.0138, 0.4559],
  hand: [0.0056, 0.7474],
  thigh: [0.1478, 0.3612],
  shank: [0.0481, 0.4352],
  foot: [0.0129, 0.4014],
};

/**
 * P. de Leva, "Adjustments to Zatsiorsky-Seluyanov's segment inertia parameters", J. Biomech. 29 (1996) 1223–1230, table 4, men.
 * Head from vertex to cervicale, trunk from mid-shoulder to mid-hip (the variants that joint centres give).
 */
export const deLevaMale: SegmentTable = table(deLevaEnds, male);
/** The same table, women. Shares add up to 0.9999 as printed. */
export const deLevaFemale: SegmentTable = table(deLevaEnds, female);
/** The mean of both. */
export const deLevaMean: SegmentTable = table(
  deLevaEnds,
  Object.fromEntries(
    segmentNames.map((name) => [name, [0, 1].map((i) => (male[name][i]! + female[name][i]!) / 2)]),
  ) as unknown as Numbers,
);

/**
 * W. T. Dempster 1955 as in D. A. Winter, Biomechanics and Motor Control of Human Movement, 4th ed. 2009, table 4.1. Limbs between
 * joint centres, head and neck from C7 to the ear canal (where its centre is), trunk from trochanter to shoulder, foot from ankle to
 * ball. Its upper arm's centre lies higher than de Leva's (0.436 and 0.577): both are right for their own data.
 */
export const dempsterTable: SegmentTable = table(dempsterEnds, {
  head: [0.081, 1],
  trunk: [0.497, 0.5],
  upperArm: [0.028, 0.436],
  forearm: [0.016, 0.43],
  hand: [0.006, 0.506],
  thigh: [0.1, 0.433],
  shank: [0.0465, 0.433],
  foot: [0.0145, 0.5],
});

/** How many of a piece a body has. */
export function countOf(name: SegmentName): 1 | 2 {
  return name === 'head' || name === 'trunk' ? 1 : 2;
}

/** Sum of all shares, both sides counted: 1 but for rounding. */
export function sumOfShares(of: SegmentTable): number {
  return segmentNames.reduce((sum, name) => sum + countOf(name) * of[name].share, 0);
}

/**
 * The centre of mass of a body whose landmarks are known, in whatever unit and direction these have; shares are brought to a sum of 1.
 * NaN where a landmark is.
 * @param placeOf where a landmark is; `side` is to be ignored for those in the middle.
 */
export function bodyCentre(
  of: SegmentTable,
  placeOf: (landmark: MiddleLandmark | SideLandmark, side: 'left' | 'right') => readonly [number, number],
): [number, number] {
  let [x, y] = [0, 0];
  const total = sumOfShares(of);
  for (const name of segmentNames) {
    const { share, from, to, along } = of[name];
    for (const side of countOf(name) === 2 ? (['left', 'right'] as const) : (['left'] as const)) {
      const [a, b] = [placeOf(from, side), placeOf(to, side)];
      x += (share / total) * (a[0] + along * (b[0] - a[0]));
      y += (share / total) * (a[1] + along * (b[1] - a[1]));
    }
  }
  return [x, y];
}
