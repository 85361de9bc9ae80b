import type { Joint } from '../base/joints.ts';
import { realisticPuppet } from './builtIn.ts';
import { facingOf } from './facing.ts';
import { frameCountOf, frameRunWords, type Hitch, mm, runsAbove, worstWords } from './hitch.ts';
import { type PuppetSizes, standingHeightMm } from './profile.ts';
import type { PuppetMotion } from './puppetMotion.ts';

/** A thick line in the picture: a piece of a body. NaN where an end is not known. */
interface Capsule {
  ax: number;
  ay: number;
  bx: number;
  by: number;
  radius: number;
}

/** Pieces that may meet. */
type Piece = 'head' | 'trunk' | `${'left' | 'right'}${'UpperArm' | 'Forearm' | 'Thigh'}`;

/** Pairs that no joint connects, the moving one first. Legs pass beside each other in every walk and are not told. */
const pairs: readonly (readonly [Piece, Piece])[] = [
  ...(['left', 'right'] as const).flatMap((side): [Piece, Piece][] => [
    [`${side}Forearm`, 'head'],
    [`${side}UpperArm`, 'head'],
    [`${side}Forearm`, 'trunk'],
    [`${side}Forearm`, 'leftThigh'],
    [`${side}Forearm`, 'rightThigh'],
  ]),
  ['leftForearm', 'rightForearm'],
];

/** A piece counts as deep in another from this share of both radii more than the performer's are. */
const moreThanPerformer = 0.2;
/** Depths below so many standard deviations of the nearer joint are not told. */
const surelySds = 2;

const words: Readonly<Record<string, string>> = {
  UpperArm: 'upper arm',
  Forearm: 'forearm and hand',
  Thigh: 'thigh',
};

/**
 * Where limbs of the puppet would go through each other, its body or its head. One camera does not tell whether an arm passes before
 * the body; the performer's did it without going through. So an overlap counts only where it is clearly deeper than the performer's own
 * at the same moment, with a person's usual thickness: what a bigger head, a shorter arm or a thicker body make of it. Seen from the side
 * arms go beside the body and the legs: only the head is told.
 */
export function findTouches(motion: PuppetMotion): Hitch[] {
  const performer = motion.followed;
  const n = frameCountOf(motion);
  const height = standingHeightMm(motion.profile);
  const perHeight = height / standingHeightMm(realisticPuppet);
  const person = Object.fromEntries(
    Object.entries(realisticPuppet.sizes).map(([name, size]) => [name, size * perHeight]),
  ) as unknown as PuppetSizes;
  const own: Body = {
    sizes: motion.profile.sizes,
    x: (joint, k) => motion.paths.get(joint)?.xMm[k] ?? Number.NaN,
    y: (joint, k) => motion.paths.get(joint)?.yMm[k] ?? Number.NaN,
  };
  const theirs: Body = {
    sizes: person,
    x: (joint, k) => (performer.paths.get(joint)?.xPx[k] ?? Number.NaN) * motion.mmPerPx,
    y: (joint, k) => -(performer.paths.get(joint)?.yPx[k] ?? Number.NaN) * motion.mmPerPx,
  };
  const isFromSide = Uint8Array.from({ length: n }, (_, k) =>
    facingOf(motion, 'Shoulder', k)?.view === 'side' ? 1 : 0,
  );
  return pairs.flatMap(([moving, other]) => {
    const depth = new Float64Array(n);
    for (let k = 0; k < n; k++) {
      if (other !== 'head' && isFromSide[k]) continue;
      const [a, b] = [capsuleOf(own, moving, k), capsuleOf(own, other, k)];
      const deep = a.radius + b.radius - distance(a, b);
      const sd = motion.paths.get(outerJoint(moving))?.sdMm[k] ?? Number.NaN;
      if (!(deep > surelySds * sd)) continue;
      const [p, q] = [capsuleOf(theirs, moving, k), capsuleOf(theirs, other, k)];
      const before = Math.max(0, p.radius + q.radius - distance(p, q)) / (p.radius + q.radius);
      if (deep / (a.radius + b.radius) > before + moreThanPerformer) depth[k] = deep;
    }
    return runsAbove(depth).map((run): Hitch => {
      const deep = depth[run.worstFrame]!;
      return {
        id: `touch:${moving}-${other}:${run.firstFrame}`,
        kind: 'touch',
        part: spoken(moving),
        ...run,
        worst: deep,
        unit: 'mm',
        weight: (deep / height) * 20,
        sentence: `The ${spoken(moving)} may touch the ${spoken(other)}, ${mm(deep)} deep, ${frameRunWords(run)}${worstWords(run)}.`,
        why: 'Thicknesses of both in the picture, where the performer’s own do not overlap as deep. Depth is not seen: it may also pass before or behind.',
        fix: null,
        support: null,
      };
    });
  });
}

