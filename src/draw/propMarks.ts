import type { PropId } from '../base/joints.ts';
import { PathPen } from './pathPen.ts';
import type { StageView } from './scales.ts';
import { type Mark, pathMark, textMark } from './scene.ts';

/** A marked point as it lies over the picture. */
export interface PropPoint {
  readonly id: PropId;
  readonly name: string;
  /** Upright video pixels. */
  readonly xPx: number;
  readonly yPx: number;
  /** Standard deviation along one axis, pixels; 0 = none to show. */
  readonly sdPx: number;
  /** True where it is filled in rather than seen. */
  readonly guessed: boolean;
  /** True in a picture in which the animator marked it. */
  readonly isMarked: boolean;
  /** Its name stands to its left, out of the way of others; absent = to its right. */
  readonly nameIsLeft?: boolean;
}

/** Screen pixels. */
const ring = 6.5;
const dot = 1.8;

/**
 * Marked points over the picture: a ring with a dot in it, so that none is taken for a joint; filled where it was marked by
 * hand, broken where it is guessed; around it, where it is unsure by more than the ring, twice its standard deviation.
 */
export function drawProps(points: readonly PropPoint[], view: StageView): Mark[] {
  return points.flatMap((point) => {
    const [x, y] = view.toScreen(point.xPx, point.yPx);
    const { id, guessed, isMarked, nameIsLeft = false } = point;
    const nameX = nameIsLeft ? x - ring - 4 : x + ring + 4;
    const circle = (r: number) => new PathPen().circle(x, y, r).toString();
    const words = `${point.name}${guessed ? ', guessed' : isMarked ? ', marked here' : ''}`;
    const reach = 2 * point.sdPx * view.scale;
    const anchor = nameIsLeft ? 'end' : 'start';
    const face = { size: 12, font: 'text', weight: 700, anchor } as const;
    const casings = [
      [-1, 0],
      [1, 0],
      [0, -1],
      [0, 1],
    ].map(([dx, dy], i) =>
      textMark(`${id}-name-casing-${i}`, nameX + dx!, y - ring + dy!, point.name, { ...face, colour: 'casing' }),
    );
    return [
      ...(reach > ring
        ? [pathMark(`${id}-sure`, circle(reach), { stroke: 'overMark', strokeWidth: 1.2, opacity: 0.8, dash: [2, 3] })]
        : []),
      pathMark(`${id}-casing`, circle(ring), { stroke: 'casing', strokeWidth: 4, opacity: 0.75 }),
      pathMark(`${id}-ring`, circle(ring), {
        stroke: 'overMark',
        strokeWidth: 2,
        dash: guessed ? [2, 3] : [],
        role: 'prop',
        label: words,
      }),
      pathMark(`${id}-dot`, circle(isMarked ? 2 * dot : dot), { fill: 'overMark', stroke: 'casing', strokeWidth: 1 }),
      ...casings,
      textMark(`${id}-name`, nameX, y - ring, point.name, { ...face, colour: 'overMark' }),
    ];
  });
}
