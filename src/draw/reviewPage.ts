import { astraySentence } from '../compare/astray.ts';
import { leftOutSentence } from '../compare/build.ts';
import { mistakenSentence } from '../compare/mistaken.ts';
import { unsureSentence } from '../compare/recognised.ts';
import { isOfCamera, notesOf, type Review, seenExposures } from '../compare/review.ts';
import type { Plan } from '../plan/plan.ts';
import { writeSheet } from '../plan/sheet.ts';
import { clipText, wrapText } from './fitText.ts';
import { measureBundled } from './measure.ts';
import { numberPages, type PageRoom, type PaperStyle, pageFoot, pageHead, pageRoom } from './paper.ts';
import { PathPen } from './pathPen.ts';
import { layOutKeyTable } from './reviewKeys.ts';
import { drawNotes, measureNotes } from './reviewNotes.ts';
import { drawReviewStrip, reviewStripHeight } from './reviewStrip.ts';
import { type Mark, pathMark, type Scene, type TextStyle, textMark } from './scene.ts';

const words: TextStyle = { size: 3.1, font: 'text', weight: 400 };
const bold: TextStyle = { size: 3.1, font: 'text', weight: 700 };

/** Millimetres. */
const lineHeight = 4.3;
const gap = 3;
const ruleHeight = 8;
/** No page has room for more notes than this. */
const mostNotes = 8;
/** What the camera did is told in so many lines at most. */
const mostCameraLines = 2;
/** ... and what lies elsewhere in all of the shot. */
const mostLeftOutLines = 2;

/**
 * The shot held against its plan on one page: what was looked at and how, the shot along its frames, when its keys were met, what the
 * camera did, and what to look at again, worst first, each with pictures, a box to tick and lines to write on. What does not fit is counted.
 */
export function layOutReview(plan: Plan, review: Review, paper: Omit<PaperStyle, 'measure'>): Scene {
  const style: PaperStyle = { ...paper, measure: measureBundled };
  const { measure } = style;
  const { header, framesPerSecond } = writeSheet(plan);
  const room = pageRoom(style);
  const width = room.right - room.left - 3.6;
  const notes = notesOf(review);
  const marks: Mark[] = [...pageHead(header, 'Review of the shot', style)];
  let y = room.top + 4.4;
  const line = (text: string, id: string, face = words) => {
    marks.push(textMark(id, room.left + 1.8, y, text, { ...face, role: id }));
    y += lineHeight;
  };
  line(lookedAt(review, width, style), 'looked-at', bold);
  line(clipText(laidOver(review), width, words, measure), 'laid-over');
  for (const [i, text] of leftOutLines(review, width, style).entries()) line(text, `not-counted-${i}`);
  for (const [i, text] of cameraLines(review, width, style).entries()) line(text, `camera-${i}`);
  y += gap - 3;

  const stripTop = y;
  const strip = {
    review,
    keys: plan.timing.keys,
    frameCount: plan.timing.grid.frameCount,
    framesPerSecond,
    shown: mostNotes,
  };
  y += reviewStripHeight(strip, room, style) + gap;
  const keys = layOutKeyTable(review, room, style);
  marks.push(...keys.draw(y));
  y += keys.height + (keys.height > 0 ? gap : 0);

  // All fit, or a line below says how many do not.
  const notesRoom = (bottom: number): PageRoom => ({ ...room, top: y, bottom });
  let rows = measureNotes(notes.length, notesRoom(room.bottom));
  if (rows.shown < notes.length) rows = measureNotes(notes.length, notesRoom(room.bottom - lineHeight - 1));
  marks.push(
    ...drawReviewStrip({ ...strip, shown: rows.shown }, { ...room, top: stripTop }, style),
    pathMark('notes-top', new PathPen().line(room.left, y, room.right, y).toString(), {
      stroke: 'ink',
      strokeWidth: 0.3,
    }),
    ...drawNotes(review, plan.puppet.profile, notes, rows, notesRoom(room.bottom), style),
  );
  y += rows.height;
  const left = notes.length - rows.shown;
  if (notes.length === 0) {
    y += 7;
    const what = review.comparison.findings.length > 0 ? 'The puppet differs nowhere' : 'Nothing differs';
    line(`${what} from the plan, as far as it could be measured.`, 'nothing', { ...bold, size: 4.2 });
  } else if (left > 0) {
    y += lineHeight;
    line(`and ${left} smaller ${left === 1 ? 'one' : 'ones'}: in the CSV`, 'left-out', bold);
  }
  marks.push(...linesToWriteOn(y, room));
  marks.push(
    pageFoot(
      'Left: the shot. Right: the plan. Unbroken and filled: as shot; broken and hollow: as planned. Keys: + late, − early.',
      style,
    ),
  );
  const title = `Review, ${header.shot}`;
  const summary = `${notes.length} notes, the worst ${rows.shown} with pictures.`;
  return numberPages([{ title, summary, marks }], style)[0]!;
}

