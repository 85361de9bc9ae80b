import type { Joint } from '../base/joints.ts';
import { joints } from '../base/joints.ts';
import type { PuppetMotion } from '../puppet/puppetMotion.ts';
import type { Motion } from '../track/motion.ts';

/** Where one joint is. Columns have shape [pose]; y points down; NaN = not known. */
export interface PlaceColumns {
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Standard deviation along one axis. */
  readonly sd: Float64Array;
}

/** Where joints are in a row of poses, in one unit: picture pixels, or the set's millimetres. y points down in both. */
export interface JointPlaces {
  readonly count: number;
  readonly at: ReadonlyMap<Joint, PlaceColumns>;
}

/** The planned puppet: millimetres, one pose per frame. Its numbers are what was to be done, so they are exact. */
export function plannedPlaces(motion: PuppetMotion): JointPlaces {
  const at = new Map<Joint, PlaceColumns>();
  for (const joint of joints) {
    const path = motion.paths.get(joint);
    if (!path) continue;
    at.set(joint, { x: path.xMm, y: path.yMm.map((y) => -y), sd: new Float64Array(path.xMm.length) });
  }
  return { count: motion.followed.timesSec.length, at };
}

/** Measured joints: picture pixels, one pose per sample. Marked points are left out. */
export function measuredPlaces(motion: Motion): JointPlaces {
  const at = new Map<Joint, PlaceColumns>();
  for (const joint of joints) {
    const path = motion.paths.get(joint);
    if (path) at.set(joint, { x: path.xPx, y: path.yPx, sd: path.sdPx });
  }
  return { count: motion.timesSec.length, at };
}

/** Places of all joints with one column changed by a function of pose and place. */
export function mapPlaces(
  places: JointPlaces,
  to: (pose: number, x: number, y: number, sd: number) => readonly [x: number, y: number, sd: number],
): JointPlaces {
  const at = new Map<Joint, PlaceColumns>();
  for (const [joint, { x, y, sd }] of places.at) {
    const moved: PlaceColumns = { x: x.slice(), y: y.slice(), sd: sd.slice() };
    for (let k = 0; k < places.count; k++) [moved.x[k], moved.y[k], moved.sd[k]] = to(k, x[k]!, y[k]!, sd[k]!);
    at.set(joint, moved);
  }
  return { count: places.count, at };
}

/** A column at a place between its entries: the cubic through the four around it (Catmull & Rom); the ends are held. */
export function columnAt(column: Float64Array, at: number): number {
  const last = column.length - 1;
  if (!(at > 0)) return column[0]!;
  if (at >= last) return column[last]!;
  const i = Math.floor(at);
  const u = at - i;
  const p1 = column[i]!;
  const p2 = column[i + 1]!;
  if (u === 0) return p1;
  // Asked hundreds of thousands of times for a long shot: no function, no list in here.
  const before = column[i - 1];
  const after = column[i + 2];
  const p0 = before === undefined || Number.isNaN(before) ? p1 : before;
  const p3 = after === undefined || Number.isNaN(after) ? p2 : after;
  return p1 + 0.5 * u * (p2 - p0 + u * (2 * p0 - 5 * p1 + 4 * p2 - p3 + u * (3 * (p1 - p2) + p3 - p0)));
}
