import { chartWords } from '../timing/idealCharts.ts';
import type { SpacingChart } from '../timing/spacingChart.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, pathMark, type Scene, type TextStyle, textMark } from './scene.ts';

const words: TextStyle = { size: 12.5, font: 'text', weight: 400 };
const digits: TextStyle = { size: 12.5, font: 'mono', weight: 400 };
const strong: TextStyle = { size: 13.5, font: 'mono', weight: 700 };

const side = 16;
const rulerY = 52;
const firstRow = 96;
const rowHeight = 34;
/** Room that a frame number needs, screen pixels. */
const numberWidth = 22;

/** Height of the chart with so many charts to compare, screen pixels. */
export function spacingHeight(charts: number): number {
  return firstRow + charts * rowHeight;
}

/**
 * The spacing of one move as a timing chart: a line from the first pose to the last with a tick where each exposure stands on the
 * path, numbered by frame, and under it the charts that it is held against, nearest first.
 * @param now the frame on screen.
 * @param width screen pixels.
 */
export function layOutTimingChart(chart: SpacingChart, now: number, width: number): Scene {
  const x = (fraction: number) => side + fraction * (width - 2 * side);
  const marks: Mark[] = [
    pathMark('ruler', new PathPen().line(x(0), rulerY, x(1), rulerY).toString(), { stroke: 'ink', strokeWidth: 1.6 }),
  ];
  const last = chart.ticks.length - 1;
  const here = [...chart.ticks].reverse().find((t) => t.frame <= now);
  const isOn =
    now >= chart.frames.firstFrame && here !== undefined && (here !== chart.ticks[last] || now === here.frame);
  const numbered = numberedTicks(chart, isOn ? here.frame : null, x);
  chart.ticks.forEach((tick, i) => {
    const at = x(tick.fraction);
    const isEnd = i === 0 || i === last;
    const isNow = isOn && tick === here;
    const reach = isEnd ? 17 : 11;
    if (tick.fractionSd > 0.004) {
      const [from, to] = [
        x(Math.max(0, tick.fraction - tick.fractionSd)),
        x(Math.min(1, tick.fraction + tick.fractionSd)),
      ];
      marks.push(
        pathMark(`sure-${tick.frame}`, new PathPen().line(from, rulerY + 15, to, rulerY + 15).toString(), {
          stroke: 'faint',
        }),
      );
    }
    marks.push(
      pathMark(`tick-${tick.frame}`, new PathPen().line(at, rulerY - reach, at, rulerY + reach).toString(), {
        stroke: isNow ? 'mark' : 'ink',
        strokeWidth: isNow ? 4 : isEnd ? 2.6 : 1.8,
        role: 'tick',
        label: `frame ${tick.frame + 1}: ${Math.round(tick.fraction * 100)} % of the way`,
      }),
    );
    if (numbered.has(tick.frame))
      marks.push(
        textMark(`frame-${tick.frame}`, at, rulerY - 23, String(tick.frame + 1), {
          ...(isNow || isEnd ? strong : digits),
          anchor: 'middle',
          colour: isNow ? 'mark' : isEnd ? 'ink' : 'quiet',
        }),
      );
  });
  for (const [row, other] of chart.against.entries())
    marks.push(...comparison(other, firstRow + row * rowHeight, x, width));
  const nearest = chart.against[0];
  const summary = nearest
    ? `${chart.ticks.length} poses over ${lengthWords(chart)}; nearest to ${chartWords[nearest.chart]}.`
    : '';
  return {
    unit: 'px',
    width,
    height: spacingHeight(chart.against.length),
    title: 'Timing chart',
    summary,
    ground: null,
    marks,
  };
}

function lengthWords({ length, lengthMm }: SpacingChart): string {
  return Number.isNaN(lengthMm) ? `${length.toFixed(0)} px` : `${lengthMm.toFixed(0)} mm`;
}

function comparison(
  other: SpacingChart['against'][number],
  top: number,
  x: (fraction: number) => number,
  width: number,
): Mark[] {
  const y = top + 22;
  const pen = new PathPen().line(x(0), y, x(1), y);
  for (const fraction of other.fractions) pen.line(x(fraction), y - 5, x(fraction), y + 5);
  return [
    textMark(`name-${other.chart}`, side, top + 10, chartWords[other.chart], { ...words, colour: 'quiet' }),
    textMark(`off-${other.chart}`, width - side, top + 10, `${(other.distance * 100).toFixed(1)} % off`, {
      ...digits,
      anchor: 'end',
      colour: 'quiet',
    }),
    pathMark(`chart-${other.chart}`, pen.toString(), {
      stroke: 'heavy',
      strokeWidth: 1,
      role: 'chart',
      label: `${chartWords[other.chart]}: ${(other.distance * 100).toFixed(1)} % of the path away`,
    }),
  ];
}

/** Which ticks get a number: both ends and the one on screen always, the others where there is room. */
function numberedTicks(chart: SpacingChart, now: number | null, x: (fraction: number) => number): Set<number> {
  const last = chart.ticks.length - 1;
  const musts = chart.ticks.filter((t, i) => t.frame === now || ((i === 0 || i === last) && tFar(t.fraction)));
  const taken = musts.map((t) => x(t.fraction));
  const numbers = new Set(musts.map((t) => t.frame));
  for (const tick of chart.ticks) {
    const at = x(tick.fraction);
    if (taken.some((other) => Math.abs(other - at) < numberWidth)) continue;
    taken.push(at);
    numbers.add(tick.frame);
  }
  return numbers;

  /** An end whose number would lie on that of the frame on screen gives way. */
  function tFar(fraction: number): boolean {
    const shown = chart.ticks.find((t) => t.frame === now);
    return !shown || shown.fraction === fraction || Math.abs(x(shown.fraction) - x(fraction)) >= numberWidth;
  }
}
