import type { Finding } from '../compare/finding.ts';
import { runWords as framesWords } from '../compare/finding.ts';
import { plannedExposures, type Review } from '../compare/review.ts';
import type { PuppetProfile } from '../puppet/profile.ts';
import { clipText, wrapText } from './fitText.ts';
import type { PageRoom, PaperStyle } from './paper.ts';
import { PathPen } from './pathPen.ts';
import { drawNotePictures } from './reviewPictures.ts';
import { type Mark, pathMark, type TextStyle, textMark } from './scene.ts';

const faces = {
  number: { size: 5, font: 'mono', weight: 700 },
  frames: { size: 4, font: 'text', weight: 700 },
  small: { size: 2.8, font: 'text', weight: 400 },
  words: { size: 3.3, font: 'text', weight: 400 },
} as const satisfies Record<string, TextStyle>;

/** Millimetres. */
const leastRow = 29;
const tallestRow = 42;
const air = 1.6;
const gap = 3;
const numberWidth = 11;
const boxEdge = 4.2;
const lineHeight = 4.4;
const smallLineHeight = 3.6;
const ruleHeight = 7;
const columnGap = 7;
/** Below this width words and lines to write on are too short. */
const leastWords = 54;

/** How notes are laid into the room that is left for them. */
export interface NoteRows {
  readonly columns: number;
  readonly columnWidth: number;
  readonly rowHeight: number;
  /** Rows of a column. */
  readonly rows: number;
  readonly shown: number;
  /** How high all of it is. */
  readonly height: number;
}

/** As many notes as fit, in one column or two. */
export function measureNotes(count: number, room: PageRoom): NoteRows {
  const [width, height] = [room.right - room.left, room.bottom - room.top];
  const half = (width - columnGap) / 2;
  // Two pictures as high as the least row, side by side, and words beside them.
  const columns = half >= numberWidth + 2 * (leastRow - 2 * air) + 3 * gap + leastWords && count > 1 ? 2 : 1;
  const columnWidth = columns === 2 ? half : width;
  const rows = Math.max(1, Math.min(Math.floor(height / leastRow), Math.ceil(count / columns)));
  const rowHeight = Math.min(tallestRow, height / rows, widestRow(columnWidth));
  return {
    ...{ columns, columnWidth, rowHeight, rows },
    shown: Math.min(count, rows * columns),
    height: count === 0 ? 0 : rows * rowHeight,
  };
}

/** Higher, the pictures would leave too little for words. */
function widestRow(columnWidth: number): number {
  return Math.max(leastRow, (columnWidth - numberWidth - 3 * gap - leastWords) / 2 + 2 * air);
}

/** The notes, worst first, down the first column, then the second: number, box to tick, two pictures, frames, a sentence, lines to write on. */
export function drawNotes(
  review: Review,
  profile: PuppetProfile,
  notes: readonly Finding[],
  rows: NoteRows,
  room: PageRoom,
  style: PaperStyle,
): Mark[] {
  return notes.slice(0, rows.shown).flatMap((note, i) => {
    const left = room.left + Math.floor(i / rows.rows) * (rows.columnWidth + columnGap);
    const top = room.top + (i % rows.rows) * rows.rowHeight;
    const at = { left, right: left + rows.columnWidth, top, bottom: top + rows.rowHeight };
    return drawNote(review, profile, note, i, at, style);
  });
}

function drawNote(
  review: Review,
  profile: PuppetProfile,
  note: Finding,
  place: number,
  at: PageRoom,
  { measure }: PaperStyle,
): Mark[] {
  const id = `note-${place}`;
  const number = String(place + 1);
  const [top, bottom] = [at.top + air, at.bottom - air];
  const edge = bottom - top;
  const photo = { left: at.left + numberWidth, right: at.left + numberWidth + edge, top, bottom };
  const figure = { left: photo.right + gap, right: photo.right + gap + edge, top, bottom };
  const left = figure.right + gap;
  const width = at.right - left;
  const middle = at.left + numberWidth / 2 - 1;
  const ring = new PathPen().pill(middle, top + 4.2, Math.max(0, measure(number, faces.number) - 5.4), 3.9);
  const box = new PathPen().rect(middle - boxEdge / 2, top + 11, boxEdge, boxEdge);
  const marks: Mark[] = [
    pathMark(`${id}-rule`, new PathPen().line(at.left, at.bottom, at.right, at.bottom).toString(), {
      stroke: 'faint',
      strokeWidth: 0.2,
    }),
    pathMark(`${id}-ring`, ring.toString(), { stroke: 'ink', strokeWidth: 0.45, fill: place === 0 ? 'ink' : null }),
    textMark(`${id}-number`, middle, top + 5.95, number, {
      ...faces.number,
      anchor: 'middle',
      colour: place === 0 ? 'sheet' : 'ink',
      role: 'note',
    }),
    pathMark(`${id}-box`, box.toString(), { stroke: 'ink', strokeWidth: 0.35, role: 'tick box' }),
    ...drawNotePictures(review, profile, note, [photo, figure], id),
  ];
  const frames = capital(framesWords(note.firstFrame, note.frames));
  const framesWide = measure(frames, faces.frames) + 3;
  marks.push(
    textMark(`${id}-frames`, left, top + 3.4, clipText(frames, width, faces.frames, measure), {
      ...faces.frames,
      role: 'frames',
    }),
  );
  // A number is never cut in two: shorter words, or none.
  const beside = exposureWords(plannedExposures(review, note)).find(
    (w) => measure(w, faces.small) <= width - framesWide,
  );
  if (beside)
    marks.push(textMark(`${id}-exposures`, left + framesWide, top + 3.4, beside, { ...faces.small, colour: 'quiet' }));
  // A line to write on is always left; a long sentence gets smaller letters before its end is cut off.
  const roomForWords = edge - 5.2 - ruleHeight;
  const usual = wrapText(note.sentence, width, 99, faces.words, measure);
  const face = usual.length * lineHeight <= roomForWords ? faces.words : faces.small;
  const high = face === faces.words ? lineHeight : smallLineHeight;
  const lines = wrapText(note.sentence, width, Math.max(1, Math.floor(roomForWords / high)), face, measure);
  for (const [i, line] of lines.entries())
    marks.push(textMark(`${id}-line-${i}`, left, top + 8.4 + i * high, line, { ...face, role: 'sentence' }));
  const rules = new PathPen();
  const under = top + 8.4 + (lines.length - 1) * high;
  for (let y = bottom; y - under >= ruleHeight - 1; y -= ruleHeight) rules.line(left, y, at.right, y);
  if (rules.toString())
    marks.push(
      pathMark(`${id}-lines`, rules.toString(), { stroke: 'line', strokeWidth: 0.2, role: 'line to write on' }),
    );
  return marks;
}

/** Longest first. */
function exposureWords([first, last]: readonly [number, number]): string[] {
  return first === last
    ? [`exposure ${first + 1}`, `exp. ${first + 1}`]
    : [`exposures ${first + 1}–${last + 1}`, `exp. ${first + 1}–${last + 1}`];
}

function capital(words: string): string {
  return words.charAt(0).toUpperCase() + words.slice(1);
}
