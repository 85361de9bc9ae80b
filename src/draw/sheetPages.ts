import type { Plan } from '../plan/plan.ts';
import { type Sheet, type SheetRow, writeSheet } from '../plan/sheet.ts';
import { clockArrow } from './clockArrow.ts';
import { clipText, wrapText } from './fitText.ts';
import {
  type DraftPage,
  leastLetters,
  numberPages,
  type PageRoom,
  type PaperStyle,
  pageHead,
  pageRoom,
  paperText,
} from './paper.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, pathMark, type Scene, type TextStyle, textMark } from './scene.ts';
import { layOutColumns, type SheetColumn } from './sheetColumns.ts';
import { drawMoves, leastPart } from './sheetMoves.ts';
import { drawSheetSound, soundLaneWidth } from './sheetSound.ts';

/** Height of the column headings, mm. */
const headingHeight = 7.2;
/** A short shot may have taller rows, up to this; taller ones would only spread the eye. */
const tallestRow = 4.2;
/** Between two halves of a sheet that stand side by side, mm. */
const blockGap = 5;
/** Side by side, words need the width more than numbers do. */
const widestPartOfHalf = 11;

/** Everything that the drawing of one page's rows needs. */
interface RowsContext {
  readonly plan: Plan;
  readonly sheet: Sheet;
  readonly style: PaperStyle;
  readonly columns: readonly SheetColumn[];
  readonly room: PageRoom;
  readonly top: number;
  readonly rowHeight: number;
  readonly first: number;
  readonly last: number;
}

/** The exposure sheet on paper, one scene per page in mm, numbered among themselves. */
export function layOutSheetPages(plan: Plan, style: PaperStyle): Scene[] {
  return numberPages(draftSheetPages(plan, style), style);
}

/** The same, not yet numbered. */
export function draftSheetPages(plan: Plan, style: PaperStyle): DraftPage[] {
  const sheet = writeSheet(plan);
  const { rooms, rowsPerBlock } = blocksOf(sheet, style);
  const top = rooms[0]!.top + headingHeight;
  const fullest = Math.min(rowsPerBlock, sheet.rows.length);
  const rowHeight = Math.min(tallestRow, (rooms[0]!.bottom - top) / fullest);
  const pages: DraftPage[] = [];
  for (let from = 0; from < sheet.rows.length; from += rowsPerBlock * rooms.length) {
    const blocks = rooms.flatMap((room, i): RowsContext[] => {
      const first = from + i * rowsPerBlock;
      const last = Math.min(sheet.rows.length, first + rowsPerBlock) - 1;
      const columns = layOutColumns(sheet.joints, room, rooms.length > 1 ? widestPartOfHalf : undefined);
      return last < first ? [] : [{ plan, sheet, style, columns, room, top, rowHeight, first, last }];
    });
    pages.push({
      title: `Exposure sheet, ${sheet.header.shot}`,
      summary: `Frames ${from + 1} to ${blocks.at(-1)!.last + 1} of ${sheet.rows.length}, one row each.`,
      marks: [
        ...pageHead(sheet.header, 'Exposure sheet', style),
        ...blocks.flatMap((block, i) => (i === 0 ? drawBlock(block) : drawBlock(block).map(ofSecondBlock))),
        ...drawLegend(sheet, style),
      ],
    });
  }
  return pages;
}

/**
 * Where rows stand on a page. Upright, one block of the sheet's rows. Lying, half as many rows to a block, and two blocks side by side
 * where the parts find the width for it and one block does not hold the shot: a page of 96 frames stays one page.
 */
function blocksOf(sheet: Sheet, style: PaperStyle): { rooms: PageRoom[]; rowsPerBlock: number } {
  const room = pageRoom(style);
  if (style.orientation !== 'landscape') return { rooms: [room], rowsPerBlock: sheet.rowsPerPage };
  const rowsPerBlock = Math.ceil(sheet.rowsPerPage / 2);
  const middle = (room.left + room.right) / 2;
  const halves = [
    { ...room, right: middle - blockGap / 2 },
    { ...room, left: middle + blockGap / 2 },
  ];
  const part = layOutColumns(sheet.joints, halves[0]!).find((c) => c.kind === 'part');
  const isOne = sheet.rows.length <= rowsPerBlock || (part !== undefined && part.width < leastPart);
  return { rooms: isOne ? [room] : halves, rowsPerBlock };
}

