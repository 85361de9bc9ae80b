import type { Joint } from '../base/joints.ts';
import type { HandContact } from '../track/handContact.ts';
import type { JointPath, Motion } from '../track/motion.ts';
import { findStands } from './feet.ts';
import { groundHeights } from './ground.ts';
import { bendSides, limbAt, reach } from './legs.ts';
import { measurePerformer, type PerformerLengths } from './performer.ts';
import { type Direction, type PieceTrack, pieceOnPuppet, soft, upOf } from './pieces.ts';
import { type PuppetProfile, standingHeightMm } from './profile.ts';
import type {
  FrameRun,
  OutOfReach,
  Planted,
  PuppetJoint,
  PuppetMotion,
  PuppetPath,
  Side,
  StepPlan,
} from './puppetMotion.ts';
import { carryRoot, type PlaneTrack } from './root.ts';
import { type Standing, standingsOf } from './standing.ts';
import { findWalks, withStepsForGround } from './steps.ts';

/** Who is to be brought onto the puppet. */
export interface Performer {
  /** Standing height in the picture, pixels. */
  readonly heightPx: number;
  /** True lengths of the limbs, pixels; null = measured over the motion itself. */
  readonly lengths: PerformerLengths | null;
}

/** What the animator has decided about it. */
export interface RetargetChoices {
  /** Frames a second of the shot. */
  readonly fps: number;
  /** Legs of other length: as many steps as the performer, or as many as the same ground takes. */
  readonly steps: StepPlan;
  readonly handContacts: readonly HandContact[];
  /** Marked points that the tail follows, from the body outwards, one more than it has pieces; null = it hangs. Pixels. */
  readonly tail: readonly JointPath[] | null;
}

const sides = ['left', 'right'] as const;
/** The head of a person, top to chin and on to the shoulders, as shares of standing height (Drillis & Contini, from memory). */
const headShare = 0.13 + 0.052;
const headJoints: readonly Joint[] = ['nose', 'leftEye', 'rightEye', 'leftEar', 'rightEar', 'mouth', 'chin'];
/** The weight goes from one foot to the other within this time, seconds; a hand comes off a thing within the same. */
const shiftSec = 6 / 24;

/**
 * Brings a performer's motion onto a puppet: each limb keeps its angle in the picture and how far it points out of it, and has the
 * puppet's own length in space. Standing feet stand still to the last digit (legs bend to suit, the hips move), hands keep the place of
 * a contact. Frames are the motion's; in the set's millimetres y = 0 is the floor line.
 */
