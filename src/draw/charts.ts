import type { Step } from '../timing/spacing.ts';
import type { KeyCurvePoint } from '../timing/timing.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, pathMark, type Scene, type TextStyle, textMark } from './scene.ts';

const small: TextStyle = { size: 11.5, font: 'text', weight: 400 };
const digits: TextStyle = { size: 11.5, font: 'mono', weight: 400 };

/** Size of a chart, screen pixels. */
export interface ChartSize {
  readonly width: number;
  readonly height: number;
}

/** Where a number of keys stands in the key curve chart, both ways: used for drawing and for the pointer. */
export class KeyCountScale {
  constructor(
    readonly fewest: number,
    readonly most: number,
    readonly width: number,
  ) {}

  x(keyCount: number): number {
    return 8 + ((keyCount - this.fewest) / Math.max(1, this.most - this.fewest)) * (this.width - 16);
  }

  keyCount(x: number): number {
    const share = (x - 8) / Math.max(1, this.width - 16);
    return Math.round(this.fewest + Math.min(1, Math.max(0, share)) * (this.most - this.fewest));
  }
}

/** How well so many keys tell the motion: error against number of keys, the present number marked. */
export function layOutKeyCurve(
  curve: readonly KeyCurvePoint[],
  present: number,
  scale: KeyCountScale,
  height: number,
): Scene {
  const floor = height - 18;
  const most = Math.max(1e-9, ...curve.map((p) => p.error));
  const y = (error: number) => floor - (error / most) * (floor - 8);
  const pen = new PathPen();
  for (const [i, p] of curve.entries())
    i === 0 ? pen.moveTo(scale.x(p.keyCount), y(p.error)) : pen.lineTo(scale.x(p.keyCount), y(p.error));
  const here = curve.find((p) => p.keyCount === present);
  const marks: Mark[] = [
    pathMark('floor', new PathPen().line(4, floor, scale.width - 4, floor).toString(), { stroke: 'line' }),
    pathMark('curve', pen.toString(), { stroke: 'ink', strokeWidth: 1.6, role: 'curve' }),
    ...curve.map((p) =>
      pathMark(`point-${p.keyCount}`, new PathPen().circle(scale.x(p.keyCount), y(p.error), 2.2).toString(), {
        fill: 'ink',
        role: 'point',
        label: `${p.keyCount} keys leave ${(p.error * 100).toFixed(1)} % of body height`,
      }),
    ),
  ];
  if (here) {
    const [x, at] = [scale.x(here.keyCount), y(here.error)];
    marks.push(
      pathMark('present-line', new PathPen().line(x, at, x, floor).toString(), { stroke: 'mark', strokeWidth: 2 }),
      pathMark('present', new PathPen().circle(x, at, 5.5).toString(), {
        fill: 'sheet',
        stroke: 'mark',
        strokeWidth: 2.6,
      }),
    );
  }
  for (const [i, count] of [scale.fewest, scale.most].entries())
    marks.push(
      textMark(`count-${i}`, scale.x(count), height - 4, String(count), {
        ...digits,
        colour: 'quiet',
        anchor: i === 0 ? 'start' : 'end',
      }),
    );
  marks.push(textMark('axis', scale.width / 2, height - 4, 'keys', { ...small, colour: 'quiet', anchor: 'middle' }));
  const summary = here ? `${present} keys leave ${(here.error * 100).toFixed(1)} % of body height unexplained.` : '';
  return { unit: 'px', width: scale.width, height, title: 'Keys against error', summary, ground: null, marks };
}

/**
 * Spacing of one joint: a bar per exposure as high as the joint moves into it (millimetres on the puppet, pixels where there are none), with its
 * standard deviation as a whisker. Doubtful bars are hollow.
 */