function drawBlock(context: RowsContext): Mark[] {
  return [
    ...drawGround(context),
    ...drawHeadings(context),
    ...context.columns.flatMap((column) => drawColumn(column, context)),
  ];
}

/** Ids stay unique: rows have their frame's number in theirs, the rest is there once in each block. */
function ofSecondBlock(mark: Mark): Mark {
  return mark.id.startsWith('row-') ? mark : { ...mark, id: `second-${mark.id}` };
}

/** Rows' rules, columns' rules, and the tint under held rows. */
function drawGround({ sheet, columns, room, top, rowHeight, first, last }: RowsContext): Mark[] {
  const hair = new PathPen();
  const heavy = new PathPen();
  const seconds = new PathPen();
  const tint = new PathPen();
  const parts = columns.filter((c) => c.kind === 'part');
  const tintLeft = parts[0]?.left ?? 0;
  const tintWidth = parts.reduce((sum, c) => sum + c.width, 0);
  const bottom = top + (last - first + 1) * rowHeight;
  for (let k = first; k <= last; k++) {
    const y = top + (k - first + 1) * rowHeight;
    const isLast = k === last;
    const pen = (k + 1) % sheet.framesPerSecond === 0 ? seconds : (k + 1) % sheet.heavyEvery === 0 ? heavy : hair;
    if (!isLast) pen.line(room.left, y, room.right, y);
    if (sheet.rows[k]?.mark.kind === 'hold' && tintWidth > 0) tint.rect(tintLeft, y - rowHeight, tintWidth, rowHeight);
  }
  const thin = new PathPen();
  const strong = new PathPen().rect(room.left, room.top, room.right - room.left, bottom - room.top);
  for (const column of columns) {
    // The frame and pose columns are the sheet's spine: ruled stronger than the rest.
    const isSpine = column.kind === 'frame' || column.kind === 'part' || column.kind === 'support';
    const pen = isSpine && column.joint === parts.at(0)?.joint ? strong : column.kind === 'frame' ? strong : thin;
    if (column.left > room.left) pen.line(column.left, room.top, column.left, bottom);
  }
  strong.line(room.left, top, room.right, top);
  const marks: Mark[] = [];
  if (tint.toString()) marks.push(pathMark('rows-held', tint.toString(), { fill: 'tint', role: 'hold' }));
  marks.push(
    pathMark('rows', hair.toString(), { stroke: 'line', strokeWidth: 0.12 }),
    pathMark('columns', thin.toString(), { stroke: 'faint', strokeWidth: 0.14 }),
    pathMark('rows-heavy', heavy.toString(), { stroke: 'heavy', strokeWidth: 0.28 }),
    pathMark('rows-seconds', seconds.toString(), { stroke: 'heavy', strokeWidth: 0.55 }),
    pathMark('columns-strong', strong.toString(), { stroke: 'ink', strokeWidth: 0.3 }),
  );
  return marks.filter((m) => m.kind !== 'path' || m.d !== '');
}

/** As sheets have it where a column is narrow. */
const shortNames: ReadonlyMap<string, string> = new Map([['shoulder', 'shldr']]);