function linesToWriteOn(top: number, room: PageRoom): Mark[] {
  const rules = new PathPen();
  for (let y = top + ruleHeight; y <= room.bottom - 1; y += ruleHeight) rules.line(room.left, y, room.right, y);
  return rules.toString() ? [pathMark('lines', rules.toString(), { stroke: 'line', strokeWidth: 0.2 })] : [];
}

/** "“Keeper 04, animated” · 12 to 14 March 2026 · 36 of 84 exposures looked at, frames 1 to 72". */
function lookedAt(review: Review, width: number, { measure }: PaperStyle): string {
  const { planned, pictures, shotName, days } = review;
  const { exposures } = review.comparison;
  const last = exposures.at(-1)!;
  const frames = `frames ${exposures[0]!.firstFrame + 1} to ${last.firstFrame + last.frames}`;
  const seen = seenExposures(review);
  const of = pictures === 'poses' ? `${seen} key poses` : `${seen} of ${planned.exposures.length} exposures`;
  const rest = `${days ? ` · ${dayWords(days)}` : ''} · ${of} looked at, ${frames}`;
  // A long name is cut before the numbers are.
  return `“${clipText(shotName, width - measure(`“”${rest}`, bold), bold, measure)}”${rest}`;
}

const caution = 'What is too small to be sure of is left out.';

function laidOver({ comparison }: Review): string {
  const { kind, mmPerPx, toMm } = comparison.registration;
  const mirrored = toMm[0]?.isMirrored ? ', seen mirrored' : '';
  const scale = `${mmPerPx.toFixed(3)} mm to a pixel${mirrored}`;
  if (kind === 'none') return `Held against the plan pose by pose, upright on its hips: ${scale}. ${caution}`;
  return `Laid over the plan by ${kind === 'ruler' ? 'its joints and a ruler in the picture' : 'its joints'}: ${scale}. ${caution}`;
}

/** Which joints lie elsewhere in all of the shot, are hardly recognised, or were lost by their points: whoever reads only the notes would miss them. */
function leftOutLines({ comparison }: Review, width: number, { measure }: PaperStyle): string[] {
  const { leftOut, unsure, astray, mistaken, exposures } = comparison;
  const sentences = [
    leftOutSentence(leftOut, unsure),
    unsureSentence(unsure),
    astraySentence(astray, exposures),
    mistakenSentence(mistaken, exposures),
  ];
  return sentences.flatMap((sentence) => wrapText(sentence, width, mostLeftOutLines, words, measure));
}

function cameraLines(review: Review, width: number, { measure }: PaperStyle): string[] {
  if (!review.isCameraMeasured) return ['Camera and light were not measured.'];
  const events = review.comparison.findings.filter(isOfCamera);
  if (events.length === 0) return ['Camera and light: still, as far as it could be measured.'];
  const inOrder = [...events].sort((a, b) => a.atFrame - b.atFrame).map((f) => f.sentence);
  // As many as fit whole; the rest is counted.
  for (let n = inOrder.length; n > 0; n--) {
    const more = inOrder.length - n;
    const text = `${inOrder.slice(0, n).join(' ')}${more > 0 ? ` And ${more} more: in the CSV.` : ''}`;
    const lines = wrapText(text, width, mostCameraLines + 1, words, measure);
    if (lines.length <= mostCameraLines) return lines;
  }
  return wrapText(inOrder[0]!, width, mostCameraLines, words, measure);
}

const months = [
  ...['January', 'February', 'March', 'April', 'May', 'June'],
  ...['July', 'August', 'September', 'October', 'November', 'December'],
];

/** "12 March 2026", "12 to 14 March 2026", "28 February to 1 March 2026". */
function dayWords([first, last]: readonly [string, string]): string {
  const [a, b] = [first, last].map((day) => {
    const [year, month, date] = day.split('-').map(Number);
    return { year: String(year), month: months[(month ?? 1) - 1]!, date: String(date) };
  }) as [DayWords, DayWords];
  const whole = `${b.date} ${b.month} ${b.year}`;
  if (first === last) return whole;
  if (a.year !== b.year) return `${a.date} ${a.month} ${a.year} to ${whole}`;
  return `${a.date}${a.month === b.month ? '' : ` ${a.month}`} to ${whole}`;
}

interface DayWords {
  readonly year: string;
  readonly month: string;
  readonly date: string;
}
