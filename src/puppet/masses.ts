import { deLevaMean, segmentNames } from '../base/segmentMasses.ts';
import { frameCountOf } from './hitch.ts';
import type { MassName, PuppetProfile } from './profile.ts';
import type { PuppetJoint, PuppetMotion } from './puppetMotion.ts';

/** What each piece weighs, and whose numbers these are. */
export interface PieceMasses {
  /** Grams where all are the puppet's own, else shares of a person's mass; of one side. 0 = not known (a tail). */
  readonly of: Readonly<Record<MassName, number>>;
  /** A person's shares, because the puppet was not weighed in all its pieces. */
  readonly arePersons: boolean;
  /** It has a tail whose weight is not known and is left out. */
  readonly tailLeftOut: boolean;
}

/**
 * The puppet's own grams if every piece was weighed (a tail may be missing), else the shares of a person (`deLevaMean`): grams of
 * some pieces and shares of others do not go together.
 */
export function massesOf({ massesG, tail }: PuppetProfile): PieceMasses {
  const isWeighed = massesG !== null && segmentNames.every((name) => massesG[name] !== undefined);
  const tailG = isWeighed && tail ? (massesG.tail ?? 0) : 0;
  const of = Object.fromEntries(
    segmentNames.map((name) => [name, isWeighed ? massesG[name]! : deLevaMean[name].share]),
  ) as Record<MassName, number>;
  return { of: { ...of, tail: tailG }, arePersons: !isWeighed, tailLeftOut: tail !== null && tailG === 0 };
}

/** Where a puppet's centre of mass is, millimetres as the paths are. Shape [frame]; NaN = a piece of the body is not known. */
export interface PuppetCentre {
  readonly xMm: Float64Array;
  readonly yMm: Float64Array;
  /** Standard deviation along one axis, from the tracks. */
  readonly sdMm: Float64Array;
  readonly masses: PieceMasses;
}

type Ends = readonly (readonly [PuppetJoint, number])[];

/**
 * The puppet's centre of mass in the picture. Where on a piece its own centre lies: `deLevaMean`. The head's is taken between the ears,
 * where a person's nearly is (0.6 of the way from shoulders to vertex), or at that height along the trunk where ears are not known; a
 * hand not seen counts at the wrist, a foot at the ankle; pieces of a tail in their middles, by length.
 */
export function centreOfPuppet(motion: PuppetMotion): PuppetCentre {
  const n = frameCountOf(motion);
  const masses = massesOf(motion.profile);
  const [xMm, yMm, variance] = [new Float64Array(n), new Float64Array(n), new Float64Array(n)];
  const pieces = piecesOf(motion, masses);
  const total = pieces.reduce((sum, { mass }) => sum + mass, 0);
  for (const { mass, at } of pieces) {
    for (let k = 0; k < n; k++) {
      const ends = at.find((one) =>
        one.every(([joint]) => !Number.isNaN(motion.paths.get(joint)?.xMm[k] ?? Number.NaN)),
      );
      if (!ends) {
        xMm[k] = yMm[k] = variance[k] = Number.NaN;
        continue;
      }
      for (const [joint, weight] of ends) {
        const path = motion.paths.get(joint)!;
        const share = (mass / total) * weight;
        xMm[k]! += share * path.xMm[k]!;
        yMm[k]! += share * path.yMm[k]!;
        variance[k]! += (share * path.sdMm[k]!) ** 2;
      }
    }
  }
  return { xMm, yMm, sdMm: variance.map(Math.sqrt), masses };
}

/** Height of the ears over the shoulders as a share of the trunk: 0.118 and 0.288 of standing height (Drillis & Contini, from memory). */
const earsOverTrunk = 0.118 / 0.288;

/** Each piece with where its centre lies, best guess first. */
function piecesOf(
  { profile }: PuppetMotion,
  { of }: PieceMasses,
): { readonly mass: number; readonly at: readonly Ends[] }[] {
  const between = (from: PuppetJoint, to: PuppetJoint, along: number): Ends => [
    [from, 1 - along],
    [to, along],
  ];
  const headUp: Ends = [
    ['neck', 1 + earsOverTrunk],
    ['pelvis', -earsOverTrunk],
  ];
  const limbs = (['left', 'right'] as const).flatMap((side) => [
    { mass: of.upperArm, at: [between(`${side}Shoulder`, `${side}Elbow`, deLevaMean.upperArm.along)] },
    { mass: of.forearm, at: [between(`${side}Elbow`, `${side}Wrist`, deLevaMean.forearm.along)] },
    {
      mass: of.hand,
      at: [between(`${side}Wrist`, `${side}Hand`, deLevaMean.hand.along), [[`${side}Wrist`, 1]] satisfies Ends],
    },
    { mass: of.thigh, at: [between(`${side}Hip`, `${side}Knee`, deLevaMean.thigh.along)] },
    { mass: of.shank, at: [between(`${side}Knee`, `${side}Ankle`, deLevaMean.shank.along)] },
    {
      mass: of.foot,
      at: [between(`${side}Heel`, `${side}Toe`, deLevaMean.foot.along), [[`${side}Ankle`, 1]] satisfies Ends],
    },
  ]);
  const pieces = profile.tail?.piecesMm ?? [];
  const long = pieces.reduce((sum, piece) => sum + piece, 0);
  const tail = pieces.map((piece, i) => ({
    mass: of.tail * (piece / long),
    at: [between(i === 0 ? 'pelvis' : `tail${i}`, `tail${i + 1}`, 0.5)],
  }));
  return [
    { mass: of.head, at: [between('leftEar', 'rightEar', 0.5), headUp] },
    { mass: of.trunk, at: [between('neck', 'pelvis', deLevaMean.trunk.along)] },
    ...limbs,
    ...tail.filter(({ mass }) => mass > 0),
  ];
}
