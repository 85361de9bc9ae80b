import { clipText } from './fitText.ts';
import { measureBundled } from './measure.ts';
import { PathPen } from './pathPen.ts';
import type { FrameScale } from './scales.ts';
import { type Mark, pathMark, type Scene, type TextStyle, textMark } from './scene.ts';

/** An extreme of one part, placed in the shot. */
export interface PlacedExtreme {
  readonly kind: 'left' | 'right' | 'top' | 'bottom' | 'turn' | 'stop';
  /** Frame of the shot, from 0. */
  readonly frame: number;
  /** How far the part goes back from here before it goes further: puppet millimetres, or pixels where there are none. */
  readonly prominence: number;
  readonly unit: 'mm' | 'px';
  /** It is a key already. */
  readonly isKey: boolean;
}

/** Where it is drawn, screen pixels, and whose extremes these are ("left wrist"). */
export interface ExtremeStripStyle {
  readonly width: number;
  readonly scale: FrameScale;
  readonly part: string;
}

/** Height of the strip, screen pixels. */
export const extremeStripHeight = 32;

const middle = 9;
const half = 5;
const small: TextStyle = { size: 11.5, font: 'mono', weight: 400 };

/** What each kind is called in a list: "furthest left". */
export const extremeWords: Readonly<Record<PlacedExtreme['kind'], string>> = {
  left: 'furthest left',
  right: 'furthest right',
  top: 'highest',
  bottom: 'lowest',
  turn: 'turns back',
  stop: 'stops',
};

/**
 * The extremes of one part along the shot's frames: an arrowhead to the side where it is furthest, a diamond where it turns back on a
 * slant, a square where it stops; filled where it is a key. Below, how far it goes back, where there is room.
 */
export function layOutExtremes(extremes: readonly PlacedExtreme[], { width, scale, part }: ExtremeStripStyle): Scene {
  let free = 0;
  return {
    unit: 'px',
    width,
    height: extremeStripHeight,
    title: `Extremes of ${part}`,
    summary: `${extremes.length} extremes of ${part}.`,
    ground: null,
    marks: extremes.flatMap((extreme, i): Mark[] => {
      const x = scale.middle(extreme.frame);
      const mark = pathMark(`extreme-${i}`, shapeOf(extreme.kind, x), {
        fill: extreme.isKey ? 'ink' : null,
        stroke: 'ink',
        strokeWidth: 1.4,
        role: 'extreme',
        label: `${part} ${extremeWords[extreme.kind]}, frame ${extreme.frame + 1}, ${extreme.prominence.toFixed(0)} ${extreme.unit}`,
      });
      const text = clipText(extreme.prominence.toFixed(0), 40, small, measureBundled);
      const room = measureBundled(text, small) / 2 + 2;
      if (x - room < free || x + room > width) return [mark];
      free = x + room;
      return [
        mark,
        textMark(`extreme-${i}-mm`, x, extremeStripHeight - 5, text, { ...small, anchor: 'middle', colour: 'quiet' }),
      ];
    }),
  };
}

function shapeOf(kind: PlacedExtreme['kind'], x: number): string {
  const pen = new PathPen();
  const [l, r, t, b] = [x - half, x + half, middle - half, middle + half];
  switch (kind) {
    case 'left':
      return pen.moveTo(r, t).lineTo(l, middle).lineTo(r, b).close().toString();
    case 'right':
      return pen.moveTo(l, t).lineTo(r, middle).lineTo(l, b).close().toString();
    case 'top':
      return pen.moveTo(l, b).lineTo(x, t).lineTo(r, b).close().toString();
    case 'bottom':
      return pen.moveTo(l, t).lineTo(x, b).lineTo(r, t).close().toString();
    case 'turn':
      return pen.moveTo(x, t).lineTo(r, middle).lineTo(x, b).lineTo(l, middle).close().toString();
    case 'stop':
      return pen.rect(l + 1, t + 1, 2 * half - 2, 2 * half - 2).toString();
  }
}
