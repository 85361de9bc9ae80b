import type { DoubtCode } from '../track/motion.ts';
import { PathPen } from './pathPen.ts';
import type { FrameScale } from './scales.ts';
import { type Mark, type PathLook, pathMark } from './scene.ts';
import type { ColourName } from './tokens.ts';

/** One span of a doubt laid out along the frames. */
export interface DoubtSpan {
  readonly code: DoubtCode;
  /** From 0, and how many. */
  readonly firstFrame: number;
  readonly frames: number;
  readonly headline: string;
}

/** Height of the lane of doubts over a graph or under the strip, screen pixels. */
export const doubtLaneHeight = 18;

/** How each doubt's sign is painted: as an area, or by lines. Told apart by shape alone, so that grey and colour-blind eyes lose nothing. */
const isFilled: Readonly<Record<DoubtCode, boolean>> = {
  hidden: true,
  guessed: false,
  swapped: true,
  blurred: false,
  'out-of-frame': false,
  'out-of-plane': true,
  'two-people': false,
  nobody: false,
  small: true,
  outlier: false,
  cut: true,
};

/** Path data of a doubt's sign around a middle, within `r` to each side. */
export function doubtSign(code: DoubtCode, x: number, y: number, r: number): string {
  const pen = new PathPen();
  const at = (...points: [number, number][]): [number, number][] => points.map(([dx, dy]) => [x + dx * r, y + dy * r]);
  const strokes = (...lines: [number, number, number, number][]): string => {
    for (const [x1, y1, x2, y2] of lines) pen.line(x + x1 * r, y + y1 * r, x + x2 * r, y + y2 * r);
    return pen.toString();
  };
  switch (code) {
    case 'hidden':
      // A block with its lower half gone behind something.
      return pen
        .polygon(at([-1, -1], [1, -1], [1, 0], [-1, 0]))
        .rect(x - r, y + 0.45 * r, 2 * r, 0.4 * r)
        .toString();
    case 'guessed':
      return strokes([-1, 0, -0.6, 0], [-0.2, 0, 0.2, 0], [0.6, 0, 1, 0], [0, -1, 0, -0.6], [0, 0.6, 0, 1]);
    case 'swapped':
      return pen
        .polygon(at([-1, -0.5], [0.1, -1], [0.1, 0]))
        .polygon(at([1, 0.5], [-0.1, 0], [-0.1, 1]))
        .toString();
    case 'blurred':
      return strokes([-1, -0.8, 0.2, -0.8], [-1, 0, 1, 0], [-1, 0.8, 0.6, 0.8]);
    case 'out-of-frame':
      return strokes([-0.3, -1, 1, -1], [1, -1, 1, 1], [1, 1, -0.3, 1], [-1, 0, 0.3, 0]);
    case 'out-of-plane':
      // A bar that grows toward the eye.
      return pen.polygon(at([-1, -0.25], [1, -1], [1, 1], [-1, 0.25])).toString();
    case 'two-people':
      return pen
        .circle(x - 0.5 * r, y, 0.45 * r)
        .circle(x + 0.6 * r, y, 0.45 * r)
        .toString();
    case 'nobody':
      return pen
        .circle(x, y, 0.9 * r)
        .line(x - 0.65 * r, y + 0.65 * r, x + 0.65 * r, y - 0.65 * r)
        .toString();
    case 'small':
      return pen.circle(x, y, 0.45 * r).toString();
    case 'outlier':
      return pen
        .moveTo(x - r, y + 0.6 * r)
        .lineTo(x - 0.4 * r, y + 0.6 * r)
        .lineTo(x, y - r)
        .lineTo(x + 0.4 * r, y + 0.6 * r)
        .lineTo(x + r, y + 0.6 * r)
        .toString();
    case 'cut':
      // Two halves of one thing that do not meet.
      return pen
        .rect(x - r, y - r, 0.85 * r, 1.3 * r)
        .rect(x + 0.15 * r, y - 0.3 * r, 0.85 * r, 1.3 * r)
        .toString();
  }
}

/** A doubt's sign as a mark. */
export function drawDoubtSign(
  id: string,
  code: DoubtCode,
  x: number,
  y: number,
  r: number,
  colour: ColourName,
  look: PathLook = {},
): Mark {
  const paint = isFilled[code] ? { fill: colour } : { stroke: colour, strokeWidth: Math.max(1.4, r * 0.3) };
  return pathMark(id, doubtSign(code, x, y, r), { ...paint, role: 'doubt', ...look });
}

/** Doubts about everything are drawn thinner: they often last through the shot and would cover those of a joint. */
const isOfWholeBody: ReadonlySet<DoubtCode> = new Set(['two-people', 'nobody', 'small', 'swapped', 'cut']);

/** The doubts of one joint along the frames: a bar for each span with its sign; the chosen span is outlined. */
export function drawDoubtLane(
  doubts: readonly DoubtSpan[],
  chosen: DoubtSpan | null,
  scale: FrameScale,
  top: number,
): Mark[] {
  // Long ones first, so that a short one lies on top of a long one.
  const inOrder = doubts.toSorted((a, b) => b.frames - a.frames);
  return inOrder.flatMap((doubt, i) => {
    const x = scale.x(doubt.firstFrame);
    const width = Math.max(3, doubt.frames * scale.frameWidth);
    const last = doubt.firstFrame + doubt.frames;
    const isChosen =
      chosen !== null &&
      chosen.code === doubt.code &&
      chosen.firstFrame === doubt.firstFrame &&
      chosen.headline === doubt.headline;
    const middle = x + width / 2;
    const thick = isOfWholeBody.has(doubt.code) ? 1.6 : 4;
    return [
      pathMark(`doubt-${i}`, new PathPen().rect(x, top + doubtLaneHeight - 1 - thick, width, thick).toString(), {
        fill: isChosen ? 'mark' : 'doubt',
        role: 'doubtSpan',
        label: `${doubt.headline}, frames ${doubt.firstFrame + 1} to ${last}`,
      }),
      drawDoubtSign(`doubt-${i}-sign`, doubt.code, middle, top + 6.5, 4.5, isChosen ? 'mark' : 'doubt'),
    ];
  });
}

/** Path data of the sign of a joint placed by hand: a wedge whose tip is the place. */
export function placementSign(x: number, y: number, size: number): string {
  return new PathPen()
    .polygon([
      [x, y],
      [x - 0.62 * size, y - size],
      [x + 0.62 * size, y - size],
    ])
    .toString();
}
