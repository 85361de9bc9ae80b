import type { Joint } from '../base/joints.ts';
import { nearestApart } from './apart.ts';
import { facingOf, type View } from './facing.ts';
import { frameCountOf, frameRunWords, type Hitch, mm, runsAbove, worstWords } from './hitch.ts';
import { isOfLeg, isTail, isTooDeep, overlapsOf, type Piece, pieceWords } from './overlap.ts';
import { standingHeightMm } from './profile.ts';
import type { PuppetMotion } from './puppetMotion.ts';

/** Pairs of a body that no joint connects, the moving one first. */
const pairs: readonly (readonly [Piece, Piece])[] = [
  ...(['left', 'right'] as const).flatMap((side): [Piece, Piece][] => [
    [`${side}Forearm`, 'head'],
    [`${side}UpperArm`, 'head'],
    [`${side}Forearm`, 'trunk'],
    [`${side}Forearm`, 'leftThigh'],
    [`${side}Forearm`, 'rightThigh'],
  ]),
  ['leftForearm', 'rightForearm'],
  ['leftThigh', 'rightThigh'],
  ['leftShank', 'rightShank'],
  ['leftShank', 'rightThigh'],
  ['rightShank', 'leftThigh'],
];

/** Depths below so many standard deviations of the nearer joint are not told. */
const surelySds = 2;

/**
 * Where limbs of the puppet would go through each other, its body or its head. One camera does not tell whether an arm passes before
 * the body; the performer's did it without going through. So an overlap counts only where it is clearly deeper than the performer's own
 * at the same moment, with a person's usual thickness: what a bigger head, a shorter arm or a thicker body make of it. Seen from the side
 * arms go beside the body and the legs: only the head is told. Legs pass each other beside or before: they are told from the front and
 * from behind. A tail that hangs is not told.
 */
export function findTouches(motion: PuppetMotion): Hitch[] {
  const n = frameCountOf(motion);
  const height = standingHeightMm(motion.profile);
  const overlapAt = overlapsOf(motion);
  const viewsOf = (line: 'Shoulder' | 'Hip') =>
    Array.from({ length: n }, (_, k) => facingOf(motion, line, k)?.view ?? null);
  const [shoulders, hips] = [viewsOf('Shoulder'), viewsOf('Hip')];
  return [...pairs, ...tailPairs(motion)].flatMap(([moving, other]) => {
    const depth = new Float64Array(n);
    for (let k = 0; k < n; k++) {
      if (!isTold(moving, other, shoulders[k]!, hips[k]!)) continue;
      const overlap = overlapAt(moving, other, k);
      const sd = motion.paths.get(outerJoint(moving))?.sdMm[k] ?? Number.NaN;
      if (overlap.deepMm > surelySds * sd && isTooDeep(moving, overlap)) depth[k] = overlap.deepMm;
    }
    return runsAbove(depth).map((run): Hitch => {
      const deep = depth[run.worstFrame]!;
      return {
        id: `touch:${moving}-${other}:${run.firstFrame}`,
        kind: 'touch',
        part: pieceWords(moving),
        ...run,
        worst: deep,
        unit: 'mm',
        weight: (deep / height) * 20,
        sentence: `The ${pieceWords(moving)} may touch the ${pieceWords(other)}, ${mm(deep)} deep, ${frameRunWords(run)}${worstWords(run)}.`,
        why: isTail(moving)
          ? 'Thicknesses of both in the picture. The tail’s depth is not known at all: it may also pass before or behind.'
          : 'Thicknesses of both in the picture, where the performer’s own do not overlap as deep. Depth is not seen: it may also pass before or behind.',
        fix: nearestApart(motion, moving, other, run),
        support: null,
      };
    });
  });
}

/** Can a touch of these be told as the body is seen? Null = how it is seen is not known. */
function isTold(moving: Piece, other: Piece, shoulders: View | null, hips: View | null): boolean {
  if (isTail(moving) || other === 'head') return true;
  if (isOfLeg(moving)) return hips === 'front' || hips === 'back';
  return shoulders !== 'side';
}

/** The tail from its second piece on, over forearms and shanks; none where it hangs straight from the hips. */
function tailPairs({ profile, paths }: PuppetMotion): (readonly [Piece, Piece])[] {
  const [first, pelvis] = [paths.get('tail1'), paths.get('pelvis')];
  if (!profile.tail || !first || !pelvis || first.xMm.every((x, k) => x === pelvis.xMm[k])) return [];
  return profile.tail.piecesMm
    .slice(1)
    .flatMap((_, i) =>
      (['leftForearm', 'rightForearm', 'leftShank', 'rightShank'] as const).map(
        (other) => [`tail${i + 2}` as const, other] as const,
      ),
    );
}

function outerJoint(piece: Piece): Joint | `tail${number}` {
  if (isTail(piece)) return piece;
  const side = piece.startsWith('left') ? 'left' : 'right';
  const of = { UpperArm: 'Elbow', Forearm: 'Wrist', Thigh: 'Knee', Shank: 'Ankle' } as const;
  return `${side}${of[piece.slice(side.length) as keyof typeof of]}`;
}
