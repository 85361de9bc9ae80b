import type { Point } from '../base/twoBones.ts';
import { PathPen } from './pathPen.ts';
import { drawPlate, plateHeight } from './plate.ts';
import { type Mark, pathMark } from './scene.ts';

/** Half a bar across each end, scene units. */
const barReach = 9;

/**
 * A ruler in a picture: a line with a bar across each end, and its length beside its middle.
 * @param from scene units.
 * @param length as it is said ("100 mm"); "" = not known yet.
 */
export function drawRuler(from: Point, to: Point, length: string): Mark[] {
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const long = Math.hypot(dx, dy);
  const [nx, ny] = long > 0 ? [-dy / long, dx / long] : [0, 1];
  const pen = new PathPen().line(...from, ...to);
  for (const [x, y] of [from, to]) pen.line(x - nx * barReach, y - ny * barReach, x + nx * barReach, y + ny * barReach);
  const d = pen.toString();
  const marks = [
    pathMark('ruler-casing', d, { stroke: 'casing', strokeWidth: 4.4, opacity: 0.75 }),
    pathMark('ruler', d, { stroke: 'overMiddle', strokeWidth: 1.8, role: 'ruler', label: `ruler, ${length}` }),
  ];
  if (length === '') return marks;
  // Beside the line, to the side that is higher.
  const up = ny > 0 ? -1 : 1;
  const away = plateHeight;
  const [mx, my] = [(from[0] + to[0]) / 2 + up * nx * away, (from[1] + to[1]) / 2 + up * ny * away];
  return [...marks, ...drawPlate('ruler-length', length, mx, my, 'length', 'overMiddle')];
}
