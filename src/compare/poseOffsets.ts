import { reach } from '../puppet/legs.ts';
import type { PuppetJoint, PuppetMotion, PuppetPath, Side } from '../puppet/puppetMotion.ts';
import { fadeOut, type Offset, sureRate } from './fadeOut.ts';
import { columnAt } from './places.ts';

/** A measured pose, millimetres, y up, with standard deviations. */
export type MeasuredPose = ReadonlyMap<PuppetJoint, readonly [x: number, y: number, sd: number]>;

/** A piece of the puppet that turns about its near end. Pieces come after those that carry them. */
interface Piece {
  readonly from: PuppetJoint;
  readonly to: PuppetJoint;
  /** Whose turn it takes: the measured line from one joint to another. */
  readonly like: readonly [PuppetJoint, PuppetJoint];
}

const sides = ['left', 'right'] as const;
const piece = (from: PuppetJoint, to: PuppetJoint, like: readonly [PuppetJoint, PuppetJoint] = [from, to]): Piece => ({
  from,
  to,
  like,
});
const trunk = ['pelvis', 'neck'] as const;
const head = ['neck', 'nose'] as const;
const pieces: readonly Piece[] = [
  piece('pelvis', 'neck'),
  piece('pelvis', 'chest', trunk),
  ...sides.map((side) => piece('pelvis', `${side}Hip`)),
  ...sides.map((side) => piece('neck', `${side}Shoulder`)),
  piece('neck', 'nose'),
  ...(['leftEye', 'rightEye', 'leftEar', 'rightEar', 'mouth', 'chin'] as const).map((joint) =>
    piece('neck', joint, head),
  ),
  ...sides.flatMap((side) => [
    piece(`${side}Shoulder`, `${side}Elbow`),
    piece(`${side}Elbow`, `${side}Wrist`),
    piece(`${side}Wrist`, `${side}Hand`),
    piece(`${side}Hip`, `${side}Knee`),
    piece(`${side}Knee`, `${side}Ankle`),
  ]),
];

/** How a piece is off: by an angle where it lies in the picture, else by its ends. */
type PieceOffset =
  | { readonly kind: 'turn'; readonly turn: Offset; readonly length: Offset }
  | { readonly kind: 'ends'; readonly x: Offset; readonly y: Offset };

/** How a foot is led at a frame, as against the plan: it stands there, or its leg swings. */
export interface Footing {
  readonly side: Side;
  /** The place is given; else the leg's own offset is faded out. */
  readonly stands: boolean;
  readonly x: number;
  readonly y: number;
  /** Moving frames since the measured pose, and after how many a swinging foot is where it was planned. */
  readonly swing: { readonly at: number; readonly ends: number };
}

/** The pose that was measured, and the one before it. */
export interface MeasuredAt {
  /** The plan's frame it stands for. */
  readonly planFrame: number;
  readonly pose: MeasuredPose;
  readonly before: { readonly pose: MeasuredPose; readonly planFrame: number; readonly frames: number } | null;
}

/** A piece that is shorter than this share of its length in the picture has no sure direction. */
const leastShare = 0.35;

/** What a measured pose is off its plan by, piece by piece, and poses with some of it left. */
export class PoseOffsets {
  readonly #plan: PuppetMotion;
  readonly #pieces = new Map<string, PieceOffset>();
  readonly #root: { x: Offset; y: Offset };
  readonly #ankles: Record<Side, { x: Offset; y: Offset }>;
  /** Lengths in space of pieces that keep theirs. */
  readonly #lengths = new Map<PuppetJoint, number>();

