import type { RowMove, Sheet } from '../plan/sheet.ts';
import { clockArrow } from './clockArrow.ts';
import { leastLetters } from './paper.ts';
import { PathPen } from './pathPen.ts';
import { type FontName, type Mark, type Measure, pathMark, textMark } from './scene.ts';
import type { SheetColumn } from './sheetColumns.ts';
import type { SheetRows } from './sheetSound.ts';

/** How the number, its arrow and its "?" stand in a part's column, millimetres from the column's left edge. */
interface MoveFit {
  readonly size: number;
  readonly font: FontName;
  readonly doubtLeft: number;
  /** Right edge of "12.5". */
  readonly numberRight: number;
  /** Whole numbers stand before where the point would be, so that sizes line up down the column: so much further left. */
  readonly behindPoint: number;
  readonly arrowX: number;
  readonly arrowSize: number;
}

/** Widths in em: "?"; the widest number of three digits with a point, in the Mono and in the text font; and ".5" in both. */
const doubtEm = 0.547;
const numberEm: Readonly<Record<FontName, number>> = { mono: 4 * 0.632, text: 2.12 };
const pointEm: Readonly<Record<FontName, number>> = { mono: 2 * 0.632, text: 0.21 + 0.6 };
/** In a narrow column: between what stands in it and at its edges, and the least arrow, mm. */
const leastAir = 0.25;
const usualAir = 0.45;
const narrowArrow = 1.5;

/** A part's column must be as wide as this for its number to be read beside the set, mm. */
export const leastPart = narrowWidth('text');

function narrowWidth(font: FontName): number {
  return 4 * leastAir + (doubtEm + numberEm[font]) * leastLetters + narrowArrow;
}

/** @param widest how wide the column's numbers are at most, in em. @param hasDoubt is there a "?" in it? */
function fitMoves(width: number, rowHeight: number, widest: Record<FontName, number>, hasDoubt: boolean): MoveFit {
  // "?", "12.5" and the arrow side by side.
  const size = Math.min(2.9, Math.max(leastLetters, rowHeight * 0.95), width / 4.9);
  if (size >= leastLetters) {
    const arrowSize = Math.min(rowHeight * 0.82, width * 0.2);
    const arrowX = width * 0.94 - arrowSize / 2;
    const numberRight = arrowX - arrowSize * 0.5 - size * 0.35;
    return {
      ...{ size, font: 'mono', doubtLeft: width * 0.06, behindPoint: pointEm.mono * size },
      ...{ numberRight, arrowX, arrowSize },
    };
  }
  // Many parts: less air, then the narrower digits of the text font, before letters would be too small to read.
  const font = narrowWidth('mono') <= width ? 'mono' : 'text';
  const free = width - ((hasDoubt ? doubtEm : 0) + widest[font]) * leastLetters;
  const gaps = hasDoubt ? 4 : 3;
  const arrowSize = Math.min(rowHeight * 0.82, width * 0.2, Math.max(narrowArrow, free - gaps * usualAir));
  const air = Math.min(1.2, Math.max(leastAir, (free - arrowSize) / gaps));
  return {
    ...{ size: leastLetters, font, doubtLeft: air, behindPoint: pointEm[font] * leastLetters, arrowSize },
    numberRight: width - 2 * air - arrowSize,
    arrowX: width - air - arrowSize / 2,
  };
}

/** A part's moves down its column: millimetres and an arrow for where to, "?" before a guess, a dot where it is left as it is. */
export function drawMoves(
  column: SheetColumn,
  sheet: Sheet,
  { top, rowHeight, first, last }: SheetRows,
  measure: Measure,
): Mark[] {
  const part = sheet.joints.indexOf(column.joint!);
  // Of the whole sheet, so that a column stands alike on every page.
  const its = sheet.rows.flatMap((row) => row.moves[part] ?? []);
  const widestIn = (font: FontName) =>
    Math.max(0, ...its.map((m) => measure(wordsOf(m), { size: 1, font, weight: 400 }) + behind(m, font)));
  const behind = (m: RowMove, font: FontName) => (Number.isInteger(m.amount) ? pointEm[font] : 0);
  const widest = { mono: widestIn('mono'), text: widestIn('text') };
  const dots = new PathPen();
  const marks: Mark[] = [];
  const fit = fitMoves(column.width, rowHeight, widest, its.some(isDoubtful));
  const numberRight = column.left + fit.numberRight;
  const face = { size: fit.size, font: fit.font } as const;
  let arrows = '';
  for (let k = first; k <= last; k++) {
    const move = sheet.rows[k]!.moves[part];
    if (!move) continue;
    const middle = top + (k - first + 0.5) * rowHeight;
    const baseline = middle + fit.size * 0.345;
    const doubt = isDoubtful(move);
    if (doubt) {
      marks.push(
        textMark(`row-${k}-doubt-${column.joint}`, column.left + fit.doubtLeft, baseline, '?', {
          ...{ size: fit.size, font: 'text', weight: 700 },
          role: 'doubt',
        }),
      );
    }
    if (Number.isNaN(move.amount)) continue;
    if (move.amount === 0) {
      dots.circle(numberRight - 1.6 * fit.size, middle, 0.26);
      continue;
    }
    const text = wordsOf(move);
    const label = `frame ${k + 1}: ${column.heading.join(' ')} ${text} ${sheet.unit} toward ${move.hour} o'clock${doubt ? ', a guess' : ''}`;
    const right = Number.isInteger(move.amount) ? numberRight - fit.behindPoint : numberRight;
    marks.push(
      textMark(`row-${k}-${column.joint}`, right, baseline, text, {
        ...face,
        weight: 400,
        anchor: 'end',
        role: 'move',
        label,
      }),
    );
    arrows += clockArrow(move.hour, column.left + fit.arrowX, middle, fit.arrowSize);
  }
  const paths: Mark[] = [
    pathMark(`arrows-${column.joint}`, arrows, { stroke: 'ink', strokeWidth: 0.22 }),
    pathMark(`still-${column.joint}`, dots.toString(), { fill: 'quiet' }),
  ];
  return [...paths.filter((m) => m.kind === 'path' && m.d !== ''), ...marks];
}

function isDoubtful(move: RowMove): boolean {
  return move.isDoubtful || Number.isNaN(move.amount);
}

function wordsOf({ amount }: RowMove): string {
  if (Number.isNaN(amount)) return '';
  return Number.isInteger(amount) ? String(amount) : amount.toFixed(1);
}
