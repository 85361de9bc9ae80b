import { type Joint, joints, jointWords, otherSide } from '../base/joints.ts';
import { constructJoints, partsOf } from '../track/constructed.ts';
import type { JointPath, Motion, Tracks } from '../track/motion.ts';
import type { SeenProp } from '../track/propTracks.ts';

/** The joint that a marked point's name means ("left wrist", "Left Wrist", "leftWrist"); null = the point is something else. */
export function jointOfName(name: string): Joint | null {
  const plain = (words: string) => words.replace(/[\s_-]+/g, '').toLowerCase();
  return joints.find((joint) => plain(jointWords(joint)) === plain(name)) ?? null;
}

/**
 * Joints that lie in the middle of others, and go with them when those are marked. The chin does not: it lies somewhere else on every
 * puppet's head.
 */
const middles = ['neck', 'chest', 'pelvis'] as const satisfies readonly Joint[];

/**
 * Where the puppet is in each picture of the shot: joints that the animator marked as the marks were followed, as measured; all others
 * as the detector saw them. A marked joint wins: it is on the puppet itself; neck, chest and pelvis lie between marked shoulders and hips.
 * @param tracks of the shot's pictures; null = nobody was recognised in them.
 * @param points marked points of the same pictures; those that are no joint are left out.
 * @param isMirrored the camera saw the puppet mirrored: what a detector took for its left is its right. Marks are named after the puppet's
 *   own sides whatever the camera saw. Pixels stay as they are.
 * @returns one entry for each picture; null where there is neither.
 */
export function shotMotion(
  tracks: Tracks | null,
  points: readonly SeenProp[],
  timesSec: Float64Array,
  isMirrored = false,
): Motion | null {
  const seen = tracks?.at(timesSec) ?? null;
  const asSeen = (joint: Joint) => (isMirrored ? otherSide(joint) : joint);
  const paths = new Map<Joint, JointPath>();
  for (const joint of joints) {
    const path = seen?.paths.get(asSeen(joint));
    if (path) paths.set(joint, path);
  }
  const byHand = new Set<Joint>();
  for (const point of points) {
    const joint = jointOfName(point.prop.name);
    if (!joint) continue;
    paths.set(joint, asPath(point));
    byHand.add(joint);
  }
  if (paths.size === 0) return null;
  for (const joint of middles) {
    if (byHand.has(joint) || !partsOf(joint).some((part) => byHand.has(part))) continue;
    const made = new Map<string, JointPath>(paths);
    constructJoints(made, 0);
    // Its own parts are all there, or it stays as it was.
    const path = made.get(joint);
    if (path === undefined || path === paths.get(joint)) continue;
    paths.set(joint, path);
    byHand.add(joint);
  }
  const stepSdPx = seen?.stepSdPx;
  return stepSdPx
    ? {
        timesSec,
        paths,
        stepSdPx: (part, from, to) =>
          byHand.has(part as Joint) ? Number.NaN : stepSdPx(asSeen(part as Joint), from, to),
      }
    : { timesSec, paths };
}

/** The joints that are marked by hand among some points, and those that lie in the middle of such alone. */
export function markedJoints(points: readonly Pick<SeenProp, 'prop'>[]): ReadonlySet<Joint> {
  const marked = new Set(points.flatMap(({ prop }) => jointOfName(prop.name) ?? []));
  for (const joint of middles) if (partsOf(joint).every((part) => marked.has(part))) marked.add(joint);
  return marked;
}

/** A mark is where a hand clicked: not surer than this along one axis, pixels of the picture. */
const clickSdPx = 0.7;

/** A marked point as it was measured, nothing smoothed: what the hand did from exposure to exposure is what is looked for. */
function asPath({ timesSec, xPx, yPx, sdPx }: SeenProp): JointPath {
  const n = timesSec.length;
  const known = Array.from(xPx, (x, i) => !Number.isNaN(x + yPx[i]!));
  return {
    xPx,
    yPx,
    vxPx: new Float64Array(n).fill(Number.NaN),
    vyPx: new Float64Array(n).fill(Number.NaN),
    sdPx: Float64Array.from(sdPx, (sd, i) => (known[i] ? Math.hypot(sd, clickSdPx) : Number.NaN)),
    confidence: Float32Array.from(known, (is) => (is ? 1 : 0)),
    guessed: new Uint8Array(n),
  };
}
