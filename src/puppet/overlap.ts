import type { Joint } from '../base/joints.ts';
import { realisticPuppet } from './builtIn.ts';
import { type PuppetProfile, type PuppetSizes, standingHeightMm } from './profile.ts';
import type { PuppetJoint, PuppetMotion } from './puppetMotion.ts';

/** A thick line in the picture: a piece of a body. NaN where an end is not known. */
interface Capsule {
  ax: number;
  ay: number;
  bx: number;
  by: number;
  radius: number;
}

/** Pieces that may meet. A tail's are counted as its joints are. */
export type Piece =
  | 'head'
  | 'trunk'
  | `${'left' | 'right'}${'UpperArm' | 'Forearm' | 'Thigh' | 'Shank'}`
  | `tail${number}`;

/** How two pieces lie to each other in one frame, in the picture. */
export interface Overlap {
  /** How deep one goes into the other, millimetres; below 0 = apart. NaN where an end is not known. */
  readonly deepMm: number;
  /** How deep the performer's own do with a person's usual thickness, brought to the thickness of these; 0 = they are apart. */
  readonly performersMm: number;
  /** Both radii: `deepMm` of pieces that lie on each other. */
  readonly mostMm: number;
}

/** Reads overlaps off a motion; of paths that are changed meanwhile, as they are then. */
export type OverlapAt = (moving: Piece, other: Piece, frame: number, turned?: Turned) => Overlap;

/** Joints as they would be, turned about one of them by so many degrees, anticlockwise in the picture. */
export interface Turned {
  readonly about: PuppetJoint;
  readonly what: readonly PuppetJoint[];
  readonly deg: number;
}

/** @returns overlaps of this puppet beside those of the performer that it follows. */
export function overlapsOf(motion: PuppetMotion): OverlapAt {
  const { profile, followed, mmPerPx } = motion;
  const perHeight = standingHeightMm(profile) / standingHeightMm(realisticPuppet);
  const person = Object.fromEntries(
    Object.entries(realisticPuppet.sizes).map(([name, size]) => [name, size * perHeight]),
  ) as unknown as PuppetSizes;
  const own: Body = {
    sizes: profile.sizes,
    tail: profile.tail,
    x: (joint, k) => motion.paths.get(joint)?.xMm[k] ?? Number.NaN,
    y: (joint, k) => motion.paths.get(joint)?.yMm[k] ?? Number.NaN,
  };
  const theirs: Body = {
    sizes: person,
    tail: null,
    x: (joint, k) => (followed.paths.get(joint as Joint)?.xPx[k] ?? Number.NaN) * mmPerPx,
    y: (joint, k) => -(followed.paths.get(joint as Joint)?.yPx[k] ?? Number.NaN) * mmPerPx,
  };
  return (moving, other, k, turn) => {
    const body = turn ? turned(own, turn) : own;
    const [a, b] = [capsuleOf(body, moving, k), capsuleOf(body, other, k)];
    const mostMm = a.radius + b.radius;
    const [p, q] = [capsuleOf(theirs, moving, k), capsuleOf(theirs, other, k)];
    const before = isTail(moving) ? 0 : Math.max(0, p.radius + q.radius - distance(p, q)) / (p.radius + q.radius);
    // Legs thicker than the hips are wide lie on each other as built.
    const asBuilt = isOfLeg(moving) && isOfLeg(other) ? profile.sizes.legThickMm - profile.sizes.hipsMm : 0;
    return { deepMm: mostMm - distance(a, b), performersMm: Math.max(before * mostMm, asBuilt), mostMm };
  };
}

/** A piece counts as deep in another from this share of both radii more than the performer's are. */
const moreThanPerformer = 0.2;
/** A tail has no performer, and its depth is not known: it is told where it lies well across something. */
const wellAcross = 0.5;

/** Is a piece clearly deeper in another than the performer's? False where an end is not known. */
export function isTooDeep(moving: Piece, { deepMm, performersMm, mostMm }: Overlap): boolean {
  return deepMm > performersMm + (isTail(moving) ? wellAcross : moreThanPerformer) * mostMm;
}

function turned(body: Body, { about, what, deg }: Turned): Body {
  const [c, s] = [Math.cos((deg * Math.PI) / 180), Math.sin((deg * Math.PI) / 180)];
  const off = (joint: PuppetJoint, k: number) =>
    [body.x(joint, k) - body.x(about, k), body.y(joint, k) - body.y(about, k)] as const;
  return {
    ...body,
    x(joint, k) {
      if (!what.includes(joint)) return body.x(joint, k);
      const [dx, dy] = off(joint, k);
      return body.x(about, k) + c * dx - s * dy;
    },
    y(joint, k) {
      if (!what.includes(joint)) return body.y(joint, k);
      const [dx, dy] = off(joint, k);
      return body.y(about, k) + s * dx + c * dy;
    },
  };
}

interface Body {
  readonly sizes: PuppetSizes;
  readonly tail: PuppetProfile['tail'];
  readonly x: (joint: PuppetJoint, k: number) => number;
  readonly y: (joint: PuppetJoint, k: number) => number;
}

function capsuleOf(body: Body, piece: Piece, k: number): Capsule {
  const { sizes: s, x, y } = body;
  const from = (a: PuppetJoint, b: PuppetJoint, thickMm: number): Capsule => ({
    ax: x(a, k),
    ay: y(a, k),
    bx: x(b, k),
    by: y(b, k),
    radius: thickMm / 2,
  });
  if (piece === 'trunk') return from('neck', 'pelvis', s.trunkThickMm);
  if (piece === 'head') return headOf(body, k);
  if (isTail(piece)) {
    const i = Number(piece.slice('tail'.length));
    return from(i > 1 ? `tail${i - 1}` : 'pelvis', piece, body.tail?.thickMm ?? Number.NaN);
  }
  const side = piece.startsWith('left') ? 'left' : 'right';
  switch (piece.slice(side.length)) {
    case 'UpperArm':
      return from(`${side}Shoulder`, `${side}Elbow`, s.armThickMm);
    case 'Thigh':
      return from(`${side}Hip`, `${side}Knee`, s.legThickMm);
    case 'Shank':
      return from(`${side}Knee`, `${side}Ankle`, s.legThickMm);
    default: {
      const arm = from(`${side}Elbow`, `${side}Hand`, s.armThickMm);
      return Number.isNaN(arm.bx) ? from(`${side}Elbow`, `${side}Wrist`, s.armThickMm) : arm;
    }
  }
}

/** A thigh or a shank. */
export function isOfLeg(piece: Piece): boolean {
  return piece.endsWith('Thigh') || piece.endsWith('Shank');
}

const thickWords: Readonly<Record<string, string>> = {
  UpperArm: 'upper arm',
  Forearm: 'forearm and hand',
  Thigh: 'thigh',
  Shank: 'shank',
};

/** "left forearm and hand", "body", "tail’s piece 3". */
export function pieceWords(piece: Piece): string {
  if (isTail(piece)) return `tail’s piece ${piece.slice('tail'.length)}`;
  const side = piece.startsWith('left') ? 'left' : piece.startsWith('right') ? 'right' : '';
  return side === '' ? (piece === 'trunk' ? 'body' : piece) : `${side} ${thickWords[piece.slice(side.length)]}`;
}

/** A piece of a tail. */
export function isTail(piece: Piece): piece is `tail${number}` {
  return piece.startsWith('tail');
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
