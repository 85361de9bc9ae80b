import { isProp, type Joint, type Part } from '../base/joints.ts';
import { type Point, twoBones } from '../base/twoBones.ts';
import type { HandContact } from '../track/handContact.ts';
import type { JointPath, Motion, Tracks } from '../track/motion.ts';
import { keepingShares } from './handContacts.ts';
import { turnedFurther } from './limbGeometry.ts';
import { between, cross, point, stanceAt, turnedAbout } from './posePoints.ts';
import { type KeptLimb, pushedRoot } from './pushedRoot.ts';

/** The directions of the body's limbs when nothing is expressed, by the limb's far end; unit vectors in the picture. */
export interface NeutralPose {
  readonly directions: ReadonlyMap<Joint, Point>;
  /** From between the ankles to the pelvis, pixels; null when feet or pelvis are not known. */
  readonly stance: Point | null;
}

/** Limbs that turn by themselves, from the body outwards: far end, near end. */
const limbs: readonly (readonly [Joint, Joint])[] = [
  ['leftElbow', 'leftShoulder'],
  ['leftWrist', 'leftElbow'],
  ['leftHand', 'leftWrist'],
  ['rightElbow', 'rightShoulder'],
  ['rightWrist', 'rightElbow'],
  ['rightHand', 'rightWrist'],
];
const arms: readonly { shoulder: Joint; elbow: Joint; wrist: HandContact['hand']; hand: Joint }[] = [
  { shoulder: 'leftShoulder', elbow: 'leftElbow', wrist: 'leftWrist', hand: 'leftHand' },
  { shoulder: 'rightShoulder', elbow: 'rightElbow', wrist: 'rightWrist', hand: 'rightHand' },
];
const legs: readonly { hip: Joint; knee: Joint; ankle: Joint; foot: readonly Joint[] }[] = [
  { hip: 'leftHip', knee: 'leftKnee', ankle: 'leftAnkle', foot: ['leftHeel', 'leftToe'] },
  { hip: 'rightHip', knee: 'rightKnee', ankle: 'rightAnkle', foot: ['rightHeel', 'rightToe'] },
];
/** What turns with the head, and with the trunk, as one piece. */
const headJoints: readonly Joint[] = ['nose', 'leftEye', 'rightEye', 'leftEar', 'rightEar', 'mouth', 'chin'];
const trunkJoints: readonly Joint[] = ['chest', 'neck', 'leftShoulder', 'rightShoulder'];

/** A foot slower than this stands, body heights per second; it counts as standing in part up to twice as much. */
const standingSpeed = 0.12;
/** The take is looked at so many times a second: poses last longer than that. */
const momentsPerSec = 12;

/**
 * The pose that poses are pushed away from: one of the take's own, or standing (see `standingPose`).
 * @param neutralSec take seconds of the pose; null = standing. What is not seen there has no neutral direction and is not pushed.
 */
export function neutralPose(tracks: Tracks, startSec: number, endSec: number, neutralSec: number | null): NeutralPose {
  return neutralSec === null ? standingPose(tracks, startSec, endSec) : poseOf(tracks, neutralSec);
}

function poseOf(tracks: Tracks, sec: number): NeutralPose {
  const { paths } = tracks.at(Float64Array.of(sec));
  const turning: readonly (readonly [Joint, Joint])[] = [
    ['neck', 'pelvis'],
    ['nose', 'neck'],
    ...limbs,
    ...legs.flatMap(({ hip, knee, ankle }): (readonly [Joint, Joint])[] => [
      [knee, hip],
      [ankle, knee],
    ]),
  ];
  const directions = new Map<Joint, Point>();
  for (const [far, near] of turning) {
    const [x, y] = between(paths, near, far, 0);
    const length = Math.hypot(x, y);
    if (length > 0) directions.set(far, [x / length, y / length]);
  }
  const stance = stanceAt(paths, 0);
  return { directions, stance: Number.isNaN(stance[0] + stance[1]) ? null : stance };
}

/**
 * Standing upright with hanging arms: the pose that says nothing. Directions are the same for everybody; how high the pelvis
 * then stands over the feet is read from the take's part, from its tallest moments (a twentieth of them).
 */
function standingPose(tracks: Tracks, startSec: number, endSec: number): NeutralPose {
  const count = Math.max(1, Math.round((endSec - startSec) * momentsPerSec));
  const { paths } = tracks.at(Float64Array.from({ length: count }, (_, i) => startSec + (i + 0.5) / momentsPerSec));
  const directions = new Map<Joint, Point>([
    ['neck', [0, -1]],
    ['nose', [0, -1]],
  ]);
  for (const [far] of limbs) directions.set(far, [0, 1]);
  for (const { knee, ankle } of legs) directions.set(knee, [0, 1]).set(ankle, [0, 1]);
  const heights = Array.from({ length: count }, (_, k) => -stanceAt(paths, k)[1]).filter((h) => !Number.isNaN(h));
  heights.sort((a, b) => a - b);
  const tallest = heights[Math.floor(0.95 * (heights.length - 1))];
  return { directions, stance: tallest === undefined ? null : [0, -tallest] };
}