export function retarget(
  filmed: Motion,
  performer: Performer,
  profile: PuppetProfile,
  choices: RetargetChoices,
): PuppetMotion {
  const n = filmed.timesSec.length;
  const { heightPx } = performer;
  const { sizes } = profile;
  const mmPerPx = standingHeightMm(profile) / heightPx;
  const truePx = performer.lengths ?? measurePerformer(filmed, heightPx);
  const legRatio = legScale(sizes, truePx) / mmPerPx;
  const found = findStands(filmed, heightPx);
  const walks = findWalks(filmed, found, heightPx, choices.fps, legRatio, mmPerPx);
  const { motion, stands } =
    choices.steps === 'sameGround' && walks.length > 0
      ? withStepsForGround(filmed, found, heightPx, choices.fps, legRatio)
      : { motion: filmed, stands: found };
  const piece = (from: Joint, to: Joint, mm: number, name: keyof PerformerLengths) =>
    pieceOnPuppet(motion, from, to, mm, truePx[name]);
  const hips = piece('rightHip', 'leftHip', sizes.hipsMm, 'hips');
  const shoulders = piece('rightShoulder', 'leftShoulder', sizes.shouldersMm, 'shoulders');
  const trunk = piece('pelvis', 'neck', sizes.trunkMm, 'trunk');
  const shiftFrames = Math.max(1, shiftSec * choices.fps);

  const legs = bothSides((side) => {
    const thigh = piece(`${side}Hip`, `${side}Knee`, sizes.thighMm, `${side}Thigh`);
    const shank = piece(`${side}Knee`, `${side}Ankle`, sizes.shankMm, `${side}Shank`);
    const foot = pieceOnPuppet(motion, `${side}Heel`, `${side}Toe`, 1, truePx[`${side}Foot`]);
    const sign = side === 'left' ? 0.5 : -0.5;
    const hip: PlaneTrack = { x: hips.x.map((v) => sign * v), y: hips.y.map((v) => sign * v) };
    const chain: PlaneTrack = {
      x: hip.x.map((v, k) => v + thigh.x[k]! + shank.x[k]!),
      y: hip.y.map((v, k) => v + thigh.y[k]! + shank.y[k]!),
    };
    const longest = longestAsBent(thigh, shank, sizes.thighMm, sizes.shankMm);
    return { thigh, shank, foot, hip, chain, longest, bends: bendSides(thigh, shank) };
  });
  const standings = bothSides((side) =>
    standingsOf(stands[side], (k) => directionOf(legs[side].foot, k), sizes).filter(
      (s) => !Number.isNaN(legs[side].chain.x[s.first]!),
    ),
  );
  const pelvisPath = motion.paths.get('pelvis');
  const root = carryRoot({
    pelvis: carriedPelvis(pelvisPath, stands, mmPerPx, legScale(sizes, truePx) || mmPerPx),
    chain: bothSides((side) => legs[side].chain),
    standings,
    heights: groundHeights(motion, standings, legScale(sizes, truePx) || mmPerPx),
    shiftFrames,
  });

  const made = new Places(n);
  const short = new Map<OutOfReach['limb'], Float64Array>();
  const ground = bothSides((side) => groundUnder(standings[side], root.places, n));
  /** Where each ankle is to be while its foot stands. Shape [frame]; NaN elsewhere. */
  const targets = bothSides((side) => standingTargets(standings[side], root.places, n));
  const feet = sides.map((side) => ({ ...legs[side], target: targets[side] }));
  bringWithinReach(root, feet, sizes.thighMm + sizes.shankMm, mostShift * standingHeightMm(profile));

  for (let k = 0; k < n; k++) {
    made.put('pelvis', k, root.x[k]!, root.y[k]!, 0);
    const [nx, ny] = [root.x[k]! + trunk.x[k]!, root.y[k]! + trunk.y[k]!];
    made.put('neck', k, nx, ny, trunk.z[k]!);
    made.put('chest', k, nx - trunk.x[k]! / 3, ny - trunk.y[k]! / 3, (trunk.z[k]! * 2) / 3);
    for (const side of sides) {
      const sign = side === 'left' ? 0.5 : -0.5;
      made.put(`${side}Hip`, k, root.x[k]! + legs[side].hip.x[k]!, root.y[k]! + legs[side].hip.y[k]!, hips.z[k]! / 2);
      made.put(`${side}Shoulder`, k, nx + sign * shoulders.x[k]!, ny + sign * shoulders.y[k]!, shoulders.z[k]! / 2);
    }
    const neck = motion.paths.get('neck');
    const perPx = (sizes.headMm + sizes.neckMm) / (headShare * heightPx);
    for (const joint of headJoints) {
      const path = motion.paths.get(joint);
      if (path && neck)
        made.put(joint, k, nx + (path.xPx[k]! - neck.xPx[k]!) * perPx, ny - (path.yPx[k]! - neck.yPx[k]!) * perPx, 0);
    }
  }

  for (const side of sides) {
    const { thigh, shank, foot, bends } = legs[side];
    const leg = new Float64Array(n);
    const swing = swingCorrections(targets[side], (k) => [
      root.x[k]! + legs[side].chain.x[k]!,
      root.y[k]! + legs[side].chain.y[k]!,
    ]);
    for (let k = 0; k < n; k++) {
      const hip: [number, number] = [made.x(`${side}Hip`, k), made.y(`${side}Hip`, k)];
      const pose = limbAt(thigh, shank, k);
      const isStanding = !Number.isNaN(targets[side].x[k]!);
      const target: [number, number] = isStanding
        ? [targets[side].x[k]!, targets[side].y[k]!]
        : [root.x[k]! + legs[side].chain.x[k]! + swing.x[k]!, root.y[k]! + legs[side].chain.y[k]! + swing.y[k]!];
      if (!isStanding) target[1] += floorLift(directionOf(foot, k), target, ground[side][k]!, sizes);
      const bent = reach(hip, target, pose, sizes.thighMm, sizes.shankMm, bends[k]!);
      made.put(`${side}Knee`, k, ...bent.middle, bent.middleZ);
      made.put(`${side}Ankle`, k, ...bent.end, bent.endZ);
      if (isStanding) leg[k] = bent.shortMm;
      putFoot(made, side, k, bent.end, directionOf(foot, k), standingAt(standings[side], k), root.places, profile);
    }
    short.set(`${side}Leg`, leg);
    short.set(`${side}Arm`, putArm(made, motion, side, sizes, truePx, choices, shiftFrames));
  }
  putTail(made, profile, choices.tail, n);

  const planted = sides
    .flatMap((side) => standings[side].flatMap((s) => plantedOf(side, s, root.places)))
    .sort((a, b) => a.firstFrame - b.firstFrame);
  const feetSeen = sides.some((side) => legs[side].chain.x.some((v) => !Number.isNaN(v)));
  return {
    profile,
    mmPerPx,
    originPx: [(pelvisPath?.xPx[0] ?? 0) - root.x[0]! / mmPerPx, (pelvisPath?.yPx[0] ?? 0) + root.y[0]! / mmPerPx],
    paths: made.paths(motion, mmPerPx),
    planted,
    walks,
    legRatio,
    feetSeen,
    airborne: feetSeen ? runsWhere(n, (k) => sides.every((side) => stands[side][k] === null)) : [],
    outOfReach: [...short].flatMap(([limb, mm]) => shortRuns(limb, mm)),
  };
}

