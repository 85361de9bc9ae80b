/** Places of joints in one frame of a motion, as the poses are turned and pushed about. */
import type { Joint, Part } from '../base/joints.ts';

/** Paths of parts as far as places go. Shape of each [frame], pixels; NaN = unknown. */
export type Places = ReadonlyMap<Part, { readonly xPx: Float64Array; readonly yPx: Float64Array }>;

/** Where a joint is in frame `k`, pixels; NaN where it is not known. */
export function point(paths: Places, joint: Joint, k: number): [number, number] {
  const path = paths.get(joint);
  return [path?.xPx[k] ?? Number.NaN, path?.yPx[k] ?? Number.NaN];
}

/** The way from one joint to another in frame `k`, pixels; NaN where either is not known. */
export function between(paths: Places, from: Joint, to: Joint, k: number): [number, number] {
  const [x0, y0] = point(paths, from, k);
  const [x1, y1] = point(paths, to, k);
  return [x1 - x0, y1 - y0];
}

/** From the middle between the ankles to the pelvis in frame `k`, pixels; NaN where any of them is not known. */
export function stanceAt(paths: Places, k: number): [number, number] {
  const [px, py] = point(paths, 'pelvis', k);
  const [lx, ly] = point(paths, 'leftAnkle', k);
  const [rx, ry] = point(paths, 'rightAnkle', k);
  return [px - (lx + rx) / 2, py - (ly + ry) / 2];
}

/** The end of the way (dx, dy), turned by `angle` (radians, from x towards y), from the place (x, y). */
export function turnedAbout(dx: number, dy: number, angle: number, x: number, y: number): [number, number] {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  return [x + c * dx - s * dy, y + s * dx + c * dy];
}

/** Cross product: its sign says to which side the second way turns off the first. */
export function cross([ax, ay]: readonly [number, number], [bx, by]: readonly [number, number]): number {
  return ax * by - ay * bx;
}
