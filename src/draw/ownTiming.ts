import type { Anchor } from '../timing/retime.ts';
import { PathPen } from './pathPen.ts';
import type { FrameScale } from './scales.ts';
import { type Mark, pathMark, type Scene, type TextStyle, textMark } from './scene.ts';

/** Where it is drawn, and which of both timings lies above it on the same scale. */
export interface OwnTimingStyle {
  /** Screen pixels. */
  readonly width: number;
  readonly scale: FrameScale;
  /** True: the shot's frames lie above, the take's below; false: the other way round. */
  readonly fromShot: boolean;
}

const height = 32;
/** Where the lines end: above them the timing on screen, below the other. */
const [top, bottom] = [2, 18] as const;
const small: TextStyle = { size: 10.5, font: 'mono', weight: 700 };

/**
 * Where poses stood before they were moved: a line from each place in the timing on screen to its place in the other, and
 * how many frames each span has gained or lost. What lies beyond the right end leaves the picture there.
 * @param anchors of the shot, rising.
 */
export function layOutOwnTiming(anchors: readonly Anchor[], { width, scale, fromShot }: OwnTimingStyle): Scene {
  const right = width - 4;
  const above = (a: Anchor) => (fromShot ? a.frame : a.ownFrame);
  const below = (a: Anchor) => (fromShot ? a.ownFrame : a.frame);
  const changes = anchors.slice(1).flatMap((to, i) => {
    const from = anchors[i];
    const by = from ? to.frame - from.frame - (to.ownFrame - from.ownFrame) : 0;
    return from && by !== 0 ? [{ from, to, by }] : [];
  });
  const lines = new PathPen();
  const moved = new PathPen();
  for (const a of anchors) {
    const pen = a.frame === a.ownFrame ? lines : moved;
    const [x0, x1] = [scale.x(above(a)), scale.x(below(a))];
    if (x0 > right && x1 > right) continue;
    // Cut at the right end, on the line.
    const share = Math.max(x0, x1) > right ? (right - Math.min(x0, x1)) / Math.abs(x1 - x0) : 1;
    if (x0 <= x1) pen.line(x0, top, x0 + (x1 - x0) * share, top + (bottom - top) * share);
    else pen.line(x1 + (x0 - x1) * share, bottom + (top - bottom) * share, x1, bottom);
  }
  const marks: Mark[] = [
    pathMark(
      'own-base',
      new PathPen().line(scale.x(0), bottom, Math.min(right, scale.x(below(last(anchors)))), bottom).toString(),
      {
        stroke: 'line',
      },
    ),
    pathMark('own-kept', lines.toString(), { stroke: 'line', strokeWidth: 1 }),
    pathMark('own-moved', moved.toString(), { stroke: 'mark', strokeWidth: 1.6 }),
  ];
  let free = Number.NEGATIVE_INFINITY;
  for (const { from, to, by } of changes) {
    const words = by > 0 ? `+${by}` : `−${-by}`;
    const x = (scale.x(below(from)) + scale.x(below(to))) / 2;
    const half = words.length * 3.4 + 2;
    if (x - half < free || x + half > right) continue;
    free = x + half;
    marks.push(
      textMark(`own-${from.id}`, x, height - 3, words, {
        ...small,
        anchor: 'middle',
        colour: by > 0 ? 'ink' : 'quiet',
      }),
    );
  }
  const end = last(anchors);
  const total = end.frame - end.ownFrame;
  return {
    unit: 'px',
    width,
    height,
    title: fromShot ? 'Where the poses were in the take' : 'Where the poses are in the shot',
    summary: `The shot is ${total === 0 ? 'as long as the take' : `${Math.abs(total)} frames ${total > 0 ? 'longer' : 'shorter'} than the take`}; ${changes.length} spans have another length.`,
    ground: null,
    marks,
  };
}

function last(anchors: readonly Anchor[]): Anchor {
  return anchors.at(-1) ?? { id: 'end', frame: 0, ownFrame: 0, takeSec: 0, shotSec: 0 };
}
