import type { Plan } from '../plan/plan.ts';
import { listPopThrough, type PopThroughPose } from '../plan/popThrough.ts';
import { writeSheet } from '../plan/sheet.ts';
import { supportPhrase } from '../plan/support.ts';
import { clipText, wrapText } from './fitText.ts';
import { type DraftPage, type PageRoom, type PaperStyle, pageFoot, pageHead, pageRoom } from './paper.ts';
import { PathPen } from './pathPen.ts';
import { drawPoseFigure, measureFigures, type PoseFigures, scaleThatFits } from './poseFigures.ts';
import { type Mark, pathMark, type TextStyle, textMark } from './scene.ts';

/** A pose gets at least this height, so that its picture is large enough to pose a puppet by: nine to an upright page. */
const leastRow = 26;
/** A row with few poses on the page is not stretched beyond this, millimetres. */
const tallestRow = 38;
/** Between what stands side by side, millimetres. */
const gap = 3.5;
/** Above and below what stands in a row, millimetres. */
const air = 1.8;
/** For the number in its ring, millimetres. */
const numberWidth = 17;
/** A picture is no wider than this, millimetres, whatever its shape. */
const widestPicture = 62;
/** Words get at least this width, and lines to write on theirs, millimetres. */
const leastWords = 52;
const leastLines = 20;
/** Wider, words are no easier to read, millimetres. */
const mostWords = 84;

const faces = {
  number: { size: 6.2, font: 'mono', weight: 700 },
  frames: { size: 6.6, font: 'mono', weight: 700 },
  unit: { size: 3.1, font: 'text', weight: 400 },
  name: { size: 4.2, font: 'text', weight: 700 },
  words: { size: 3.2, font: 'text', weight: 400 },
} as const satisfies Record<string, TextStyle>;

/** Where things stand in every row of a list, millimetres. */
interface Rows {
  readonly height: number;
  readonly left: number;
  readonly pictureLeft: number;
  readonly pictureWidth: number;
  readonly figures: PoseFigures;
  /** Millimetres on paper for one of the puppet; 0 = no figure can be drawn. */
  readonly figureScale: number;
  readonly figureLeft: number;
  readonly figureWidth: number;
  readonly wordsLeft: number;
  readonly wordsWidth: number;
  readonly linesLeft: number;
  readonly right: number;
}

/**
 * The list for the rough pose pass on paper, not yet numbered: per pose its number, its picture and the puppet in it, both as high as
 * the row, from which frame to which, how long, why it is a pose, and lines to write on. Up to nine to an upright page,
 * six to a lying one, spread evenly over the pages.
 */
export function draftPopThroughPages(plan: Plan, style: PaperStyle): DraftPage[] {
  const poses = listPopThrough(plan);
  const { header } = writeSheet(plan);
  const room = pageRoom(style);
  const pageCount = Math.ceil(poses.length / Math.floor((room.bottom - room.top) / leastRow));
  const posesPerPage = Math.ceil(poses.length / pageCount);
  const rows = measureRows(plan, poses, room, Math.min(tallestRow, (room.bottom - room.top) / posesPerPage));
  const pages: DraftPage[] = [];
  for (let first = 0; first < poses.length; first += posesPerPage) {
    const shown = poses.slice(first, first + posesPerPage);
    pages.push({
      title: `Pop-through, ${header.shot}`,
      summary: `Poses ${first + 1} to ${first + shown.length} of ${poses.length}, each with its picture and its frames.`,
      marks: [
        ...pageHead(header, 'Pop-through', style),
        ...shown.flatMap((pose, i) => drawPose(pose, first + i, room.top + i * rows.height, rows, style)),
        pageFoot(
          'Each pose is held for its frames; together they are the whole shot. Ringed: the number of the pose on the exposure sheet.',
          style,
        ),
      ],
    });
  }
  return pages;
}

