import { jointWords } from '../base/joints.ts';
import type { Plan } from '../plan/plan.ts';
import { type SetSpacing, setSpacings } from '../plan/setSpacing.ts';
import { writeSheet } from '../plan/sheet.ts';
import { chartWords } from '../timing/idealCharts.ts';
import { checkBarRoom, drawCheckBar } from './checkBar.ts';
import { clipText } from './fitText.ts';
import { type DraftPage, type PageRoom, type PaperStyle, pageFoot, pageHead, pageRoom } from './paper.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, type Measure, pathMark, type TextStyle, textMark } from './scene.ts';

/** From the top of a chart, mm: its words, the ruler, the chart that comes nearest, the first line of steps. */
const lines = { words: 5, ruler: 14.4, nearest: 19.6, steps: 28.2 } as const;
/** A line of steps: frames over millimetres. */
const stepLine = 8;
const underSteps = 3.4;
/** "mm" before the steps. */
const stepLabel = 12;
/** What a ruler at its longest leaves to either side, for the numbers of its ends. */
const endRoom = 5;

const faces = {
  part: { size: 4, font: 'text', weight: 700 },
  words: { size: 2.8, font: 'text', weight: 400 },
  scaled: { size: 3.2, font: 'text', weight: 700 },
  number: { size: 3, font: 'mono', weight: 400 },
  end: { size: 3.8, font: 'mono', weight: 700 },
  frame: { size: 2.5, font: 'mono', weight: 400 },
  step: { size: 3, font: 'mono', weight: 700 },
} as const satisfies Record<string, TextStyle>;

/** How many millimetres of the set one printed millimetre may be: round numbers that are reckoned in the head. */
const scales = [1, 2, 3, 4, 5, 10, 20, 50, 100, 200, 500, 1000] as const;

/** A chart with its place on a page. */
interface Placed {
  readonly spacing: SetSpacing;
  readonly top: number;
  readonly height: number;
  readonly id: string;
}

/**
 * The spacing of the sheet's parts on paper, not yet numbered, a ruler for each part and move from key to key, in the puppet's
 * millimetres: a numbered tick for each exposure as far along as the puppet's joint is on its way, the steps in numbers, and the chart
 * that comes nearest. Rulers are at true size where they fit the page. Moves without a spacing are left out.
 */
export function draftSpacingPages(plan: Plan, style: PaperStyle): DraftPage[] {
  const { header } = writeSheet(plan);
  const page = pageRoom(style);
  const room = { ...page, bottom: page.bottom - checkBarRoom };
  return fillPages(setSpacings(plan), room, style.measure).map((charts) => ({
    title: `Spacing, ${header.shot}`,
    summary: `${charts.length} charts: ${charts
      .map(({ spacing: { part, chart } }) => `${jointWords(part)} from frame ${chart.frames.firstFrame + 1}`)
      .join(', ')}.`,
    marks: [
      ...pageHead(header, 'Spacing on the set', style),
      ...charts.flatMap((chart) => drawChart(chart, room, style.measure)),
      ...drawCheckBar('The way on the set, laid straight; what goes toward or away from the lens is not in it.', style),
      pageFoot(
        'A tick for each exposure, with its frame; below it what comes nearest: a chart that animators draw, or the smoothest reach. ?: a guess.',
        style,
      ),
    ],
  }));
}

/** Charts under one another, each with as many lines of steps as it needs. */
function fillPages(spacings: readonly SetSpacing[], room: PageRoom, measure: Measure): Placed[][] {
  const pages: Placed[][] = [];
  let top = Number.POSITIVE_INFINITY;
  for (const [i, spacing] of spacings.entries()) {
    const { perLine } = stepColumns(spacing, room, measure);
    const wanted = Math.ceil(spacing.steps.length / perLine);
    const height = lines.steps + Math.min(wanted, mostLines(room)) * stepLine - stepLine + underSteps + 3.6;
    if (top + height > room.bottom + 1e-9) {
      pages.push([]);
      top = room.top;
    }
    pages.at(-1)!.push({ spacing, top, height, id: `chart-${i}` });
    top += height;
  }
  return pages;
}

