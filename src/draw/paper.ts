import type { Orientation, PaperName } from '../base/paper.ts';
import type { SheetHeader } from '../plan/sheet.ts';
import { clipText, wrapText } from './fitText.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, type Measure, pathMark, type Scene, type TextStyle, textMark } from './scene.ts';

/** Sizes in millimetres, upright: ISO 216 A4; ANSI/ASME Y14.1 A (8½ × 11 in). */
const paperSizes: Readonly<Record<PaperName, { readonly width: number; readonly height: number }>> = {
  A4: { width: 210, height: 297 },
  Letter: { width: 215.9, height: 279.4 },
};

/** What a printed page is made for. */
export interface PaperStyle {
  readonly paper: PaperName;
  /** Left out = portrait. */
  readonly orientation?: Orientation;
  readonly measure: Measure;
}

/** Width and height of a page, millimetres. */
export function pageSize({ paper, orientation }: Omit<PaperStyle, 'measure'>): { width: number; height: number } {
  const { width, height } = paperSizes[paper];
  return orientation === 'landscape' ? { width: height, height: width } : { width, height };
}

/** The part of a page that a layout may fill, millimetres. */
export interface PageRoom {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** A page whose number is not known yet. */
export interface DraftPage {
  /** What the page is ("Exposure sheet"). */
  readonly title: string;
  readonly summary: string;
  readonly marks: readonly Mark[];
}

/** Printers leave about 6 mm unprinted; tape takes a little more at the top. */
const margin = { side: 9, top: 9, bottom: 8 };
const stripHeight = 12;
/** Room for "Page 12 of 12" at the right end of the head. */
const pageField = 23;

/** No letter on paper is smaller, mm: 7 points, which is 2.4694 mm. A page is read beside the set, farther off than a book. */
export const leastLetters = 2.47;

/** Text styles of the paper, sizes in mm. */
export const paperText = {
  shot: { size: 6, font: 'text', weight: 700 },
  field: { size: 3.8, font: 'mono', weight: 700 },
  fieldText: { size: 3.8, font: 'text', weight: 700 },
  small: { size: 2.5, font: 'text', weight: 400 },
  label: { size: 2.5, font: 'text', weight: 400 },
} as const satisfies Record<string, TextStyle>;

/** The room under the head and above the foot of a page. */
export function pageRoom(style: PaperStyle): PageRoom {
  const { width, height } = pageSize(style);
  return {
    left: margin.side,
    right: width - margin.side,
    top: margin.top + stripHeight + 6.4,
    bottom: height - margin.bottom - 4.4,
  };
}

/**
 * The head of a page, a strip of ruled fields as on a form, and one line under it for the take and the shot's notes. The
 * page's number is added by `numberPages`.
 */
export function pageHead(header: SheetHeader, title: string, style: PaperStyle): Mark[] {
  const { measure } = style;
  const room = pageRoom(style);
  const fields: readonly (readonly [label: string, value: string, width: number])[] = [
    ['length', header.length, 18],
    ['frames', String(header.frames), 14],
    ['feet + frames', header.feetAndFrames, 20],
    ['fps', `${header.fps} on ${header.on}`, 26],
    ['puppet', header.puppet, 18],
    ['poses to set', String(header.poses), 16],
  ];
  const marks: Mark[] = [];
  const rules = new PathPen().rect(room.left, margin.top, room.right - room.left, stripHeight);
  const shotWidth = room.right - room.left - pageField - fields.reduce((sum, [, , w]) => sum + w, 0);
  const baseline = margin.top + stripHeight - 3;
  const labelLine = margin.top + 3.2;

  marks.push(textMark('head-shot-label', room.left + 1.8, labelLine, title, { ...paperText.label, colour: 'quiet' }));
  // A long name shrinks first, then takes two lines, and is cut only after that.
  const name = paperText.shot;
  const inOneLine = Math.min(name.size, (name.size * (shotWidth - 3)) / Math.max(1, measure(header.shot, name)));
  const face = { ...name, size: Math.max(3.4, inOneLine) };
  const lines = wrapText(header.shot, shotWidth - 3, 2, face, measure);
  for (const [i, line] of lines.entries()) {
    const y = lines.length === 1 ? baseline + 0.4 : margin.top + 7 + i * 3.9;
    marks.push(textMark(`head-shot-${i}`, room.left + 1.8, y, line, { ...face, role: 'shot' }));
  }
  let x = room.left + shotWidth;
  for (const [label, value, width] of fields) {
    rules.line(x, margin.top, x, margin.top + stripHeight);
    const valueFace = /\d/.test(value) ? paperText.field : paperText.fieldText;
    // The longest values ("23.976", "100 + 08") get a smaller face rather than an end cut off.
    const fits = Math.min(valueFace.size, (valueFace.size * (width - 3)) / measure(value, valueFace));
    const size = Math.max(leastLetters, fits);
    const shown = clipText(value, width - 2, { ...valueFace, size }, measure);
    marks.push(textMark(`head-${label}-label`, x + 1.4, labelLine, label, { ...paperText.label, colour: 'quiet' }));
    marks.push(textMark(`head-${label}`, x + 1.4, baseline, shown, { ...valueFace, size }));
    x += width;
  }
  rules.line(x, margin.top, x, margin.top + stripHeight);
  marks.push(pathMark('head-rules', rules.toString(), { stroke: 'ink', strokeWidth: 0.3 }));

  const under = margin.top + stripHeight + 4;
  const words = [`take ${header.take}`, header.notes && `notes: ${header.notes}`].filter(Boolean).join('   ·   ');
  const line = clipText(words, room.right - room.left - 2, paperText.small, measure);
  marks.push(textMark('head-line', room.left + 1.8, under, line, { ...paperText.small, colour: 'quiet' }));
  return marks;
}

/** Turns drafts into finished pages: adds "Page n of m" to each. */
export function numberPages(drafts: readonly DraftPage[], style: PaperStyle): Scene[] {
  const size = pageSize(style);
  const room = pageRoom(style);
  return drafts.map((draft, i) => {
    const number = `${i + 1} of ${drafts.length}`;
    const face = {
      ...paperText.field,
      size: Math.min(
        paperText.field.size,
        (paperText.field.size * (pageField - 3)) / style.measure(number, paperText.field),
      ),
    };
    const x = room.right - pageField + 1.4;
    return {
      unit: 'mm',
      width: size.width,
      height: size.height,
      title: `${draft.title}, page ${number}`,
      summary: draft.summary,
      ground: 'sheet',
      marks: [
        ...draft.marks,
        textMark('page-label', x, margin.top + 3.2, 'Page', { ...paperText.label, colour: 'quiet' }),
        textMark('page-number', x, margin.top + stripHeight - 3, number, { ...face, role: 'page number' }),
      ],
    };
  });
}

/** A line of explanation at the foot of a page, cut where the page ends. */
export function pageFoot(text: string, style: PaperStyle, x = pageRoom(style).left + 1.8): Mark {
  const room = pageRoom(style);
  const line = clipText(text, room.right - x, paperText.small, style.measure);
  return textMark('foot', x, room.bottom + 4, line, { ...paperText.small, colour: 'quiet' });
}