function drawHeadings({ columns, room, style }: RowsContext): Mark[] {
  return columns.flatMap((column) => {
    const isNumber = column.kind === 'frame' || column.kind === 'pose' || column.kind === 'part';
    const face: TextStyle = { size: 2.5, font: 'text', weight: 700 };
    return column.heading.map((word, i) => {
      const width = column.width - (isNumber ? 0.6 : 2);
      // A part's name shrinks a little and is written short before it is cut.
      const fits = (whole: string) => Math.min(face.size, (face.size * width) / style.measure(whole, face));
      const short = fits(word) < leastLetters ? (shortNames.get(word) ?? word) : word;
      const size = Math.max(leastLetters, fits(short));
      const text = clipText(short, width, { ...face, size }, style.measure);
      const x = isNumber ? column.left + column.width / 2 : column.left + 1.4;
      const y = room.top + (column.heading.length === 1 ? 5.2 : 3.1 + i * 2.8);
      return textMark(`heading-${column.kind}-${column.joint ?? ''}-${i}`, x, y, text, {
        ...face,
        size,
        anchor: isNumber ? 'middle' : 'start',
      });
    });
  });
}

function drawColumn(column: SheetColumn, context: RowsContext): Mark[] {
  switch (column.kind) {
    case 'action':
      return drawWords(column, context, (row) => row.action);
    case 'sound':
      return [
        ...drawSheetSound(context.plan, column, context),
        ...drawWords(column, context, (row) => row.dialogue, soundLaneWidth(context.plan)),
      ];
    case 'camera':
      return drawWords(column, context, (row) => row.camera);
    case 'frame':
      return drawFrameNumbers(column, context);
    case 'pose':
      return drawPoses(column, context);
    case 'part':
      return drawMoves(column, context.sheet, context, context.style.measure);
    case 'support':
      return drawWords(column, context, (row) => row.support);
    case 'notes':
      // Room to write by hand.
      return [];
  }
}

/** Words begin in their row and may run on over empty rows below, at most as far as the page goes; the right `takenWidth` mm are not theirs. */
function drawWords(
  column: SheetColumn,
  context: RowsContext,
  wordsOf: (row: SheetRow) => string,
  takenWidth = 0,
): Mark[] {
  const { sheet, style, rowHeight, first, last } = context;
  const marks: Mark[] = [];
  for (let k = first; k <= last; k++) {
    const row = sheet.rows[k]!;
    const text = wordsOf(row);
    if (text === '') continue;
    let free = 1;
    while (k + free <= last && wordsOf(sheet.rows[k + free]!) === '' && free < 6) free++;
    const isOurs = column.kind === 'support' || (column.kind === 'action' && !row.actionIsWritten);
    const face: TextStyle = {
      size: Math.min(2.9, Math.max(leastLetters, rowHeight * 0.92)),
      font: 'text',
      weight: isOurs ? 400 : 700,
    };
    const lines = wrapText(text, column.width - 2.4 - takenWidth, free, face, style.measure);
    for (const [i, line] of lines.entries()) {
      const y = baselineOf(context, k + i, face.size);
      const label = i === 0 ? `frame ${k + 1}, ${column.heading[0]}: ${text}` : '';
      marks.push(
        textMark(`row-${k}-${column.kind}-${i}`, column.left + 1.4, y, line, { ...face, role: column.kind, label }),
      );
    }
  }
  return marks;
}

/** Big where a picture is to be taken, smaller where the one before stays. */
function drawFrameNumbers(column: SheetColumn, context: RowsContext): Mark[] {
  const { sheet, rowHeight, top, first, last } = context;
  const marks: Mark[] = [];
  const anew = new PathPen();
  for (let k = first; k <= last; k++) {
    const y = top + (k - first) * rowHeight;
    if (sheet.rows[k]!.isLaidAnew) anew.line(column.left + 0.8, y, column.left + 0.8, y + rowHeight);
    const stays = sheet.rows[k]!.mark.kind === 'dash' || sheet.rows[k]!.mark.kind === 'hold';
    // On twos a number may reach toward the small one below; on ones it has to keep to its row.
    const size = Math.max(leastLetters, rowHeight * (stays ? 0.86 : beginsBelow(context, k) ? 0.98 : 1.16));
    marks.push(
      textMark(`row-${k}-frame`, column.left + column.width - 1.4, baselineOf(context, k, size), String(k + 1), {
        size,
        font: 'mono',
        weight: stays ? 400 : 700,
        anchor: 'end',
        colour: stays ? 'quiet' : 'ink',
        role: 'frame',
      }),
    );
  }
  return anew.toString() ? [pathMark('laid-anew', anew.toString(), anewLine), ...marks] : marks;
}

