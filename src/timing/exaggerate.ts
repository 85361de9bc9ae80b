import { isProp, type Joint, type Part } from '../base/joints.ts';
import { type Point, twoBones } from '../base/twoBones.ts';
import type { JointPath, Motion, Tracks } from '../track/motion.ts';
import { turnedFurther } from './limbGeometry.ts';

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
 * Standing upright with hanging arms: the pose that says nothing. Directions are the same for everybody; how high the pelvis
 * then stands over the feet is read from the take's part, from its tallest moments (a twentieth of them).
 */
export function neutralPose(tracks: Tracks, startSec: number, endSec: number): NeutralPose {
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
 * it has in each frame, feet that stand stay where they stand (legs bend to suit: two-bone inverse kinematics), time stays.
 * Marked points are not changed. With an amount of 1 the motion itself is returned.
 * @param frameSec how long each entry of the motion is shown.
 */
export function exaggerate(
  motion: Motion,
  neutral: NeutralPose,
  amount: number,
  bodyHeightPx: number,
  frameSec: number,
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
  const standing = legs.map(({ ankle }) => standingShares(motion, ankle, bodyHeightPx));
  for (let k = 0; k < count; k++) {
    const at = (joint: Joint) => point(motion.paths, joint, k);
    const now = (joint: Joint) => point(changed, joint, k);
    const angle = (far: Joint, near: Joint) => {
      const v = between(motion.paths, near, far, k);
      return turnedFurther(v, neutral.directions.get(far) ?? v, extra);
    };
    const [px, py] = at('pelvis');
    const [qx, qy] = pelvisAt(motion, neutral, extra, k, standing);
    const trunk = angle('neck', 'pelvis');
    place('pelvis', k, qx, qy);
    for (const { hip } of legs) {
      const [x, y] = at(hip);
      place(hip, k, qx + x - px, qy + y - py);
    }
    for (const joint of trunkJoints) {
      const [x, y] = at(joint);
      place(joint, k, ...turnedAbout(x - px, y - py, trunk, qx, qy));
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
    legs.forEach(({ hip, knee, ankle, foot }, i) => {
      const thigh = between(motion.paths, hip, knee, k);
      const shank = between(motion.paths, knee, ankle, k);
      const [hx, hy] = now(hip);
      const [ax, ay] = at(ankle);
      // Where the leg would swing by itself, and where the foot stands.
      const [kx, ky] = turnedAbout(thigh[0], thigh[1], angle(knee, hip), hx, hy);
      const [fx, fy] = turnedAbout(shank[0], shank[1], angle(ankle, knee), kx, ky);
      const share = standing[i]?.[k] ?? 1;
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

/**
 * The pelvis further from its neutral place over the feet; less where a standing foot would no longer be reached.
 */
function pelvisAt(
  motion: Motion,
  neutral: NeutralPose,
  extra: number,
  k: number,
  standing: readonly Float64Array[],
): [number, number] {
  const [px, py] = point(motion.paths, 'pelvis', k);
  const stance = stanceAt(motion.paths, k);
  if (!neutral.stance || Number.isNaN(stance[0] + stance[1])) return [px, py];
  const dx = extra * (stance[0] - neutral.stance[0]);
  const dy = extra * (stance[1] - neutral.stance[1]);
  let share = 1;
  legs.forEach(({ hip, knee, ankle }, i) => {
    if ((standing[i]?.[k] ?? 0) < 0.5) return;
    const [hx, hy] = point(motion.paths, hip, k);
    const [ax, ay] = point(motion.paths, ankle, k);
    const thigh = Math.hypot(...between(motion.paths, hip, knee, k));
    const shank = Math.hypot(...between(motion.paths, knee, ankle, k));
    const reaches = (s: number) => {
      const away = Math.hypot(hx + s * dx - ax, hy + s * dy - ay);
      return !(away > thigh + shank) && !(away < Math.abs(thigh - shank));
    };
    let [low, high] = [0, share];
    if (reaches(high)) return;
    for (let n = 0; n < 30; n++) {
      const middle = (low + high) / 2;
      if (reaches(middle)) low = middle;
      else high = middle;
    }
    share = low;
  });
  return [px + share * dx, py + share * dy];
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

type Places = ReadonlyMap<Part, { readonly xPx: Float64Array; readonly yPx: Float64Array }>;

function point(paths: Places, joint: Joint, k: number): [number, number] {
  const path = paths.get(joint);
  return [path?.xPx[k] ?? Number.NaN, path?.yPx[k] ?? Number.NaN];
}

function between(paths: Places, from: Joint, to: Joint, k: number): [number, number] {
  const [x0, y0] = point(paths, from, k);
  const [x1, y1] = point(paths, to, k);
  return [x1 - x0, y1 - y0];
}

function stanceAt(paths: Places, k: number): [number, number] {
  const [px, py] = point(paths, 'pelvis', k);
  const [lx, ly] = point(paths, 'leftAnkle', k);
  const [rx, ry] = point(paths, 'rightAnkle', k);
  return [px - (lx + rx) / 2, py - (ly + ry) / 2];
}

function turnedAbout(dx: number, dy: number, angle: number, x: number, y: number): [number, number] {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  return [x + c * dx - s * dy, y + s * dx + c * dy];
}

function cross([ax, ay]: readonly [number, number], [bx, by]: readonly [number, number]): number {
  return ax * by - ay * bx;
}

/** Pixels per second of the shot, from frame to frame. */
function rates(place: Float64Array, frameSec: number): Float64Array {
  const last = place.length - 1;
  return place.map((_, k) => {
    const [a, b] = [Math.max(0, k - 1), Math.min(last, k + 1)];
    return b > a ? ((place[b] ?? 0) - (place[a] ?? 0)) / ((b - a) * frameSec) : 0;
  });
}