/**
 * The performer's pelvis in the puppet's millimetres: it goes as far as the puppet's legs take it while a foot stands, and at the scale
 * of the standing height while none does, so that what falls falls rightly.
 */
function carriedPelvis(
  path: JointPath | undefined,
  stands: Readonly<Record<Side, readonly unknown[]>>,
  mmPerPx: number,
  legMmPerPx: number,
): PlaneTrack {
  const n = path?.xPx.length ?? stands.left.length;
  const [x, y] = [new Float64Array(n).fill(Number.NaN), new Float64Array(n).fill(Number.NaN)];
  let last = -1;
  for (let k = 0; k < n; k++) {
    const [px, py] = [path?.xPx[k] ?? Number.NaN, path?.yPx[k] ?? Number.NaN];
    if (Number.isNaN(px + py)) continue;
    const isCarried = [k - 1, k].every((f) => stands.left[f] != null || stands.right[f] != null);
    const scale = isCarried ? legMmPerPx : mmPerPx;
    x[k] = last < 0 ? px * mmPerPx : x[last]! + (px - path!.xPx[last]!) * scale;
    y[k] = last < 0 ? -py * mmPerPx : y[last]! - (py - path!.yPx[last]!) * scale;
    last = k;
  }
  return { x, y };
}

/** Puppet millimetres for a picture pixel of the performer's legs; NaN where no leg was seen. */
function legScale({ thighMm, shankMm }: PuppetProfile['sizes'], { leftThigh, leftShank }: PerformerLengths): number {
  return (thighMm + shankMm) / (leftThigh + leftShank);
}

function bothSides<T>(of: (side: Side) => T): Record<Side, T> {
  return { left: of('left'), right: of('right') };
}

/** Where a foot points; straight at the lens where that is not known. */
function directionOf(foot: PieceTrack, k: number): Direction {
  const [x, y] = [foot.x[k]!, foot.y[k]!];
  return Number.isNaN(x + y) ? [0, 0, 1] : [x, y, foot.z[k]!];
}

function standingAt(standings: readonly Standing[], k: number): Standing | null {
  return standings.find((s) => k >= s.first && k <= s.last) ?? null;
}

/** Joint places while they are being worked out. */
class Places {
  readonly #at = new Map<PuppetJoint, { x: Float64Array; y: Float64Array; z: Float64Array }>();

  constructor(private readonly count: number) {}

  put(joint: PuppetJoint, k: number, x: number, y: number, z: number): void {
    let place = this.#at.get(joint);
    if (!place) {
      const unknown = () => new Float64Array(this.count).fill(Number.NaN);
      place = { x: unknown(), y: unknown(), z: unknown() };
      this.#at.set(joint, place);
    }
    place.x[k] = x;
    place.y[k] = y;
    place.z[k] = z;
  }

  x(joint: PuppetJoint, k: number): number {
    return this.#at.get(joint)?.x[k] ?? Number.NaN;
  }

  y(joint: PuppetJoint, k: number): number {
    return this.#at.get(joint)?.y[k] ?? Number.NaN;
  }

