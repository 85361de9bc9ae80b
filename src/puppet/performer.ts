import type { Joint } from '../base/joints.ts';
import type { Motion } from '../track/motion.ts';

/** Straight pieces of a body whose true length must be known to tell how far they point out of the picture. */
export const pieces = {
  trunk: ['pelvis', 'neck', 0.288],
  shoulders: ['rightShoulder', 'leftShoulder', 0.225],
  hips: ['rightHip', 'leftHip', 0.12],
  leftUpperArm: ['leftShoulder', 'leftElbow', 0.186],
  leftForearm: ['leftElbow', 'leftWrist', 0.146],
  leftHand: ['leftWrist', 'leftHand', 0.054],
  leftThigh: ['leftHip', 'leftKnee', 0.245],
  leftShank: ['leftKnee', 'leftAnkle', 0.246],
  leftFoot: ['leftHeel', 'leftToe', 0.152],
  rightUpperArm: ['rightShoulder', 'rightElbow', 0.186],
  rightForearm: ['rightElbow', 'rightWrist', 0.146],
  rightHand: ['rightWrist', 'rightHand', 0.054],
  rightThigh: ['rightHip', 'rightKnee', 0.245],
  rightShank: ['rightKnee', 'rightAnkle', 0.246],
  rightFoot: ['rightHeel', 'rightToe', 0.152],
} as const satisfies Record<string, readonly [Joint, Joint, number]>;
/** One of them. */
export type Piece = keyof typeof pieces;

/** True length of each piece of the performer, pixels; NaN where its ends were never seen. */
export type PerformerLengths = Readonly<Record<Piece, number>>;

/** The true length is near the longest that is often seen: the very longest are errors. */
const longShare = 0.95;
/**
 * Limbs of people differ from the usual shares of their height by about a tenth: what seems much shorter only points out of the
 * picture all the time, and what seems much longer is a mistake.
 */
const leastOfUsual = 0.85;
const mostOfUsual = 1.25;

/**
 * Measures the performer's pieces over a motion: the longest that each is often seen, within what people's limbs are of their
 * standing height (R. Drillis and R. Contini 1966, as in Winter, Biomechanics, fig. 4.1, from memory; joint centres of
 * shoulders and hips, hand to the knuckles: our own reading). Left and right are alike.
 */
export function measurePerformer(motion: Motion, heightPx: number): PerformerLengths {
  const own = (piece: Piece): number => {
    const [from, to, usual] = pieces[piece];
    const [a, b] = [motion.paths.get(from), motion.paths.get(to)];
    if (!a || !b) return Number.NaN;
    const lengths = [...a.xPx.keys()]
      .map((k) => Math.hypot(b.xPx[k]! - a.xPx[k]!, b.yPx[k]! - a.yPx[k]!))
      .filter((px) => !Number.isNaN(px))
      .sort((p, q) => p - q);
    const long = lengths[Math.floor(longShare * (lengths.length - 1))];
    if (long === undefined) return Number.NaN;
    return Math.max(leastOfUsual * usual * heightPx, Math.min(mostOfUsual * usual * heightPx, long));
  };
  const names = Object.keys(pieces) as Piece[];
  const seen = new Map(names.map((piece) => [piece, own(piece)]));
  const partner = (piece: Piece): Piece =>
    (piece.startsWith('left') ? piece.replace('left', 'right') : piece.replace('right', 'left')) as Piece;
  // One side often hides behind the other.
  const both = (piece: Piece): number => {
    const [a, b] = [seen.get(piece)!, seen.get(partner(piece))!];
    return Number.isNaN(a) ? b : Number.isNaN(b) ? a : Math.max(a, b);
  };
  return Object.fromEntries(names.map((piece) => [piece, both(piece)])) as unknown as PerformerLengths;
}
