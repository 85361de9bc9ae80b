import { type Joint, joints, jointWords } from '../base/joints.ts';
import type { JointPath, Motion, Tracks } from '../track/motion.ts';
import type { SeenProp } from '../track/propTracks.ts';

/** The joint that a marked point's name means ("left wrist", "Left Wrist", "leftWrist"); null = the point is something else. */
export function jointOfName(name: string): Joint | null {
  const plain = (words: string) => words.replace(/[\s_-]+/g, '').toLowerCase();
  return joints.find((joint) => plain(jointWords(joint)) === plain(name)) ?? null;
}

/**
 * Where the puppet is in each picture of the shot: joints that the animator marked as the marks were followed, as measured; all others
 * as the detector saw them. A marked joint wins: it is on the puppet itself.
 * @param tracks of the shot's pictures; null = nobody was recognised in them.
 * @param points marked points of the same pictures; those that are no joint are left out.
 * @returns one entry for each picture; null where there is neither.
 */
export function shotMotion(tracks: Tracks | null, points: readonly SeenProp[], timesSec: Float64Array): Motion | null {
  const seen = tracks?.at(timesSec) ?? null;
  const paths = new Map<Joint, JointPath>();
  for (const joint of joints) {
    const path = seen?.paths.get(joint);
    if (path) paths.set(joint, path);
  }
  for (const point of points) {
    const joint = jointOfName(point.prop.name);
    if (joint) paths.set(joint, asPath(point));
  }
  if (paths.size === 0) return null;
  const marked = markedJoints(points);
  const stepSdPx = seen?.stepSdPx;
  return stepSdPx
    ? {
        timesSec,
        paths,
        stepSdPx: (part, from, to) => (marked.has(part as Joint) ? Number.NaN : stepSdPx(part, from, to)),
      }
    : { timesSec, paths };
}

/** The joints that are marked by hand among some points. */
export function markedJoints(points: readonly Pick<SeenProp, 'prop'>[]): ReadonlySet<Joint> {
  return new Set(points.flatMap(({ prop }) => jointOfName(prop.name) ?? []));
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