  /** All that is known anywhere, with how sure the tracks behind it are. */
  paths(motion: Motion, mmPerPx: number): Map<PuppetJoint, PuppetPath> {
    const paths = new Map<PuppetJoint, PuppetPath>();
    for (const [joint, { x, y, z }] of this.#at) {
      if (x.every(Number.isNaN)) continue;
      const own = motion.paths.get(joint as Joint);
      const sdMm = own ? own.sdPx.map((sd) => sd * mmPerPx) : new Float64Array(this.count);
      paths.set(joint, { xMm: x, yMm: y, zMm: z, sdMm, guessed: own?.guessed ?? new Uint8Array(this.count) });
    }
    return paths;
  }
}

function standingTargets(
  standings: readonly Standing[],
  places: ReadonlyMap<Standing, readonly [number, number]>,
  n: number,
): PlaneTrack {
  const [x, y] = [new Float64Array(n).fill(Number.NaN), new Float64Array(n).fill(Number.NaN)];
  for (const standing of standings) {
    const place = places.get(standing);
    if (!place) continue;
    for (let k = standing.first; k <= standing.last; k++) {
      const [ax, ay] = standing.ankle[k - standing.first]!;
      x[k] = place[0] + ax;
      y[k] = place[1] + ay;
    }
  }
  return { x, y };
}

/** How high the ground is under a foot: as where it stood and will stand, straight in between. Shape [frame]; NaN where it never stands. */
function groundUnder(
  standings: readonly Standing[],
  places: ReadonlyMap<Standing, readonly [number, number]>,
  n: number,
): Float64Array {
  const known = standings.flatMap((s) => {
    const place = places.get(s);
    return place ? [{ ...s, y: place[1] - s.ankleHeight }] : [];
  });
  return Float64Array.from({ length: n }, (_, k) => {
    const before = known.findLast((s) => s.first <= k);
    const after = known.find((s) => s.last >= k);
    if (!before || !after) return before?.y ?? after?.y ?? Number.NaN;
    if (before === after) return before.y;
    return before.y + ((after.y - before.y) * (k - before.last)) / (after.first - before.last);
  });
}

/** By how much a swinging foot must be lifted so that neither heel nor toe goes through the ground, millimetres. */
function floorLift(
  forward: Direction,
  ankle: readonly [number, number],
  groundMm: number,
  { ankleMm, heelMm, footMm }: PuppetProfile['sizes'],
): number {
  const lowest = Math.min(-heelMm * forward[1], (footMm - heelMm) * forward[1]) - ankleMm * upOf(forward)[1];
  return Math.max(0, groundMm - (ankle[1] + lowest)) || 0;
}

/** A leg that stands, for moving the hips to suit it. */
interface StandingLeg {
  readonly hip: PlaneTrack;
  readonly target: PlaneTrack;
  /** How far it reaches in the picture with the bend that it has. Shape [frame]. */
  readonly longest: Float64Array;
}

/** The hips are moved by at most this share of the height so that knees keep their bend; further, and the knees give. */
const mostShift = 0.02;

/**
 * Moves hips, as little as possible, to where both legs reach their standing feet: with the bends that they have where little does it, else
 * as far as the legs are long.
 */
function bringWithinReach(root: PlaneTrack, feet: readonly StandingLeg[], legMm: number, mostMm: number): void {
  for (let k = 0; k < root.x.length; k++) {
    const [x, y] = [root.x[k]!, root.y[k]!];
    pull(root, k, feet, (foot) => foot.longest[k]!);
    const moved = Math.hypot(root.x[k]! - x, root.y[k]! - y);
    if (moved > mostMm) {
      root.x[k] = x + (mostMm / moved) * (root.x[k]! - x);
      root.y[k] = y + (mostMm / moved) * (root.y[k]! - y);
    }
    pull(root, k, feet, () => legMm);
  }
}

/** Two discs: going from one to the other a few times comes to where they overlap. */
function pull(root: PlaneTrack, k: number, feet: readonly StandingLeg[], reachOf: (foot: StandingLeg) => number): void {
  for (let round = 0; round < 30; round++) {
    let isMoved = false;
    for (const foot of feet) {
      const dx = foot.target.x[k]! - root.x[k]! - foot.hip.x[k]!;
      const dy = foot.target.y[k]! - root.y[k]! - foot.hip.y[k]!;
      const long = reachOf(foot);
      const over = Math.hypot(dx, dy) - long;
      if (!(over > 1e-9)) continue;
      const share = (over + 1e-9) / (over + long);
      root.x[k]! += share * dx;
      root.y[k]! += share * dy;
      isMoved = true;
    }
    if (!isMoved) return;
  }
}