/** The trade's marks: key circled, breakdown underlined, dash, hold line with a bar at its end, wave beside a moving hold. */
function drawPoses(column: SheetColumn, context: RowsContext): Mark[] {
  const { sheet, rowHeight, top, first, last, style } = context;
  const marks: Mark[] = [];
  const x = column.left + column.width / 2;
  const dashes = new PathPen();
  const holds = new PathPen();
  const waves = new PathPen();
  for (let k = first; k <= last; k++) {
    const row = sheet.rows[k]!;
    const y = top + (k - first) * rowHeight;
    const middle = y + rowHeight / 2;
    const { mark } = row;
    if (row.isMovingHold) {
      const wx = column.left + 1.1;
      waves.moveTo(wx, y).curveTo(wx + 0.9, y + rowHeight / 4, wx, middle);
      waves.curveTo(wx - 0.9, y + rowHeight * 0.75, wx, y + rowHeight);
    }
    if (mark.kind === 'hold') {
      holds.line(x, y, x, mark.ends ? middle : y + rowHeight);
      if (mark.ends) holds.line(x - 1.5, middle, x + 1.5, middle);
      continue;
    }
    if (mark.kind === 'dash') {
      // No dash under a circle or an underline, which reach into the row below.
      const above = sheet.rows[k - 1]?.mark.kind;
      if (k === first || (above !== 'key' && above !== 'breakdown')) dashes.line(x - 0.9, middle, x + 0.9, middle);
      continue;
    }
    const text = String(mark.poseNumber);
    const isKey = mark.kind === 'key';
    const size = Math.max(
      leastLetters,
      rowHeight * (mark.kind === 'inBetween' || beginsBelow(context, k) ? 0.98 : 1.1),
    );
    const face: TextStyle = { size, font: 'mono', weight: mark.kind === 'inBetween' ? 400 : 700 };
    const baseline = baselineOf(context, k, size);
    const width = style.measure(text, face);
    const label = `frame ${k + 1}: ${mark.kind === 'inBetween' ? '' : `${mark.kind} `}pose ${text}, ${row.poseFrames} frames`;
    if (isKey) {
      const r = rowHeight * (beginsBelow(context, k) ? 0.5 : 0.68);
      const ring = new PathPen().pill(x, middle, Math.max(0, width - r * 0.9), r).toString();
      marks.push(pathMark(`row-${k}-ring`, ring, { fill: 'sheet', stroke: 'ink', strokeWidth: 0.36, role: 'key' }));
    }
    if (mark.kind === 'breakdown') {
      const line = new PathPen().line(x - width / 2, baseline + 0.35, x + width / 2, baseline + 0.35).toString();
      marks.push(pathMark(`row-${k}-underline`, line, { stroke: 'ink', strokeWidth: 0.32, role: 'breakdown' }));
    }
    marks.push(textMark(`row-${k}-pose`, x, baseline, text, { ...face, anchor: 'middle', role: 'pose', label }));
  }
  const lines: Mark[] = [
    pathMark('dashes', dashes.toString(), { stroke: 'quiet', strokeWidth: 0.28 }),
    pathMark('hold-lines', holds.toString(), { stroke: 'ink', strokeWidth: 0.45, role: 'hold' }),
    pathMark('moving-holds', waves.toString(), { stroke: 'ink', strokeWidth: 0.28, role: 'moving hold' }),
  ].filter((m) => m.d !== '');
  // Circles last: they cover the rules of the row below.
  return [...lines, ...marks, ...drawContinuation(column, context)];
}

