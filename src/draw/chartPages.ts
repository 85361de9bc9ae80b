import { isProp, jointWords, type Part } from '../base/joints.ts';
import type { Plan } from '../plan/plan.ts';
import type { Pose } from '../plan/poses.ts';
import { writeSheet } from '../plan/sheet.ts';
import { chartWords } from '../timing/idealCharts.ts';
import {
  exposureIndex,
  type MoveFrames,
  movesOf,
  type NoChart,
  type SpacingChart,
  spacingOfMove,
} from '../timing/spacingChart.ts';
import type { Key, Timing } from '../timing/timing.ts';
import { clipText } from './fitText.ts';
import { type DraftPage, numberPages, type PaperStyle, pageFoot, pageHead, pageRoom } from './paper.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, pathMark, type Scene, type TextStyle, textMark } from './scene.ts';

/** Widths of the part's name at the left and of what is said of its spacing at the right, mm. */
const nameWidth = 32;
const factsWidth = 39;
const headingHeight = 7;
const rowHeight = 12.5;
const gap = 3.5;
/** Half the height of a tick: in between, of a breakdown, at both ends. */
const reach = { inBetween: 1.5, breakdown: 2.1, end: 2.6 } as const;
const heading: TextStyle = { size: 3.3, font: 'text', weight: 700 };
const name: TextStyle = { size: 3, font: 'text', weight: 700 };
const words: TextStyle = { size: 2.3, font: 'text', weight: 400 };
const digits: TextStyle = { size: 2.6, font: 'mono', weight: 400 };
const strong: TextStyle = { size: 2.9, font: 'mono', weight: 700 };
const frames: TextStyle = { size: 2.1, font: 'mono', weight: 400 };

/** Why parts have no chart, in the fewest words before their names. */
const whyNone: Readonly<Record<NoChart, string>> = {
  'not known': 'not known here',
  'hardly moves': 'hardly moving',
  'too few poses': 'one step only',
};

/** One move with the charts of its parts. */
interface Block {
  readonly move: MoveFrames;
  readonly charts: readonly SpacingChart[];
  /** Parts without a chart, and why. */
  readonly left: readonly (readonly [part: Part, why: NoChart])[];
}

/** The blocks that were worked out last for a timing: words typed on the sheet lay out all pages again, and change none of them. */
const lastBlocks = new WeakMap<Timing, { readonly parts: readonly Part[]; readonly blocks: readonly Block[] }>();

/** The moves in which one of the parts has a spacing, in order of time. */
function blocksOf(timing: Timing, parts: readonly Part[]): readonly Block[] {
  const last = lastBlocks.get(timing);
  if (last && last.parts.length === parts.length && last.parts.every((part, i) => part === parts[i]))
    return last.blocks;
  const blocks = movesOf(timing)
    .map((move): Block => {
      const all = parts.map((part) => [part, spacingOfMove(timing, part, move)] as const);
      return {
        move,
        charts: all.flatMap(([, chart]) => (typeof chart === 'string' ? [] : [chart])),
        left: all.flatMap(([part, chart]) => (typeof chart === 'string' ? [[part, chart] as const] : [])),
      };
    })
    .filter((block) => block.charts.length > 0);
  lastBlocks.set(timing, { parts, blocks });
  return blocks;
}

/** The spacing of every move on paper, one scene per page in mm, numbered among themselves. */
export function layOutChartPages(plan: Plan, style: PaperStyle): Scene[] {
  return numberPages(draftChartPages(plan, style), style);
}

/**
 * A timing chart for each move of each part that is printed, and of the marked points: a line from the pose at which the part leaves
 * to the one at which it arrives, with a tick where each exposed pose stands on the path. Poses have the sheet's numbers: keys
 * ringed, breakdowns underlined. Not yet numbered; empty where nothing moves.
 */