/**
 * The motion with every pose pushed away from the neutral one: limbs turn further from their neutral direction (in the picture;
 * least where they already point the other way), the pelvis goes further from its place over the feet. Each limb keeps the length
 * it has in each frame, feet that stand stay where they stand (legs bend to suit: two-bone inverse kinematics), and so do hands that
 * keep their place; time stays. Marked points are not changed. With an amount of 1 the motion itself is returned.
 * @param frameSec how long each entry of the motion is shown.
 * @param contacts where hands keep the places they were filmed at.
 */
export function exaggerate(
  motion: Motion,
  neutral: NeutralPose,
  amount: number,
  bodyHeightPx: number,
  frameSec: number,
  contacts: readonly HandContact[] = [],
): Motion {
  if (amount === 1) return motion;
  const extra = amount - 1;
  const { timesSec } = motion;
  const count = timesSec.length;
  const changed = new Map<Part, { xPx: Float64Array; yPx: Float64Array }>();
  for (const [part, path] of motion.paths) changed.set(part, { xPx: path.xPx.slice(), yPx: path.yPx.slice() });
  const place = (joint: Joint, k: number, x: number, y: number) => {
    const path = changed.get(joint);
    // What cannot be said, because a joint it hangs on was never seen, stays as filmed.
    if (!path || Number.isNaN(x + y)) return;
    path.xPx[k] = x;
    path.yPx[k] = y;
  };
  const kept = keptLimbs(motion, bodyHeightPx, contacts);
  for (let k = 0; k < count; k++) {
    const at = (joint: Joint) => point(motion.paths, joint, k);
    const now = (joint: Joint) => point(changed, joint, k);
    const angle = (far: Joint, near: Joint) => {
      const v = between(motion.paths, near, far, k);
      return turnedFurther(v, neutral.directions.get(far) ?? v, extra);
    };
    const [px, py] = at('pelvis');
    const root = pushedRoot(motion, neutral, extra, k, kept.legs, kept.arms);
    const [qx, qy] = root.pelvis;
    place('pelvis', k, qx, qy);
    for (const { hip } of legs) {
      const [x, y] = at(hip);
      place(hip, k, qx + x - px, qy + y - py);
    }
    for (const joint of trunkJoints) {
      const [x, y] = at(joint);
      place(joint, k, ...turnedAbout(x - px, y - py, root.turn, qx, qy));
    }
    const head = angle('nose', 'neck');
    const [nx, ny] = at('neck');
    const [mx, my] = now('neck');
    for (const joint of headJoints) {
      const [x, y] = at(joint);
      place(joint, k, ...turnedAbout(x - nx, y - ny, head, mx, my));
    }
    for (const [far, near] of limbs) {
      const [dx, dy] = between(motion.paths, near, far, k);
      const [x, y] = now(near);
      place(far, k, ...turnedAbout(dx, dy, angle(far, near), x, y));
    }
    for (const { shoulder, elbow, wrist, hand } of arms) {
      const share = kept.arms.find((arm) => arm.far === wrist)?.shares[k] ?? 0;
      if (share === 0) continue;
      const upper = between(motion.paths, shoulder, elbow, k);
      const lower = between(motion.paths, elbow, wrist, k);
      const [x, y] = at(wrist);
      const [fx, fy] = now(wrist);
      const free = cross(between(changed, shoulder, elbow, k), between(changed, elbow, wrist, k));
      // Free it bends as it was turned, kept as it was filmed.
      const side = (1 - share) * free + share * cross(upper, lower);
      const target: [number, number] = [fx + share * (x - fx), fy + share * (y - fy)];
      const bent = twoBones(now(shoulder), target, Math.hypot(...upper), Math.hypot(...lower), side);
      place(elbow, k, ...bent.middle);
      place(wrist, k, ...bent.end);
      const [dx, dy] = between(motion.paths, wrist, hand, k);
      place(hand, k, ...turnedAbout(dx, dy, (1 - share) * angle(hand, wrist), ...bent.end));
    }
    legs.forEach(({ hip, knee, ankle, foot }, i) => {
      const thigh = between(motion.paths, hip, knee, k);
      const shank = between(motion.paths, knee, ankle, k);
      const [hx, hy] = now(hip);
      const [ax, ay] = at(ankle);
      // Where the leg would swing by itself, and where the foot stands.
      const [kx, ky] = turnedAbout(thigh[0], thigh[1], angle(knee, hip), hx, hy);
      const [fx, fy] = turnedAbout(shank[0], shank[1], angle(ankle, knee), kx, ky);
      const share = kept.legs[i]?.shares[k] ?? 1;
      const target: [number, number] = [fx + share * (ax - fx), fy + share * (ay - fy)];
      const bent = twoBones([hx, hy], target, Math.hypot(...thigh), Math.hypot(...shank), cross(thigh, shank));
      place(knee, k, ...bent.middle);
      place(ankle, k, ...bent.end);
      for (const joint of foot) {
        const [x, y] = at(joint);
        place(joint, k, bent.end[0] + x - ax, bent.end[1] + y - ay);
      }
    });
  }
  const paths = new Map<Part, JointPath>();
  for (const [part, path] of motion.paths) {
    const { xPx, yPx } = changed.get(part) ?? path;
    if (isProp(part)) {
      paths.set(part, path);
      continue;
    }
    paths.set(part, { ...path, xPx, yPx, vxPx: rates(xPx, frameSec), vyPx: rates(yPx, frameSec) });
  }
  return { ...motion, paths };
}