export function layOutSpacing(
  steps: readonly Step[],
  firstFrames: readonly number[],
  now: number,
  { width, height }: ChartSize,
): Scene {
  const floor = height - 18;
  const unit =
    steps.every((s) => Number.isNaN(s.distanceMm)) && steps.some((s) => !Number.isNaN(s.distancePx)) ? 'px' : 'mm';
  const way = (step: Step) => (unit === 'mm' ? step.distanceMm : step.distancePx);
  const sd = (step: Step) => (unit === 'mm' ? step.sdMm : step.sdPx);
  const known = steps.map(way).filter((length) => !Number.isNaN(length));
  const most = Math.max(0.5, ...known) * 1.06;
  const left = 34;
  const barWidth = (width - left - 4) / Math.max(1, steps.length);
  const y = (mm: number) => floor - (mm / most) * (floor - 10);
  const marks: Mark[] = [];
  for (const mm of niceTicks(most)) {
    marks.push(
      pathMark(`grid-${mm}`, new PathPen().line(left, y(mm), width - 4, y(mm)).toString(), { stroke: 'line' }),
      textMark(`grid-${mm}-mm`, left - 5, y(mm) + 4, String(mm), { ...digits, anchor: 'end', colour: 'quiet' }),
    );
  }
  marks.push(textMark('unit', 2, 10, unit, { ...small, colour: 'quiet' }));
  for (const [i, step] of steps.entries()) {
    if (Number.isNaN(way(step))) continue;
    const frame = firstFrames[step.exposure] ?? 0;
    const next = firstFrames[step.exposure + 1] ?? Number.POSITIVE_INFINITY;
    const isNow = now >= frame && now < next;
    const x = left + i * barWidth;
    const inset = barWidth > 4 ? 0.8 : 0.2;
    marks.push(
      pathMark(
        `step-${frame}`,
        new PathPen().rect(x + inset, y(way(step)), barWidth - 2 * inset, floor - y(way(step))).toString(),
        {
          fill: step.guessed ? 'sheet' : isNow ? 'mark' : 'heavy',
          stroke: step.guessed ? 'doubt' : null,
          role: 'step',
          label: `into frame ${frame + 1}: ${way(step).toFixed(1)} ${unit} ± ${sd(step).toFixed(1)}${step.guessed ? ', doubtful' : ''}`,
        },
      ),
    );
    if (barWidth > 5) {
      const middle = x + barWidth / 2;
      const whisker = new PathPen().line(middle, y(Math.max(0, way(step) - sd(step))), middle, y(way(step) + sd(step)));
      marks.push(pathMark(`sd-${frame}`, whisker.toString(), { stroke: 'faint', strokeWidth: 1 }));
    }
  }
  marks.push(pathMark('floor', new PathPen().line(left, floor, width - 4, floor).toString(), { stroke: 'heavy' }));
  for (const [i, step] of [steps[0], steps.at(-1)].entries()) {
    if (!step) continue;
    const x = i === 0 ? left : width - 4;
    const words = String((firstFrames[step.exposure] ?? 0) + 1);
    marks.push(
      textMark(`frame-${i}`, x, height - 4, words, { ...digits, colour: 'quiet', anchor: i === 0 ? 'start' : 'end' }),
    );
  }
  marks.push(
    textMark('axis', (left + width) / 2, height - 4, 'frame', { ...small, colour: 'quiet', anchor: 'middle' }),
  );
  const summary =
    known.length > 0 ? `Largest step ${Math.max(...known).toFixed(1)} ${unit}.` : 'Nothing can be said of this joint.';
  return { unit: 'px', width, height, title: 'Spacing', summary, ground: null, marks };
}

/** Round numbers from 0 up to `most`, two to four of them. */
export function niceTicks(most: number): number[] {
  const rough = most / 3;
  const magnitude = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((n) => n * magnitude).find((s) => s >= rough) ?? magnitude * 10;
  const ticks: number[] = [];
  for (let i = 1; i * step <= most; i++) ticks.push(Number((i * step).toPrecision(6)));
  return ticks;
}