/** On top of a page that begins inside a hold, the number of the pose that stays. */
function drawContinuation(column: SheetColumn, context: RowsContext): Mark[] {
  const { sheet, first, rowHeight } = context;
  const mark = sheet.rows[first]?.mark;
  if (first === 0 || mark?.kind !== 'hold') return [];
  const size = Math.max(leastLetters, rowHeight * 0.86);
  const x = column.left + column.width - 0.8;
  const text = `(${mark.poseNumber})`;
  return [
    textMark('continues', x, baselineOf(context, first, size), text, {
      size,
      font: 'mono',
      weight: 400,
      anchor: 'end',
      colour: 'quiet',
    }),
  ];
}

/** Beside frames whose moves were laid anew from where the puppet stood. */
const anewLine = { stroke: 'ink', strokeWidth: 0.9, role: 'laid anew' } as const;

/** What the marks mean, in one line at the foot. */
function drawLegend({ unit, rows }: Sheet, style: PaperStyle): Mark[] {
  const sizes = unit === 'mm' ? 'mm on the puppet' : 'pixels of the picture';
  const room = pageRoom(style);
  const y = room.bottom + 4;
  const face = paperText.small;
  const ink = { stroke: 'ink', strokeWidth: 0.3 } as const;
  const m = y - 0.9;
  const anew: readonly [(x: number) => Mark, string] = [
    (x) => pathMark('legend-anew', new PathPen().line(x + 1.2, m - 1.5, x + 1.2, m + 1.5).toString(), anewLine),
    'laid anew',
  ];
  const signs: readonly (readonly [(x: number) => Mark, string])[] = [
    [(x) => pathMark('legend-key', new PathPen().circle(x + 1.2, m, 1.2).toString(), ink), 'key'],
    [
      (x) => pathMark('legend-breakdown', new PathPen().line(x, y + 0.2, x + 2.4, y + 0.2).toString(), ink),
      'breakdown',
    ],
    [
      (x) =>
        pathMark(
          'legend-hold',
          new PathPen()
            .line(x + 1.2, m - 1.5, x + 1.2, m + 1)
            .line(x, m + 1, x + 2.4, m + 1)
            .toString(),
          ink,
        ),
      'hold: touch nothing',
    ],
    [
      (x) =>
        pathMark(
          'legend-wave',
          new PathPen()
            .moveTo(x + 1.2, m - 1.4)
            .curveTo(x + 2.2, m - 0.7, x + 1.2, m)
            .curveTo(x + 0.2, m + 0.7, x + 1.2, m + 1.4)
            .toString(),
          ink,
        ),
      'moving hold',
    ],
    [(x) => pathMark('legend-arrow', clockArrow(2, x + 1.2, m, 2.2), ink), `${sizes}, as the camera sees it`],
    [(x) => pathMark('legend-still', new PathPen().circle(x + 1.2, m, 0.3).toString(), { fill: 'ink' }), 'leave it'],
    ...(rows.some((row) => row.isLaidAnew) ? [anew] : []),
    [(x) => textMark('legend-doubt', x + 0.6, y, '?', { ...face, weight: 700 }), 'a guess: hidden, or toward the lens'],
  ];
  const signWidth = 3.2;
  const taken = signs.reduce((sum, [, words]) => sum + signWidth + style.measure(words, face), 0);
  const gap = Math.min(4, (room.right - room.left - 3.6 - taken) / (signs.length - 1));
  const marks: Mark[] = [];
  let x = room.left + 1.8;
  for (const [sign, words] of signs) {
    marks.push(sign(x), textMark(`legend-words-${words}`, x + signWidth, y, words, { ...face, colour: 'quiet' }));
    x += signWidth + style.measure(words, face) + gap;
  }
  return marks;
}

/** Does the next row on the page begin a pose of its own, so that nothing may reach into it? */
function beginsBelow({ sheet, last }: RowsContext, k: number): boolean {
  const below = k < last ? sheet.rows[k + 1]?.mark.kind : undefined;
  return below === 'key' || below === 'breakdown' || below === 'inBetween';
}

/** The baseline that centres digits and capitals (0.69 em high in the bundled fonts) in a row. */
function baselineOf({ top, rowHeight, first }: RowsContext, k: number, size: number): number {
  return top + (k - first + 0.5) * rowHeight + size * 0.345;
}