/** Lines of steps that a page of one chart has room for. */
function mostLines(room: PageRoom): number {
  return Math.floor((room.bottom - room.top - lines.steps - underSteps - 3.6) / stepLine) + 1;
}

/** The columns of the steps' numbers: as wide as the longest needs. */
function stepColumns({ steps }: SetSpacing, room: PageRoom, measure: Measure): { width: number; perLine: number } {
  const widest = Math.max(...steps.map((step) => measure(stepWords(step), faces.step)));
  const width = Math.max(9, widest + 2);
  return { width, perLine: Math.max(1, Math.floor((room.right - room.left - stepLabel) / width)) };
}

function stepWords({ amount, isDoubtful }: SetSpacing['steps'][number]): string {
  return `${isDoubtful ? '?' : ''}${amount.toFixed(1)}`;
}

/** How many of its own unit one millimetre of the ruler is. Pixels have no size on paper: they go by the same scales. */
function scaleOf(spacing: SetSpacing, room: PageRoom): number {
  const length = lengthOf(spacing);
  const most = room.right - room.left - 2 * endRoom;
  return scales.find((scale) => length / scale <= most) ?? Math.ceil(length / most);
}

/** How long the way is in its own unit, not rounded. */
function lengthOf({ chart, unit }: SetSpacing): number {
  return unit === 'mm' ? chart.lengthMm : chart.length;
}

function scaleWords(unit: SetSpacing['unit'], scale: number): string {
  if (unit === 'px') return `1 mm here is ${scale} px of the picture`;
  return scale === 1 ? 'true size' : `scaled: 1 mm here is ${scale} mm on the set`;
}

function drawChart({ spacing, top, height, id }: Placed, room: PageRoom, measure: Measure): Mark[] {
  const length = lengthOf(spacing);
  const scale = scaleOf(spacing, room);
  const left = room.left + endRoom;
  const x = (fraction: number) => left + (fraction * length) / scale;
  const rule = new PathPen().line(room.left, top + height, room.right, top + height).toString();
  return [
    ...drawWords(spacing, scale, top + lines.words, id, room, measure),
    ...drawRuler(spacing, x, top + lines.ruler, id, measure),
    ...drawNearest(spacing, x, top + lines.nearest, id, room, measure),
    ...drawSteps(spacing, top + lines.steps, id, room, measure),
    pathMark(`${id}-rule`, rule, { stroke: 'line', strokeWidth: 0.2 }),
  ];
}

function drawWords(
  { part, unit, from, to, chart, steps, length }: SetSpacing,
  scale: number,
  y: number,
  id: string,
  room: PageRoom,
  measure: Measure,
): Mark[] {
  const name = clipText(jointWords(part), 50, faces.part, measure);
  const size = scaleWords(unit, scale);
  const face = size === 'true size' ? faces.words : faces.scaled;
  const sizeWidth = measure(size, face);
  const x = room.left + 1.8 + measure(name, faces.part) + 4;
  const words = [
    `pose ${from?.number ?? '?'} to pose ${to?.number ?? '?'}, frames ${chart.frames.firstFrame + 1}–${chart.frames.lastFrame + 1}:`,
    `${length.toFixed(1)} ${unit} in ${steps.length} steps${chart.guessed ? ', a guess in part' : ''}`,
  ].join(' ');
  return [
    textMark(`${id}-part`, room.left + 1.8, y, name, faces.part),
    textMark(
      `${id}-words`,
      x,
      y,
      clipText(words, room.right - 2 - sizeWidth - 4 - x, faces.words, measure),
      faces.words,
    ),
    textMark(`${id}-size`, room.right - 1.8, y, size, { ...face, anchor: 'end', role: 'scale' }),
  ];
}