  /**
   * @param plan as it is to be shown, frame by frame.
   * @param original the plan by its own frames, which the measured poses are held against.
   */
  constructor(plan: PuppetMotion, original: PuppetMotion, measured: MeasuredAt) {
    this.#plan = plan;
    const own = (joint: PuppetJoint, frame: number): [number, number] => {
      const path = original.paths.get(joint);
      return path ? [columnAt(path.xMm, frame), columnAt(path.yMm, frame)] : [Number.NaN, Number.NaN];
    };
    const placeOff = (joint: PuppetJoint) => {
      const at = measured.pose.get(joint);
      const was = measured.before?.pose.get(joint);
      const [px, py] = own(joint, measured.planFrame);
      const [qx, qy] = own(joint, measured.before?.planFrame ?? 0);
      const off = (axis: 0 | 1, planned: number, plannedBefore: number): Offset => {
        const by = (at?.[axis] ?? Number.NaN) - planned;
        if (Number.isNaN(by)) return { by: 0, perFrame: 0 };
        const then = (was?.[axis] ?? Number.NaN) - plannedBefore;
        if (Number.isNaN(then)) return { by, perFrame: 0 };
        const { frames } = measured.before!;
        return { by, perFrame: sureRate((by - then) / frames, (at![2] * Math.SQRT2) / frames) };
      };
      return { x: off(0, px, qx), y: off(1, py, qy) };
    };
    this.#root = placeOff('pelvis');
    this.#ankles = { left: placeOff('leftAnkle'), right: placeOff('rightAnkle') };
    for (const { from, to } of pieces)
      if (/(neck|Hip|Shoulder|Elbow|Wrist|Hand|Knee|Ankle)$/.test(to))
        this.#lengths.set(to, inSpace(original, from, to, Math.round(measured.planFrame)));
    for (const { like } of pieces) {
      const name = like.join();
      if (this.#pieces.has(name)) continue;
      const offset = pieceOffset(like, measured, own, inSpace(original, ...like, Math.round(measured.planFrame)));
      if (offset) this.#pieces.set(name, offset);
    }
  }

  /**
   * Lays one frame: the plan's pose with what is left of the offsets.
   * @param paths are written into at frame `k`.
   * @param at moving frames since the measured pose.
   * @param frames of them after which nothing is left.
   * @returns how far legs stay short of their feet, millimetres.
   */
  pose(
    paths: ReadonlyMap<PuppetJoint, PuppetPath>,
    k: number,
    at: number,
    frames: number,
    feet: readonly Footing[],
  ): Record<Side, number> {
    const plan = this.#plan.paths;
    const planned = (joint: PuppetJoint) => {
      const path = plan.get(joint);
      return path ? ([path.xMm[k]!, path.yMm[k]!, path.zMm[k]!] as const) : null;
    };
    const put = (joint: PuppetJoint, x: number, y: number, z: number) => {
      const path = paths.get(joint);
      if (path) [path.xMm[k], path.yMm[k], path.zMm[k]] = [x, y, z];
    };
    const placed = (joint: PuppetJoint): [number, number] => [paths.get(joint)!.xMm[k]!, paths.get(joint)!.yMm[k]!];
    const left = (offset: Offset) => fadeOut(offset, at, frames);
    const root = planned('pelvis');
    if (!root) return { left: 0, right: 0 };
    const shift = [left(this.#root.x), left(this.#root.y)] as const;
    put('pelvis', root[0] + shift[0], root[1] + shift[1], root[2]);
    const vectors = new Map<PuppetJoint, readonly [number, number, number]>();
    for (const { from, to, like } of pieces) {
      const [a, b] = [planned(from), planned(to)];
      if (!a || !b) continue;
      const own = [b[0] - a[0], b[1] - a[1], b[2]] as const;
      const vector = turned(own, this.#lengths.get(to), this.#pieces.get(like.join()), left);
      vectors.set(to, vector);
      const [x, y] = placed(from);
      put(to, x + vector[0], y + vector[1], vector[2]);
    }
    for (const joint of plan.keys()) {
      if (!joint.startsWith('tail')) continue;
      const p = planned(joint)!;
      put(joint, p[0] + shift[0], p[1] + shift[1], p[2]);
    }
    this.#holdOn(paths, k, vectors);
    const short: Record<Side, number> = { left: 0, right: 0 };
    for (const foot of feet) short[foot.side] = this.#putLeg(paths, foot, vectors, planned, put, placed);
    return short;
  }

  #putLeg(
    paths: ReadonlyMap<PuppetJoint, PuppetPath>,
    { side, stands, x, y, swing }: Footing,
    vectors: ReadonlyMap<PuppetJoint, readonly [number, number, number]>,
    planned: (joint: PuppetJoint) => readonly [number, number, number] | null,
    put: (joint: PuppetJoint, x: number, y: number, z: number) => void,
    placed: (joint: PuppetJoint) => [number, number],
  ): number {
    const ankle = planned(`${side}Ankle`);
    const [upper, lower] = [vectors.get(`${side}Knee`), vectors.get(`${side}Ankle`)];
    if (!ankle || !upper || !lower || Number.isNaN(ankle[0]) || !paths.has(`${side}Hip`)) return 0;
    const fade = (offset: Offset) => fadeOut(offset, swing.at, swing.ends);
    const [dx, dy] = stands ? [x, y] : [fade(this.#ankles[side].x), fade(this.#ankles[side].y)];
    const { thighMm, shankMm } = this.#plan.profile.sizes;
    const pose = { upper, lower };
    const own = planned(`${side}Hip`)!;
    const bend = planned(`${side}Knee`)!;
    const cross = (bend[0] - own[0]) * (ankle[1] - bend[1]) - (bend[1] - own[1]) * (ankle[0] - bend[0]);
    const bent = reach(placed(`${side}Hip`), [ankle[0] + dx, ankle[1] + dy], pose, thighMm, shankMm, cross);
    put(`${side}Knee`, ...bent.middle, bent.middleZ);
    put(`${side}Ankle`, ...bent.end, bent.endZ);
    const [ex, ey] = [bent.end[0] - ankle[0], bent.end[1] - ankle[1]];
    for (const joint of [`${side}Heel`, `${side}Toe`] as const) {
      const p = planned(joint);
      // Of a foot that stands, heel and toe are where they stand though the leg may not reach.
      if (p) put(joint, p[0] + (stands ? dx : ex), p[1] + (stands ? dy : ey), p[2]);
    }
    return bent.shortMm;
  }

  /** Hands that hold on stay where they hold. */
  #holdOn(
    paths: ReadonlyMap<PuppetJoint, PuppetPath>,
    k: number,
    vectors: ReadonlyMap<PuppetJoint, readonly [number, number, number]>,
  ): void {
    for (const { side, firstFrame, frames, xMm, yMm } of this.#plan.held) {
      const [upper, lower, hand] = [
        vectors.get(`${side}Elbow`),
        vectors.get(`${side}Wrist`),
        vectors.get(`${side}Hand`),
      ];
      if (k < firstFrame || k >= firstFrame + frames || !upper || !lower) continue;
      const [shoulder, elbow, wrist] = [
        paths.get(`${side}Shoulder`)!,
        paths.get(`${side}Elbow`)!,
        paths.get(`${side}Wrist`)!,
      ];
      const { upperArmMm, forearmMm } = this.#plan.profile.sizes;
      const start = [shoulder.xMm[k]!, shoulder.yMm[k]!] as const;
      const bent = reach(start, [xMm, yMm], { upper, lower }, upperArmMm, forearmMm, 1);
      [elbow.xMm[k], elbow.yMm[k], elbow.zMm[k]] = [...bent.middle, bent.middleZ] as [number, number, number];
      [wrist.xMm[k], wrist.yMm[k], wrist.zMm[k]] = [...bent.end, bent.endZ] as [number, number, number];
      const knuckles = paths.get(`${side}Hand`);
      if (knuckles && hand) [knuckles.xMm[k], knuckles.yMm[k]] = [bent.end[0] + hand[0], bent.end[1] + hand[1]];
    }
  }
}

function inSpace({ paths }: PuppetMotion, from: PuppetJoint, to: PuppetJoint, k: number): number {
  const [a, b] = [paths.get(from), paths.get(to)];
  return a && b ? Math.hypot(b.xMm[k]! - a.xMm[k]!, b.yMm[k]! - a.yMm[k]!, b.zMm[k]!) : Number.NaN;
}

function pieceOffset(
  [from, to]: readonly [PuppetJoint, PuppetJoint],
  { planFrame, pose, before }: MeasuredAt,
  own: (joint: PuppetJoint, frame: number) => [number, number],
  length: number,
): PieceOffset | null {
  const line = (of: MeasuredPose | undefined) => {
    const [a, b] = [of?.get(from), of?.get(to)];
    return a && b ? ([b[0] - a[0], b[1] - a[1], Math.hypot(a[2], b[2])] as const) : null;
  };
  const planLine = (frame: number) => {
    const [a, b] = [own(from, frame), own(to, frame)];
    return [b[0] - a[0], b[1] - a[1]] as const;
  };
  const seen = line(pose);
  const plan = planLine(planFrame);
  if (!seen || !Number.isFinite(seen[0] + seen[1] + plan[0] + plan[1])) return null;
  const was = before ? line(before.pose) : null;
  const planWas = before ? planLine(before.planFrame) : null;
  const frames = before?.frames ?? 1;
  const isKnown = was && planWas && Number.isFinite(was[0] + was[1] + planWas[0] + planWas[1]);
  const rate = (now: number, then: number, sd: number) =>
    isKnown ? sureRate((now - then) / frames, (sd * Math.SQRT2) / frames) : 0;
  const [long, planLong] = [Math.hypot(seen[0], seen[1]), Math.hypot(...plan)];
  // Nor has it a sure turn where it was that short a moment ago.
  const lengths = [long, planLong, ...(isKnown ? [Math.hypot(was[0], was[1]), Math.hypot(...planWas)] : [])];
  if (Math.min(...lengths) < leastShare * length) {
    const [x, y] = [seen[0] - plan[0], seen[1] - plan[1]];
    const [tx, ty] = isKnown ? [was[0] - planWas[0], was[1] - planWas[1]] : [x, y];
    return { kind: 'ends', x: { by: x, perFrame: rate(x, tx, seen[2]) }, y: { by: y, perFrame: rate(y, ty, seen[2]) } };
  }
  const turn = angleBetween(plan, seen);
  const then = isKnown ? angleBetween(planWas, was) : turn;
  const longer = long - planLong;
  const longerThen = isKnown ? Math.hypot(was[0], was[1]) - Math.hypot(...planWas) : longer;
  return {
    kind: 'turn',
    turn: { by: turn, perFrame: rate(turn, then, seen[2] / long) },
    length: { by: longer, perFrame: rate(longer, longerThen, seen[2]) },
  };
}

type Plane = readonly [number, number, ...unknown[]];

/** From a to b, radians anticlockwise (y up). */
function angleBetween(a: Plane, b: Plane): number {
  return Math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]);
}

/** A piece of the plan with what is left of its offset; its length in space stays. */
function turned(
  [x, y, z]: readonly [number, number, number],
  length: number | undefined,
  offset: PieceOffset | undefined,
  left: (offset: Offset) => number,
): readonly [number, number, number] {
  if (left({ by: 1, perFrame: 0 }) === 0) return [x, y, z];
  const space = length !== undefined && length > 0 ? length : Math.hypot(x, y, z);
  let [u, v] = [x, y];
  if (!offset) [u, v] = [x, y];
  else if (offset.kind === 'ends') [u, v] = [x + left(offset.x), y + left(offset.y)];
  else {
    const angle = left(offset.turn);
    const plane = Math.hypot(x, y);
    const grown = plane > 0 ? Math.max(0, plane + left(offset.length)) / plane : 1;
    const [c, s] = [grown * Math.cos(angle), grown * Math.sin(angle)];
    [u, v] = [c * x - s * y, s * x + c * y];
  }
  const plane = Math.hypot(u, v);
  // No longer than it is: what the picture shows beyond is an error.
  if (plane > space) [u, v] = [(u * space) / plane, (v * space) / plane];
  const out = Math.sqrt(Math.max(0, space * space - u * u - v * v));
  return [u, v, out];
}