/** How far a leg reaches in the picture when it lies in its plane, bent as it is. Shape [frame]; NaN where it is not known. */
function longestAsBent(upper: PieceTrack, lower: PieceTrack, upperMm: number, lowerMm: number): Float64Array {
  return upper.x.map((ux, k) => {
    const [uy, lx, ly] = [upper.y[k]!, lower.x[k]!, lower.y[k]!];
    const [u, l] = [upperMm / (Math.hypot(ux, uy) || 1), lowerMm / (Math.hypot(lx, ly) || 1)];
    return Math.hypot(u * ux + l * lx, u * uy + l * ly);
  });
}

/**
 * How far a foot that swings is led beside where its leg would swing by itself, so that it leaves where it stood and comes down where
 * it will stand. Millimetres; 0 before the first stand's leg agrees with it, and after the last.
 */
function swingCorrections(target: PlaneTrack, own: (k: number) => readonly [number, number]): PlaneTrack {
  const n = target.x.length;
  const [x, y] = [new Float64Array(n), new Float64Array(n)];
  const standing = [...target.x.keys()].filter((k) => !Number.isNaN(target.x[k]!));
  const off = (k: number | undefined): readonly [number, number] => {
    if (k === undefined) return [0, 0];
    const [ox, oy] = own(k);
    return [target.x[k]! - ox, target.y[k]! - oy];
  };
  let next = 0;
  for (let k = 0; k < n; k++) {
    while (next < standing.length && standing[next]! < k) next++;
    const [before, after] = [standing[next - 1], standing[next]];
    if (after === k || standing.length === 0) continue;
    const [bx, by] = off(before ?? after);
    const [ax, ay] = off(after ?? before);
    const share = before === undefined || after === undefined ? 0 : soft((k - before) / (after - before));
    x[k] = bx + share * (ax - bx);
    y[k] = by + share * (ay - by);
  }
  return { x, y };
}

function putFoot(
  made: Places,
  side: Side,
  k: number,
  ankle: readonly [number, number],
  swinging: Direction,
  standing: Standing | null,
  places: ReadonlyMap<Standing, readonly [number, number]>,
  { sizes }: PuppetProfile,
): void {
  const place = standing ? places.get(standing) : undefined;
  const forward = standing && place ? standing.forward[k - standing.first]! : swinging;
  const up = upOf(forward);
  const [back, front] = [-sizes.heelMm, sizes.footMm - sizes.heelMm];
  const sole = (along: number): [number, number, number] => [
    ankle[0] + along * forward[0] - sizes.ankleMm * up[0],
    ankle[1] + along * forward[1] - sizes.ankleMm * up[1],
    Math.abs(along * forward[2] - sizes.ankleMm * up[2]),
  ];
  const [heel, toe] = [sole(back), sole(front)];
  if (standing && place) {
    const on = standing.on[k - standing.first]!;
    // What stands is where it stood, not but for rounding.
    if (on !== 'toe') [heel[0], heel[1]] = [place[0] + standing.heel[0], place[1] + standing.heel[1]];
    if (on !== 'heel') [toe[0], toe[1]] = [place[0] + standing.toe[0], place[1] + standing.toe[1]];
  }
  made.put(`${side}Heel`, k, ...heel);
  made.put(`${side}Toe`, k, ...toe);
}

