import { findingsOf } from '../plan/hitchesJson.ts';
import type { Plan } from '../plan/plan.ts';
import { writeSheet } from '../plan/sheet.ts';
import {
  type Finding,
  hoursWords,
  moveWords,
  runWords,
  type ShotFacts,
  setCautions,
  shotFacts,
  standingFeet,
} from '../plan/shotFacts.ts';
import { clipText, wrapText } from './fitText.ts';
import { type DraftPage, type PageRoom, type PaperStyle, pageFoot, pageHead, pageRoom } from './paper.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, pathMark, type TextStyle, textMark } from './scene.ts';

const faces = {
  big: { size: 9, font: 'mono', weight: 700 },
  value: { size: 4.6, font: 'text', weight: 700 },
  label: { size: 2.8, font: 'text', weight: 400 },
  heading: { size: 4.2, font: 'text', weight: 700 },
  frames: { size: 4, font: 'mono', weight: 700 },
  words: { size: 3.3, font: 'text', weight: 400 },
} as const satisfies Record<string, TextStyle>;

const columnGap = 8;
const lineHeight = 4.5;
/** Between what is not one thing, mm. */
const airUnder = 2.2;
/** Edge of a box to tick, mm. */
const boxEdge = 3.8;
const ruleHeight = 8;
/** Room for the frames before a sentence, mm. */
const framesWidth = 24;
const bigHeight = 21;
const smallHeight = 13;

/** A line of a column: how high it is, and what is drawn from its top. */
interface Item {
  readonly height: number;
  /** A heading does not stay behind alone: this much must follow it on the page. */
  readonly needs: number;
  readonly draw: (left: number, top: number, width: number, id: string) => Mark[];
}

/**
 * The shot on a card, not yet numbered: its numbers, what has to be rigged or tied down, when feet stand, the checks before
 * animating with boxes to tick, and room to write. What does not fit goes on on further cards.
 */
export function draftShotCard(plan: Plan, style: PaperStyle): DraftPage[] {
  const { header } = writeSheet(plan);
  const room = pageRoom(style);
  const facts = shotFacts(plan);
  const width = (room.right - room.left - columnGap) / 2;
  const columns = [leftColumn(plan, width, style), rightColumn(plan, width, style)];
  const firstTop = room.top + bigHeight + smallHeight + 7;
  const runs = columns.map((items) => breakColumn(items, room, firstTop));
  const count = Math.max(...runs.map((pages) => pages.length));
  return Array.from({ length: count }, (_, n) => {
    const top = n === 0 ? firstTop : room.top + 3;
    return {
      title: `Shot card, ${header.shot}`,
      summary: `${facts.frames} frames, ${facts.exposures} exposures, ${hoursWords(facts.minutes)}.`,
      marks: [
        ...pageHead(header, n === 0 ? 'Shot card' : 'Shot card, continued', style),
        ...(n === 0 ? drawFacts(facts, plan, room, style) : []),
        ...runs.flatMap((pages, i) => {
          const left = room.left + i * (width + columnGap);
          return drawColumn(pages[n] ?? [], left, top, width, room.bottom, `column-${i}`);
        }),
        pageFoot(
          'Hours: exposures by the minutes each, held ones too; setting up, tests and breaks are not in them.',
          style,
        ),
      ],
    };
  });
}

/** Items that stand on each page. */
function breakColumn(items: readonly Item[], room: PageRoom, firstTop: number): Item[][] {
  const pages: Item[][] = [[]];
  let y = firstTop;
  for (const item of items) {
    if (y + item.height + item.needs > room.bottom && pages.at(-1)!.length > 0) {
      pages.push([]);
      y = room.top + 3;
    }
    pages.at(-1)!.push(item);
    y += item.height;
  }
  return pages;
}

/** The items, and lines to write on in what is left. */
function drawColumn(
  items: readonly Item[],
  left: number,
  top: number,
  width: number,
  bottom: number,
  id: string,
): Mark[] {
  const marks: Mark[] = [];
  let y = top;
  for (const [i, item] of items.entries()) {
    marks.push(...item.draw(left, y, width, `${id}-${i}`));
    y += item.height;
  }
  const rules = new PathPen();
  for (let at = y + ruleHeight; at <= bottom - 1; at += ruleHeight) rules.line(left, at, left + width, at);
  if (rules.toString()) marks.push(pathMark(`${id}-rules`, rules.toString(), { stroke: 'line', strokeWidth: 0.2 }));
  return marks;
}

function leftColumn(plan: Plan, width: number, style: PaperStyle): Item[] {
  const findings = findingsOf(plan);
  const items: Item[] = [heading('Rigs, tie-downs and limits')];
  for (const finding of findings) items.push(findingItem(finding, width, style));
  if (findings.length === 0)
    items.push(
      ...paragraph(
        plan.puppet.feetSeen
          ? 'None found: a whole foot stands throughout.'
          : 'No foot was seen: look yourself where it needs one.',
        width,
        style,
      ),
    );
  const feet = standingFeet(plan.puppet.planted);
  if (feet.length > 0) {
    items.push(heading('Feet that stand, by frame'));
    for (const { words, runs } of feet)
      items.push(...paragraph(`${words}: ${runs.map(runWords).join(', ')}`, width, style));
  }
  items.push(heading('Care'), ...paragraph(setCautions, width, style));
  return items;
}

