import { wrapText } from './fitText.ts';
import { type PaperStyle, pageRoom } from './paper.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, pathMark, type TextStyle, textMark } from './scene.ts';

/** Length of the bar that tells whether the printer kept the size, millimetres. */
export const checkBarMm = 100;
/** What it takes of the room above the foot, millimetres. */
export const checkBarRoom = 11;

const bold: TextStyle = { size: 3.6, font: 'text', weight: 700 };
const small: TextStyle = { size: 2.7, font: 'text', weight: 400 };

/**
 * The bar to lay a ruler on, at the bottom of a page's room, for pages at true size.
 * @param further what else there is to say of the sizes.
 */
export function drawCheckBar(further: string, style: PaperStyle): Mark[] {
  const room = pageRoom(style);
  const [left, y] = [room.left, room.bottom - 3];
  const bar = new PathPen().line(left, y, left + checkBarMm, y);
  const ends = new PathPen()
    .line(left, y - 3, left, y + 1.5)
    .line(left + checkBarMm, y - 3, left + checkBarMm, y + 1.5);
  const tens = new PathPen();
  for (let mm = 10; mm < checkBarMm; mm += 10) tens.line(left + mm, y - (mm === 50 ? 2.4 : 1.5), left + mm, y);
  const x = left + checkBarMm + 4;
  const words = wrapText(
    `Anything else: print again at 100 %, not “fit to page”. ${further}`,
    room.right - x,
    2,
    small,
    style.measure,
  );
  return [
    pathMark('check-bar', bar.toString(), { stroke: 'ink', strokeWidth: 0.4, role: 'check bar' }),
    pathMark('check-bar-ends', ends.toString(), { stroke: 'ink', strokeWidth: 0.25 }),
    pathMark('check-bar-tens', tens.toString(), { stroke: 'ink', strokeWidth: 0.2 }),
    textMark('check-bar-words', left + checkBarMm / 2, y - 3.4, `measure me: ${checkBarMm} mm`, {
      ...bold,
      anchor: 'middle',
    }),
    ...words.map((line, i) => textMark(`check-bar-how-${i}`, x, y - 2.6 + i * 3.4, line, small)),
  ];
}
