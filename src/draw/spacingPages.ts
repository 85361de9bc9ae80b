import { type Joint, jointWords } from '../base/joints.ts';
import type { Plan } from '../plan/plan.ts';
import { poseOnScreen } from '../plan/poses.ts';
import { writeSheet } from '../plan/sheet.ts';
import { chartWords } from '../timing/idealCharts.ts';
import { movesOf, type SpacingChart, spacingOfMove } from '../timing/spacingChart.ts';
import { clipText } from './fitText.ts';
import { type DraftPage, type PaperStyle, pageFoot, pageHead, pageRoom } from './paper.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, pathMark, type TextStyle, textMark } from './scene.ts';

const rowHeight = 23;
/** Words on the left of a ruler, mm. */
const wordsWidth = 52;
const faces = {
  part: { size: 4, font: 'text', weight: 700 },
  words: { size: 2.8, font: 'text', weight: 400 },
  number: { size: 3, font: 'mono', weight: 400 },
  end: { size: 4.4, font: 'mono', weight: 700 },
} as const satisfies Record<string, TextStyle>;

interface Row {
  readonly joint: Joint;
  readonly chart: SpacingChart;
}

/**
 * The spacing of the sheet's parts on paper, not yet numbered, a ruler for each part and move from key to key: a numbered tick for each
 * exposure as far along as it is on its path, and under it the chart that comes nearest. Moves without a spacing are left out.
 */
export function draftSpacingPages(plan: Plan, style: PaperStyle): DraftPage[] {
  const { header, joints } = writeSheet(plan);
  const rows = movesOf(plan.timing).flatMap((move) =>
    joints.flatMap((joint): Row[] => {
      const chart = spacingOfMove(plan.timing, joint, move);
      return typeof chart === 'string' ? [] : [{ joint, chart }];
    }),
  );
  const room = pageRoom(style);
  const perPage = Math.floor((room.bottom - room.top) / rowHeight);
  const pages: DraftPage[] = [];
  for (let first = 0; first < rows.length; first += perPage) {
    const shown = rows.slice(first, first + perPage);
    pages.push({
      title: `Spacing, ${header.shot}`,
      summary: `${shown.length} charts: ${shown.map(({ joint, chart }) => `${jointWords(joint)} from frame ${chart.frames.firstFrame + 1}`).join(', ')}.`,
      marks: [
        ...pageHead(header, 'Spacing charts', style),
        ...shown.flatMap((row, i) => drawRow(row, room.top + i * rowHeight, `chart-${first + i}`, plan, style)),
        pageFoot(
          'The line is the way from pose to pose; a tick for each exposure, with its frame. Below it what comes nearest: a chart that animators draw, or the smoothest reach.',
          style,
        ),
      ],
    });
  }
  return pages;
}

function drawRow({ joint, chart }: Row, top: number, id: string, plan: Plan, style: PaperStyle): Mark[] {
  const room = pageRoom(style);
  const [from, to] = [chart.frames.firstFrame, chart.frames.lastFrame].map((k) => poseOnScreen(plan.poses, k)?.number);
  const say = (text: string) => clipText(text, wordsWidth - 3, faces.words, style.measure);
  const lines = [
    say(
      `pose ${from ?? '?'} to pose ${to ?? '?'}, frames ${chart.frames.firstFrame + 1}–${chart.frames.lastFrame + 1}`,
    ),
    say(
      `${chart.lengthMm.toFixed(0)} mm in ${chart.ticks.length - 1} steps${chart.guessed ? ', a guess in part' : ''}`,
    ),
  ];
  const [left, right] = [room.left + wordsWidth, room.right - 6];
  const x = (fraction: number) => left + fraction * (right - left);
  const y = top + 10.5;
  const [ruler, ends] = [new PathPen().line(left, y, right, y), new PathPen()];
  const numbers: Mark[] = [];
  const taken: [number, number][] = [];
  const last = chart.ticks.length - 1;
  const order = [0, last, ...chart.ticks.keys()].filter((i, k, all) => all.indexOf(i) === k);
  for (const i of order) {
    const tick = chart.ticks[i]!;
    const isEnd = i === 0 || i === last;
    const at = x(tick.fraction);
    (isEnd ? ends : ruler).line(at, y - (isEnd ? 4 : 2.6), at, y + (isEnd ? 4 : 2.6));
    const face = isEnd ? faces.end : faces.number;
    const text = String(tick.frame + 1);
    const half = style.measure(text, face) / 2 + 0.5;
    if (taken.some(([a, b]) => at + half > a && at - half < b)) continue;
    taken.push([at - half, at + half]);
    numbers.push(
      textMark(`${id}-frame-${tick.frame}`, at, y - 5, text, {
        ...face,
        anchor: 'middle',
        role: 'tick',
        label: `frame ${tick.frame + 1}: ${Math.round(tick.fraction * 100)} % of the way`,
      }),
    );
  }
  const nearest = chart.against[0];
  const marks: Mark[] = [
    textMark(
      `${id}-part`,
      room.left + 1.8,
      top + 7,
      clipText(jointWords(joint), wordsWidth - 3, faces.part, style.measure),
      faces.part,
    ),
    ...lines.map((line, i) => textMark(`${id}-words-${i}`, room.left + 1.8, top + 11.6 + i * 3.8, line, faces.words)),
    pathMark(`${id}-ruler`, ruler.toString(), { stroke: 'ink', strokeWidth: 0.35, role: 'tick' }),
    pathMark(`${id}-ends`, ends.toString(), { stroke: 'ink', strokeWidth: 0.7, role: 'tick' }),
    ...numbers,
  ];
  if (nearest) {
    const below = y + 6.6;
    const pen = new PathPen().line(left, below, right, below);
    for (const fraction of nearest.fractions) pen.line(x(fraction), below - 1.2, x(fraction), below + 1.2);
    const words = `${chartWords[nearest.chart]}, ${(nearest.distance * 100).toFixed(1)} % of the way off`;
    marks.push(
      pathMark(`${id}-nearest`, pen.toString(), { stroke: 'faint', strokeWidth: 0.2, role: 'chart' }),
      textMark(`${id}-nearest-words`, left, below + 4, clipText(words, right - left, faces.words, style.measure), {
        ...faces.words,
        colour: 'quiet',
      }),
    );
  }
  const rule = new PathPen().line(room.left, top + rowHeight, room.right, top + rowHeight).toString();
  return [...marks, pathMark(`${id}-rule`, rule, { stroke: 'line', strokeWidth: 0.2 })];
}
