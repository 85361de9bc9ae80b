import { assert } from '../base/assert.ts';
import { isProp, type Joint } from '../base/joints.ts';
import { constructedStepSd, constructJoints } from './constructed.ts';
import type { FittedJoint } from './fitJoint.ts';
import type { JointPath, Motion } from './motion.ts';
import type { PathPoint } from './posterior.ts';

/**
 * Every fitted joint, and what is constructed from them, at the times given (rising).
 * @param gapSec a gap between believed sightings longer than this is filled by guessing.
 * @param known  joints that were read at these very times before; what is read anew is added.
 */
export function readMotion(
  fitted: readonly FittedJoint[],
  bodyHeightPx: number,
  gapSec: number,
  timesSec: Float64Array,
  known: WeakMap<FittedJoint, JointPath> | null = null,
): Motion {
  for (let i = 1; i < timesSec.length; i++)
    assert(timesSec[i]! > timesSec[i - 1]!, `tracks asked at times that do not rise (entry ${i})`);
  const paths = new Map<Joint, JointPath>();
  for (const f of fitted) {
    const path = known?.get(f) ?? readJoint(f, gapSec, timesSec);
    known?.set(f, path);
    paths.set(f.joint, path);
  }
  constructJoints(paths, bodyHeightPx);
  const own = (joint: Joint, from: number, to: number): number => {
    const path = fitted.find((f) => f.joint === joint)?.path;
    return path ? path.stepSd(timesSec[from]!, timesSec[to]!) : Number.NaN;
  };
  return {
    timesSec,
    paths,
    stepSdPx: (part, from, to) =>
      isProp(part) ? Number.NaN : (constructedStepSd(part, (joint) => own(joint, from, to)) ?? own(part, from, to)),
  };
}

function readJoint(f: FittedJoint, gapSec: number, timesSec: Float64Array): JointPath {
  const n = timesSec.length;
  const path: JointPath = {
    xPx: new Float64Array(n),
    yPx: new Float64Array(n),
    vxPx: new Float64Array(n),
    vyPx: new Float64Array(n),
    sdPx: new Float64Array(n),
    confidence: new Float32Array(n),
    guessed: new Uint8Array(n),
  };
  const knots = f.path.timesSec;
  const point: PathPoint = { xPx: 0, yPx: 0, vxPx: 0, vyPx: 0, sdPx: 0 };
  const good = Array.from(knots.keys()).filter((k) => f.usable[k] === 1);
  let next = 0;
  let high = 0;
  for (let i = 0; i < n; i++) {
    const t = timesSec[i]!;
    f.path.read(t, point);
    path.xPx[i] = point.xPx;
    path.yPx[i] = point.yPx;
    path.vxPx[i] = point.vxPx;
    path.vyPx[i] = point.vyPx;
    while (next < good.length && knots[good[next]!]! < t) next++;
    const before = next > 0 ? knots[good[next - 1]!]! : Number.NEGATIVE_INFINITY;
    const after = next < good.length ? knots[good[next]!]! : Number.POSITIVE_INFINITY;
    // In a long gap, but not in the single step beside a good sighting.
    path.guessed[i] = after - before > gapSec && Math.min(t - before, after - t) > gapSec / 3 ? 1 : 0;
    while (high < knots.length - 1 && knots[high]! < t) high++;
    const low = Math.max(0, high - 1);
    const span = knots[high]! - knots[low]!;
    const u = span > 0 ? Math.min(1, Math.max(0, (t - knots[low]!) / span)) : 1;
    path.confidence[i] = f.confidence[low]! * (1 - u) + f.confidence[high]! * u;
    path.sdPx[i] = point.sdPx * (f.sdFactor[low]! * (1 - u) + f.sdFactor[high]! * u);
  }
  return path;
}