/** A span of frames in which the trunk is not pushed as far as was asked for, since a hand would be pulled off its place. */
export interface HeldBack {
  readonly firstFrame: number;
  readonly frames: number;
  /** The least of what is left of the push of the trunk, 0 (as filmed) to 1. */
  readonly share: number;
}

/** Less than this of the push left is worth a word. */
const worthTelling = 0.75;

/** Where hands that keep their places leave little of the exaggeration: a doubt to be shown. Rising; empty without contacts. */
export function heldBack(
  motion: Motion,
  neutral: NeutralPose,
  amount: number,
  bodyHeightPx: number,
  contacts: readonly HandContact[],
): HeldBack[] {
  const kept = keptLimbs(motion, bodyHeightPx, contacts);
  if (amount === 1 || kept.arms.length === 0) return [];
  const spans: HeldBack[] = [];
  for (let k = 0; k < motion.timesSec.length; k++) {
    const { share } = pushedRoot(motion, neutral, amount - 1, k, kept.legs, kept.arms);
    if (share >= worthTelling) continue;
    const last = spans.at(-1);
    if (last && last.firstFrame + last.frames === k)
      spans[spans.length - 1] = { ...last, frames: last.frames + 1, share: Math.min(last.share, share) };
    else spans.push({ firstFrame: k, frames: 1, share });
  }
  return spans;
}

/** The legs with where they stand, and the arms whose hands keep a place at all. */
function keptLimbs(
  motion: Motion,
  bodyHeightPx: number,
  contacts: readonly HandContact[],
): { readonly legs: readonly KeptLimb[]; readonly arms: readonly KeptLimb[] } {
  return {
    legs: legs.map(({ hip, knee, ankle }) => ({
      near: hip,
      middle: knee,
      far: ankle,
      shares: standingShares(motion, ankle, bodyHeightPx),
    })),
    arms: arms.flatMap(({ shoulder, elbow, wrist }): KeptLimb[] => {
      const shares = keepingShares(motion, wrist, contacts);
      return shares ? [{ near: shoulder, middle: elbow, far: wrist, shares }] : [];
    }),
  };
}

/** 1 where a foot stands, 0 where it swings, in between where it slows down or sets off. Shape [frame]. */
function standingShares(motion: Motion, ankle: Joint, bodyHeightPx: number): Float64Array {
  const count = motion.timesSec.length;
  return Float64Array.from({ length: count }, (_, k) => {
    // In a hold the take's time stands still: what the foot did around it tells whether it stands.
    let [a, b] = [k, k];
    while (a > 0 && motion.timesSec[a] === motion.timesSec[k]) a--;
    while (b < count - 1 && motion.timesSec[b] === motion.timesSec[k]) b++;
    const sec = (motion.timesSec[b] ?? 0) - (motion.timesSec[a] ?? 0);
    const [x0, y0] = point(motion.paths, ankle, a);
    const [x1, y1] = point(motion.paths, ankle, b);
    const speed = sec > 0 ? Math.hypot(x1 - x0, y1 - y0) / sec / bodyHeightPx : 0;
    const u = Math.min(1, Math.max(0, speed / standingSpeed - 1));
    return 1 - u * u * (3 - 2 * u);
  });
}

/** Pixels per second of the shot, from frame to frame. */
function rates(place: Float64Array, frameSec: number): Float64Array {
  const last = place.length - 1;
  return place.map((_, k) => {
    const [a, b] = [Math.max(0, k - 1), Math.min(last, k + 1)];
    return b > a ? ((place[b] ?? 0) - (place[a] ?? 0)) / ((b - a) * frameSec) : 0;
  });
}