interface Body {
  readonly sizes: PuppetSizes;
  readonly x: (joint: Joint, k: number) => number;
  readonly y: (joint: Joint, k: number) => number;
}

function spoken(piece: Piece): string {
  const side = piece.startsWith('left') ? 'left' : piece.startsWith('right') ? 'right' : '';
  return side === '' ? (piece === 'trunk' ? 'body' : piece) : `${side} ${words[piece.slice(side.length)]}`;
}

function outerJoint(piece: Piece): Joint {
  const side = piece.startsWith('left') ? 'left' : 'right';
  return piece.endsWith('UpperArm') ? `${side}Elbow` : `${side}Wrist`;
}

function capsuleOf(body: Body, piece: Piece, k: number): Capsule {
  const { sizes: s, x, y } = body;
  const from = (a: Joint, b: Joint, thickMm: number): Capsule => ({
    ax: x(a, k),
    ay: y(a, k),
    bx: x(b, k),
    by: y(b, k),
    radius: thickMm / 2,
  });
  if (piece === 'trunk') return from('neck', 'pelvis', s.trunkThickMm);
  if (piece === 'head') return headOf(body, k);
  const side = piece.startsWith('left') ? 'left' : 'right';
  switch (piece.slice(side.length)) {
    case 'UpperArm':
      return from(`${side}Shoulder`, `${side}Elbow`, s.armThickMm);
    case 'Thigh':
      return from(`${side}Hip`, `${side}Knee`, s.legThickMm);
    default: {
      const arm = from(`${side}Elbow`, `${side}Hand`, s.armThickMm);
      return Number.isNaN(arm.bx) ? from(`${side}Elbow`, `${side}Wrist`, s.armThickMm) : arm;
    }
  }
}

/** The head as high and as wide as it is, about the middle of the ears, along the way there from between the shoulders. */
function headOf({ sizes: { headMm, headWidthMm }, x, y }: Body, k: number): Capsule {
  const [ex, ey] = [(x('leftEar', k) + x('rightEar', k)) / 2, (y('leftEar', k) + y('rightEar', k)) / 2];
  const [dx, dy] = [ex - x('neck', k), ey - y('neck', k)];
  const long = Math.hypot(dx, dy) || 1;
  const half = Math.max(0, (headMm - headWidthMm) / 2);
  const [ox, oy] = [(dx / long) * half, (dy / long) * half];
  return { ax: ex - ox, ay: ey - oy, bx: ex + ox, by: ey + oy, radius: headWidthMm / 2 };
}

/** Between the middle lines of two capsules; 0 where they cross. */
function distance(p: Capsule, q: Capsule): number {
  if (crosses(p, q)) return 0;
  return Math.min(toLine(p.ax, p.ay, q), toLine(p.bx, p.by, q), toLine(q.ax, q.ay, p), toLine(q.bx, q.by, p));
}

function crosses(p: Capsule, q: Capsule): boolean {
  const side = (c: Capsule, x: number, y: number) => (c.bx - c.ax) * (y - c.ay) - (c.by - c.ay) * (x - c.ax);
  return side(p, q.ax, q.ay) * side(p, q.bx, q.by) < 0 && side(q, p.ax, p.ay) * side(q, p.bx, p.by) < 0;
}

function toLine(x: number, y: number, { ax, ay, bx, by }: Capsule): number {
  const [dx, dy] = [bx - ax, by - ay];
  const square = dx * dx + dy * dy;
  const t = square > 0 ? Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / square)) : 0;
  return Math.hypot(x - ax - t * dx, y - ay - t * dy);
}