/** Picture and figure are as high as the row, unless that left too little width for words. */
function measureRows(plan: Plan, poses: readonly PopThroughPose[], room: PageRoom, rowHeight: number): Rows {
  const inner = rowHeight - 2 * air;
  const { widthPx, heightPx } = plan.footage;
  const pictureLeft = room.left + numberWidth;
  // A wide take fills the slot's width, an upright one its height.
  const pictureWidth = Math.min(widestPicture, (inner * widthPx) / heightPx);
  const figures = measureFigures(
    plan.puppet,
    poses.map((pose) => pose.poseFrame),
  );
  const figureLeft = pictureLeft + pictureWidth + gap;
  const figureScale = scaleThatFits(figures, room.right - leastLines - leastWords - 2 * gap - figureLeft, inner);
  const figureWidth = figureScale * figures.widestMm;
  const wordsLeft = figureLeft + (figureWidth > 0 ? figureWidth + gap : 0);
  const wordsWidth = Math.min(mostWords, Math.max(leastWords, 0.55 * (room.right - wordsLeft - gap)));
  return {
    height: rowHeight,
    left: room.left,
    pictureLeft,
    pictureWidth,
    figures,
    figureScale,
    figureLeft,
    figureWidth,
    wordsLeft,
    wordsWidth,
    linesLeft: wordsLeft + wordsWidth + gap,
    right: room.right,
  };
}

function drawPose(pose: PopThroughPose, place: number, top: number, rows: Rows, style: PaperStyle): Mark[] {
  const id = `pose-${place}`;
  const { height, left, right, pictureLeft, pictureWidth, figureLeft, figureWidth, wordsLeft, wordsWidth } = rows;
  const bottom = top + height - air;
  const inner = bottom - top - air;
  const numberX = left + 8;
  // The sheet's own number, so that a pose has one name on all paper.
  const number = String(pose.poseNumber);
  const name = pose.name || pose.why || 'first pose';
  const marks: Mark[] = [
    pathMark(`${id}-rule`, new PathPen().line(left, top + height, right, top + height).toString(), {
      stroke: 'faint',
      strokeWidth: 0.2,
    }),
    pathMark(
      `${id}-ring`,
      new PathPen().pill(numberX, top + 9, Math.max(0, style.measure(number, faces.number) - 7.2), 5).toString(),
      {
        stroke: 'ink',
        strokeWidth: 0.5,
      },
    ),
    textMark(`${id}-number`, numberX, top + 11.1, number, { ...faces.number, anchor: 'middle', role: 'pose' }),
    pathMark(`${id}-slot`, new PathPen().rect(pictureLeft, top + air, pictureWidth, inner).toString(), {
      stroke: 'line',
      strokeWidth: 0.2,
    }),
    {
      kind: 'picture',
      id: `${id}-picture`,
      role: 'picture',
      label: `pose ${number}: ${name}`,
      x: pictureLeft,
      y: top + air,
      width: pictureWidth,
      height: inner,
      takeSec: pose.takeSec,
    },
  ];
  marks.push(
    ...drawPoseFigure(
      rows.figures,
      pose.poseFrame,
      rows.figureScale,
      { left: figureLeft, right: figureLeft + figureWidth, top: top + air, bottom },
      `${id}-figure`,
    ),
  );
  const span = `${pose.firstFrame + 1}–${pose.lastFrame + 1}`;
  const spanWidth = style.measure(span, faces.frames);
  marks.push(
    textMark(`${id}-span`, wordsLeft, top + 8.2, span, { ...faces.frames, role: 'frames' }),
    textMark(`${id}-length`, wordsLeft + Math.max(26, spanWidth + 3), top + 8.2, `${pose.frames} fr`, {
      ...faces.name,
      role: 'length',
    }),
  );
  let y = top + 13.8;
  const line = (text: string, face: TextStyle, part: string) => {
    if (text === '' || y > bottom) return;
    marks.push(
      textMark(`${id}-${part}`, wordsLeft, y, clipText(text, wordsWidth, face, style.measure), { ...face, role: part }),
    );
    y += face.size * 1.3;
  };
  for (const [i, text] of wrapText(name, wordsWidth, 2, faces.name, style.measure).entries())
    line(text, faces.name, `name-${i}`);
  const rest = [supportPhrase(pose.support), pose.name ? pose.why : '', pose.note].filter(Boolean).join(' · ');
  const roomLeft = Math.max(0, Math.floor((bottom - y) / (faces.words.size * 1.3)) + 1);
  for (const [i, text] of wrapText(rest, wordsWidth, roomLeft, faces.words, style.measure).entries())
    line(text, faces.words, `why-${i}`);
  // Lines to write on by hand.
  const ruled = new PathPen();
  for (let ruleY = top + 9.5; ruleY <= bottom; ruleY += 7.2) ruled.line(rows.linesLeft, ruleY, right, ruleY);
  marks.push(pathMark(`${id}-lines`, ruled.toString(), { stroke: 'line', strokeWidth: 0.18 }));
  return marks;
}