export function draftChartPages(plan: Plan, style: PaperStyle): DraftPage[] {
  const { header, joints } = writeSheet(plan);
  const parts: readonly Part[] = [...plan.book.props.map((p) => p.id), ...joints];
  const room = pageRoom(style);
  const blocks = blocksOf(plan.timing, parts);
  const pages: { blocks: Block[]; marks: Mark[] }[] = [];
  let y = Number.POSITIVE_INFINITY;
  for (const block of blocks) {
    // A block is never parted: as many rows as a sheet has parts fit on a page.
    const height = headingHeight + block.charts.length * rowHeight;
    if (y + height > room.bottom) {
      pages.push({ blocks: [], marks: [] });
      y = room.top + 1;
    }
    const page = pages.at(-1)!;
    page.blocks.push(block);
    page.marks.push(...drawBlock(block, y, plan, style));
    y += height + gap;
  }
  return pages.map((page) => ({
    title: `Timing charts, ${header.shot}`,
    summary: `Moves of frames ${page.blocks.map(({ move }) => `${move.firstFrame + 1} to ${move.lastFrame + 1}`).join(', ')}.`,
    marks: [
      ...pageHead(header, 'Timing charts', style),
      ...page.marks,
      pageFoot(
        'Ticks: the poses to set along the path, numbered as on the sheet; ringed: key, underlined: breakdown. Small: frames. ? = partly a guess.',
        style,
      ),
    ],
  }));
}

function drawBlock({ move, charts, left }: Block, top: number, plan: Plan, style: PaperStyle): Mark[] {
  const room = pageRoom(style);
  const id = `move-${move.firstFrame}`;
  const ends = [move.firstFrame, move.lastFrame]
    .map((frame) => keyAt(plan, exposureIndex(plan.timing.exposures, frame))?.name)
    .filter(Boolean);
  const title = `Frames ${move.firstFrame + 1} to ${move.lastFrame + 1}`;
  const named = clipText(ends.join(' → '), 78, heading, style.measure);
  const titleRight = room.left + 1.8 + style.measure(title, heading);
  const rest = (Object.keys(whyNone) as NoChart[])
    .map((why) => [whyNone[why], left.flatMap(([part, w]) => (w === why ? [nameOf(plan, part)] : []))] as const)
    .flatMap(([words, of]) => (of.length > 0 ? [`${words}: ${of.join(', ')}`] : []))
    .join('; ');
  const restFrom = titleRight + (named === '' ? 0 : 4 + style.measure(named, words)) + 6;
  const baseline = top + 4.4;
  return [
    pathMark(`${id}-rule`, new PathPen().line(room.left, top, room.right, top).toString(), {
      stroke: 'ink',
      strokeWidth: 0.3,
    }),
    textMark(`${id}-frames`, room.left + 1.8, baseline, title, { ...heading, role: 'move' }),
    ...(named === '' ? [] : [textMark(`${id}-named`, titleRight + 4, baseline, named, words)]),
    ...(rest === ''
      ? []
      : [
          textMark(
            `${id}-left`,
            room.right - 1.8,
            baseline,
            clipText(rest, room.right - restFrom, words, style.measure),
            {
              ...words,
              anchor: 'end',
              colour: 'quiet',
            },
          ),
        ]),
    ...charts.flatMap((chart, i) =>
      drawChart(chart, `${id}-${chart.part}`, top + headingHeight + i * rowHeight, plan, style),
    ),
  ];
}

function drawChart(chart: SpacingChart, id: string, top: number, plan: Plan, style: PaperStyle): Mark[] {
  const room = pageRoom(style);
  const from = room.left + nameWidth + 3;
  const to = room.right - factsWidth - 4.5;
  const x = (fraction: number) => from + fraction * (to - from);
  const y = top + 6.2;
  const last = chart.ticks.length - 1;
  const base = new PathPen().line(x(0), y, x(1), y);
  const heavy = new PathPen();
  const thin = new PathPen();
  chart.ticks.forEach((tick, i) => {
    const isEnd = i === 0 || i === last;
    const key = keyAt(plan, tick.exposure);
    const half = isEnd ? reach.end : key ? reach.breakdown : reach.inBetween;
    (isEnd || key ? heavy : thin).line(x(tick.fraction), y - half, x(tick.fraction), y + half);
  });
  const near = chart.against[0];
  const partName = nameOf(plan, chart.part);
  const said = `${chart.lengthMm.toFixed(0)} mm ±${Math.max(0.1, chart.lengthSdMm).toFixed(1)}`;
  const label = `${partName}, frames ${chart.frames.firstFrame + 1} to ${chart.frames.lastFrame + 1}: ${said}, poses at ${chart.ticks.map((t) => Math.round(t.fraction * 100)).join(', ')} %`;
  const nameFace = {
    ...name,
    size: Math.min(name.size, (name.size * (nameWidth - 5)) / style.measure(partName, name)),
  };
  return [
    pathMark(`${id}-line`, base.toString(), { stroke: 'ink', strokeWidth: 0.35, role: 'chart', label }),
    pathMark(`${id}-ticks`, thin.toString(), { stroke: 'ink', strokeWidth: 0.28 }),
    pathMark(`${id}-keys`, heavy.toString(), { stroke: 'ink', strokeWidth: 0.5 }),
    textMark(`${id}-part`, room.left + 1.8, y + 1, partName, nameFace),
    ...(chart.guessed
      ? [textMark(`${id}-doubt`, room.left + nameWidth, y + 1, '?', { ...name, anchor: 'end', role: 'doubt' })]
      : []),
    textMark(`${id}-length`, room.right - factsWidth, y - 0.3, said, digits),
    ...(near
      ? [
          textMark(
            `${id}-near`,
            room.right - factsWidth,
            y + 2.9,
            clipText(`near ${chartWords[near.chart]}`, factsWidth - 1, words, style.measure),
            { ...words, colour: 'quiet' },
          ),
        ]
      : []),
    ...numberTicks(chart, id, x, y, plan, style),
  ].filter((m) => m.kind !== 'path' || m.d !== '');
}