function drawRuler(
  { chart }: SetSpacing,
  x: (fraction: number) => number,
  y: number,
  id: string,
  measure: Measure,
): Mark[] {
  const [ruler, ends] = [new PathPen().line(x(0), y, x(1), y), new PathPen()];
  const numbers: Mark[] = [];
  const taken: [number, number][] = [];
  const last = chart.ticks.length - 1;
  const order = [0, last, ...chart.ticks.keys()].filter((i, k, all) => all.indexOf(i) === k);
  for (const i of order) {
    const tick = chart.ticks[i]!;
    const isEnd = i === 0 || i === last;
    const at = x(tick.fraction);
    (isEnd ? ends : ruler).line(at, y - (isEnd ? 3.4 : 2.4), at, y + (isEnd ? 3.4 : 2.4));
    const face = isEnd ? faces.end : faces.number;
    const text = String(tick.frame + 1);
    const half = measure(text, face) / 2 + 0.5;
    if (taken.some(([a, b]) => at + half > a && at - half < b)) continue;
    taken.push([at - half, at + half]);
    numbers.push(
      textMark(`${id}-frame-${tick.frame}`, at, y - 4.2, text, {
        ...face,
        anchor: 'middle',
        role: 'tick',
        label: `frame ${tick.frame + 1}: ${Math.round(tick.fraction * 100)} % of the way`,
      }),
    );
  }
  return [
    pathMark(`${id}-ruler`, ruler.toString(), { stroke: 'ink', strokeWidth: 0.35, role: 'ruler' }),
    pathMark(`${id}-ends`, ends.toString(), { stroke: 'ink', strokeWidth: 0.7, role: 'ruler' }),
    ...numbers,
  ];
}

/** The chart that the spacing comes nearest to, at the ruler's own size, and by how much it is off. */
function drawNearest(
  spacing: SetSpacing,
  x: (fraction: number) => number,
  y: number,
  id: string,
  room: PageRoom,
  measure: Measure,
): Mark[] {
  const { chart, unit } = spacing;
  const nearest = chart.against[0];
  if (!nearest) return [];
  const pen = new PathPen().line(x(0), y, x(1), y);
  for (const fraction of nearest.fractions) pen.line(x(fraction), y - 1.2, x(fraction), y + 1.2);
  const words = `${chartWords[nearest.chart]}, ${(nearest.distance * 100).toFixed(1)} % of the way off, ${(nearest.distance * lengthOf(spacing)).toFixed(1)} ${unit}`;
  return [
    pathMark(`${id}-nearest`, pen.toString(), { stroke: 'faint', strokeWidth: 0.2, role: 'chart' }),
    textMark(`${id}-nearest-words`, x(0), y + 4.2, clipText(words, room.right - x(0), faces.words, measure), {
      ...faces.words,
      colour: 'quiet',
    }),
  ];
}

/** Every step in numbers, under the frame that it leads to: a gauge is set by them. */
function drawSteps(spacing: SetSpacing, top: number, id: string, room: PageRoom, measure: Measure): Mark[] {
  const { width, perLine } = stepColumns(spacing, room, measure);
  const { steps, unit } = spacing;
  const most = perLine * mostLines(room);
  // What a whole page does not hold stands in the tables of moves as well.
  const shown = steps.length > most ? steps.slice(0, most - 1) : steps;
  const marks: Mark[] = [];
  for (let line = 0; line * perLine < shown.length; line++) {
    const y = top + line * stepLine;
    marks.push(
      textMark(`${id}-step-frame-${line}`, room.left + 1.8, y, 'to frame', {
        ...faces.frame,
        font: 'text',
        colour: 'quiet',
      }),
      textMark(`${id}-step-mm-${line}`, room.left + 1.8, y + underSteps, unit, { ...faces.frame, font: 'text' }),
    );
  }
  const place = (i: number) => ({
    x: room.left + stepLabel + ((i % perLine) + 1) * width - 1,
    y: top + Math.floor(i / perLine) * stepLine,
  });
  for (const [i, step] of shown.entries()) {
    const { x, y } = place(i);
    marks.push(
      textMark(`${id}-to-${step.frame}`, x, y, String(step.frame + 1), {
        ...faces.frame,
        anchor: 'end',
        colour: 'quiet',
      }),
      textMark(`${id}-step-${step.frame}`, x, y + underSteps, stepWords(step), {
        ...faces.step,
        anchor: 'end',
        role: 'step',
      }),
    );
  }
  if (shown.length < steps.length) {
    const { x, y } = place(shown.length);
    marks.push(textMark(`${id}-step-more`, x, y + underSteps, '…', { ...faces.step, anchor: 'end' }));
  }
  return marks;
}