function rightColumn({ book }: Plan, width: number, style: PaperStyle): Item[] {
  const items: Item[] = [];
  if (book.checks.length > 0) {
    items.push(heading('Before the first exposure'));
    for (const check of book.checks) items.push(checkItem(check, width, style));
  }
  items.push(heading('Notes'));
  if (book.notes.trim() !== '') items.push(...paragraph(book.notes, width, style));
  return items;
}

function heading(text: string): Item {
  return {
    height: 9,
    needs: 2 * lineHeight,
    draw: (left, top, width, id) => [
      textMark(`${id}-heading`, left, top + 6, text, { ...faces.heading, role: 'heading' }),
      pathMark(`${id}-under`, new PathPen().line(left, top + 7.6, left + width, top + 7.6).toString(), {
        stroke: 'ink',
        strokeWidth: 0.3,
      }),
    ],
  };
}

function paragraph(text: string, width: number, style: PaperStyle): Item[] {
  const lines = wrapText(text, width - 1, Number.POSITIVE_INFINITY, faces.words, style.measure);
  return lines.map((line, i) => ({
    height: lineHeight + (i === lines.length - 1 ? airUnder : 0),
    needs: 0,
    draw: (left, top, _, id) => [textMark(id, left, top + 3.6, line, faces.words)],
  }));
}

/** A box to tick and words of at most three lines. */
function checkItem(text: string, width: number, style: PaperStyle): Item {
  const lines = wrapText(text, width - boxEdge - 3.5, 3, faces.words, style.measure);
  return {
    height: Math.max(1, lines.length) * lineHeight + airUnder,
    needs: 0,
    draw: (left, top, _, id) => [tickBox(left, top, id), ...draw(lines, left + boxEdge + 2.5, top, id)],
  };
}

function findingItem(finding: Finding, width: number, style: PaperStyle): Item {
  const inset = boxEdge + 2.5 + framesWidth;
  const lines = wrapText(finding.sentence, width - inset - 1, 4, faces.words, style.measure);
  const frames = runWords(finding);
  return {
    height: Math.max(1, lines.length) * lineHeight + airUnder,
    needs: 0,
    draw: (left, top, _, id) => [
      tickBox(left, top, id),
      textMark(
        `${id}-frames`,
        left + boxEdge + 2.5,
        top + 3.9,
        clipText(frames, framesWidth - 2, faces.frames, style.measure),
        {
          ...faces.frames,
          role: 'frames',
        },
      ),
      ...draw(lines, left + inset, top, id),
    ],
  };
}

function draw(lines: readonly string[], left: number, top: number, id: string): Mark[] {
  return lines.map((line, i) => textMark(`${id}-line-${i}`, left, top + 3.6 + i * lineHeight, line, faces.words));
}

function tickBox(left: number, top: number, id: string): Mark {
  const box = new PathPen().rect(left, top + 0.5, boxEdge, boxEdge).toString();
  return pathMark(`${id}-box`, box, { stroke: 'ink', strokeWidth: 0.35, role: 'tick box' });
}

function drawFacts(facts: ShotFacts, plan: Plan, room: PageRoom, style: PaperStyle): Mark[] {
  const hold = facts.longestHold;
  const rows = [
    {
      height: bigHeight,
      face: faces.big,
      cells: [
        ['frames', String(facts.frames)],
        ['exposures', String(facts.exposures)],
        ['poses to set', String(facts.poses)],
        [`at ${plan.book.minutesPerExposure} min an exposure`, hoursWords(facts.minutes)],
      ],
    },
    {
      height: smallHeight,
      face: faces.value,
      cells: [
        ['exposures by length', lengthWords(facts)],
        ['longest hold', hold ? `${hold.frames} frames, ${runWords(hold)}` : 'one pose'],
        ['biggest move on the sheet', facts.biggestMove ? moveWords(facts.biggestMove) : 'none'],
      ],
    },
  ] as const;
  const marks: Mark[] = [];
  const rules = new PathPen().rect(room.left, room.top + 2, room.right - room.left, bigHeight + smallHeight);
  let top = room.top + 2;
  for (const { height, face, cells } of rows) {
    if (top > room.top + 2) rules.line(room.left, top, room.right, top);
    const width = (room.right - room.left) / cells.length;
    for (const [i, [label, value]] of cells.entries()) {
      const left = room.left + i * width;
      if (i > 0) rules.line(left, top, left, top + height);
      const size = Math.min(face.size, Math.max(2.6, (face.size * (width - 4)) / style.measure(value, face)));
      const text = clipText(value, width - 3.6, { ...face, size }, style.measure);
      const words = clipText(label, width - 3.6, faces.label, style.measure);
      marks.push(
        textMark(`fact-${label}-label`, left + 1.8, top + 4.2, words, { ...faces.label, colour: 'quiet' }),
        textMark(`fact-${label}`, left + 1.8, top + height - (height - 4.2 - size * 0.7) / 2, text, {
          ...face,
          size,
          role: 'fact',
        }),
      );
    }
    top += height;
  }
  return [pathMark('facts-rules', rules.toString(), { stroke: 'ink', strokeWidth: 0.3 }), ...marks];
}

/** "12 ones, 30 twos, 2 of more". */
function lengthWords({ lengths }: ShotFacts): string {
  const names = ['', 'one', 'two', 'three', 'four'];
  const named = lengths
    .filter((l) => names[l.frames])
    .map((l) => `${l.exposures} ${names[l.frames]}${l.exposures === 1 ? '' : 's'}`);
  const more = lengths.filter((l) => !names[l.frames]).reduce((sum, l) => sum + l.exposures, 0);
  return [...named, more > 0 ? `${more} longer` : ''].filter(Boolean).join(', ');
}