/** Numbers of poses over their ticks: the ends' and the keys' first, the others where there is room; frames under the ends. */
function numberTicks(
  chart: SpacingChart,
  id: string,
  x: (fraction: number) => number,
  y: number,
  plan: Plan,
  style: PaperStyle,
): Mark[] {
  const last = chart.ticks.length - 1;
  const taken: (readonly [left: number, right: number])[] = [];
  const marks: Mark[] = [];
  const ranked = chart.ticks
    .map((tick, i) => ({ tick, isEnd: i === 0 || i === last, key: keyAt(plan, tick.exposure) }))
    .sort((a, b) => Number(b.isEnd) - Number(a.isEnd) || Number(b.key !== null) - Number(a.key !== null));
  for (const { tick, isEnd, key } of ranked) {
    const face = isEnd || key ? strong : digits;
    const text = String(poseAt(plan, tick.exposure)?.number ?? '');
    const width = style.measure(text, face);
    const isRinged = key?.kind === 'key';
    const half = width / 2 + (isRinged ? 1 : 0.35);
    const at = x(tick.fraction);
    if (taken.some(([left, right]) => at + half > left && at - half < right)) continue;
    taken.push([at - half, at + half]);
    const baseline = y - reach.end - 1;
    if (isRinged) {
      const ring = new PathPen().pill(at, baseline - 0.95, Math.max(0, width - 2), 1.7).toString();
      marks.push(pathMark(`${id}-${tick.exposure}-ring`, ring, { stroke: 'ink', strokeWidth: 0.3, role: 'key' }));
    }
    if (key?.kind === 'breakdown') {
      const line = new PathPen().line(at - width / 2, baseline + 0.45, at + width / 2, baseline + 0.45).toString();
      marks.push(
        pathMark(`${id}-${tick.exposure}-underline`, line, { stroke: 'ink', strokeWidth: 0.3, role: 'breakdown' }),
      );
    }
    marks.push(textMark(`${id}-${tick.exposure}`, at, baseline, text, { ...face, anchor: 'middle', role: 'pose' }));
    if (isEnd || key)
      marks.push(
        textMark(`${id}-${tick.exposure}-frame`, at, y + reach.end + 2.1, String(tick.frame + 1), {
          ...frames,
          anchor: 'middle',
          colour: 'quiet',
          role: 'frame below',
        }),
      );
  }
  return marks;
}

/** The pose of the sheet that an exposure shows: a hold is one pose, with the number and the key that it began with. */
function poseAt(plan: Plan, exposure: number): Pose | null {
  return plan.poses.findLast((p) => p.firstExposure <= exposure) ?? null;
}

/** The key or breakdown that is shown by an exposure; null where none is. */
function keyAt(plan: Plan, exposure: number): Key | null {
  return poseAt(plan, exposure)?.key ?? null;
}

/** As the sheet's columns call it; a marked point as the animator does. */
function nameOf(plan: Plan, part: Part): string {
  return (isProp(part) && plan.book.props.find((p) => p.id === part)?.name) || jointWords(part);
}