/** Arm and hand; @returns how far the wrist stays short of a contact at each frame, millimetres. */
function putArm(
  made: Places,
  motion: Motion,
  side: Side,
  sizes: PuppetProfile['sizes'],
  truePx: PerformerLengths,
  { handContacts, fps }: RetargetChoices,
  shiftFrames: number,
): Float64Array {
  const n = motion.timesSec.length;
  const upper = pieceOnPuppet(motion, `${side}Shoulder`, `${side}Elbow`, sizes.upperArmMm, truePx[`${side}UpperArm`]);
  const fore = pieceOnPuppet(motion, `${side}Elbow`, `${side}Wrist`, sizes.forearmMm, truePx[`${side}Forearm`]);
  const hand = pieceOnPuppet(motion, `${side}Wrist`, `${side}Hand`, sizes.handMm, truePx[`${side}Hand`]);
  const bends = bendSides(upper, fore);
  const short = new Float64Array(n);
  const own = (k: number): [number, number] => [
    made.x(`${side}Shoulder`, k) + upper.x[k]! + fore.x[k]!,
    made.y(`${side}Shoulder`, k) + upper.y[k]! + fore.y[k]!,
  ];
  const runs = handContacts
    .filter((c) => c.hand === `${side}Wrist`)
    .flatMap((c) => {
      const within = [...motion.timesSec.keys()].filter(
        (k) => motion.timesSec[k]! >= c.startSec - 0.5 / fps && motion.timesSec[k]! <= c.endSec + 1e-6,
      );
      const [first, last] = [within[0], within.at(-1)];
      return first === undefined || last === undefined ? [] : [{ first, last, place: own(first) }];
    });
  for (let k = 0; k < n; k++) {
    const shoulder: [number, number] = [made.x(`${side}Shoulder`, k), made.y(`${side}Shoulder`, k)];
    const run = runs.find((r) => k >= r.first && k <= r.last);
    let target = own(k);
    if (run) target = run.place;
    else {
      // Off the thing it let go of, the hand comes back to its own way softly.
      const before = runs.findLast((r) => r.last < k && k - r.last < shiftFrames);
      if (before) {
        const [ox, oy] = own(before.last);
        const left = 1 - soft((k - before.last) / shiftFrames);
        target = [target[0] + left * (before.place[0] - ox), target[1] + left * (before.place[1] - oy)];
      }
    }
    const bent = reach(shoulder, target, limbAt(upper, fore, k), sizes.upperArmMm, sizes.forearmMm, bends[k]!);
    if (run) short[k] = bent.shortMm;
    made.put(`${side}Elbow`, k, ...bent.middle, bent.middleZ);
    made.put(`${side}Wrist`, k, ...bent.end, bent.endZ);
    made.put(`${side}Hand`, k, bent.end[0] + hand.x[k]!, bent.end[1] + hand.y[k]!, hand.z[k]!);
  }
  return short;
}

/** The tail along marked points, or hanging from the hips. */
function putTail(made: Places, { tail }: PuppetProfile, along: readonly JointPath[] | null, n: number): void {
  if (!tail) return;
  for (let k = 0; k < n; k++) {
    let [x, y] = [made.x('pelvis', k), made.y('pelvis', k)];
    for (const [i, mm] of tail.piecesMm.entries()) {
      const [a, b] = [along?.[i], along?.[i + 1]];
      const dx = a && b ? b.xPx[k]! - a.xPx[k]! : 0;
      const dy = a && b ? a.yPx[k]! - b.yPx[k]! : -1;
      const long = Math.hypot(dx, dy);
      x += long > 0 ? (dx / long) * mm : long;
      y += long > 0 ? (dy / long) * mm : long;
      made.put(`tail${i + 1}`, k, x, y, 0);
    }
  }
}

function plantedOf(
  side: Side,
  standing: Standing,
  places: ReadonlyMap<Standing, readonly [number, number]>,
): Planted[] {
  const place = places.get(standing);
  if (!place) return [];
  const found: Planted[] = [];
  standing.on.forEach((on, i) => {
    const last = found.at(-1);
    if (last?.on === on) found[found.length - 1] = { ...last, frames: last.frames + 1 };
    else {
      const [px, py] = on === 'foot' ? [0, 0] : standing[on];
      found.push({ side, on, firstFrame: standing.first + i, frames: 1, xMm: place[0] + px, yMm: place[1] + py });
    }
  });
  return found;
}

function runsWhere(n: number, is: (k: number) => boolean): FrameRun[] {
  const runs: FrameRun[] = [];
  let first = -1;
  for (let k = 0; k <= n; k++) {
    const now = k < n && is(k);
    if (now && first < 0) first = k;
    if (!now && first >= 0) {
      runs.push({ firstFrame: first, frames: k - first });
      first = -1;
    }
  }
  return runs;
}

/** A thousandth of a millimetre is no distance. */
const leastShortMm = 1e-3;

function shortRuns(limb: OutOfReach['limb'], mm: Float64Array): OutOfReach[] {
  return runsWhere(mm.length, (k) => mm[k]! > leastShortMm).map((run) => {
    let worst = run.firstFrame;
    for (let k = run.firstFrame; k < run.firstFrame + run.frames; k++) if (mm[k]! > mm[worst]!) worst = k;
    return { ...run, limb, worstMm: mm[worst]!, worstFrame: worst };
  });
}
