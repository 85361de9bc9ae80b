import { PathPen } from './pathPen.ts';
import { type Mark, pathMark, type TextStyle, textMark } from './scene.ts';
import type { ColourName } from './tokens.ts';

const small: TextStyle = { size: 13, font: 'mono', weight: 700 };
/** Width of a mono letter, in its size. */
const monoEm = 0.632;

/** Width of a plate with this text, scene units. */
export function plateWidth(text: string): number {
  return text.length * small.size * monoEm + 6;
}

/** Height of every plate. */
export const plateHeight = small.size + 4;

/** Some letters on a dark plate, its middle at a point: read over any picture. */
export function drawPlate(id: string, text: string, x: number, y: number, role: string, colour: ColourName): Mark[] {
  const width = plateWidth(text);
  return [
    pathMark(`${id}-plate`, new PathPen().rect(x - width / 2, y - plateHeight / 2, width, plateHeight).toString(), {
      fill: 'casing',
      opacity: 0.72,
    }),
    textMark(id, x, y + small.size * 0.36, text, { ...small, anchor: 'middle', colour, role }),
  ];
}
