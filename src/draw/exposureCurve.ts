import type { UniformPoint } from '../timing/exposureAdvice.ts';
import type { BudgetPoint } from '../timing/spendExposures.ts';
import type { VisibleError } from '../timing/visibleError.ts';
import { type ChartSize, niceTicks } from './charts.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, pathMark, type Scene, type TextStyle, textMark } from './scene.ts';

/** What the curve shows beside itself. */
export interface ExposureCurveStyle extends ChartSize {
  /** A body height in what errors are told in: puppet millimetres, or pixels where there are none. */
  readonly bodyHeight: number;
  readonly unit: 'mm' | 'px';
  /** The shot as it is exposed now. */
  readonly exposures: number;
  readonly now: VisibleError;
}

const digits: TextStyle = { size: 11.5, font: 'mono', weight: 400 };
const small: TextStyle = { size: 11.5, font: 'text', weight: 400 };
const names = { 1: 'ones', 2: 'twos', 3: 'threes', 4: 'fours' } as const;
const left = 34;

/** Numbers of exposures along x. The slider under the curve uses the same. Pixels. */
export function exposureX(exposures: number, curve: readonly BudgetPoint[], width: number): number {
  const [fewest, most] = [curve[0]?.exposures ?? 1, curve.at(-1)?.exposures ?? 2];
  return left + ((exposures - fewest) / Math.max(1, most - fewest)) * (width - left - 10);
}

/** The number of exposures at an x of the chart, kept within what the curve has. The way back from `exposureX`. */
export function exposuresAt(x: number, curve: readonly BudgetPoint[], width: number): number {
  const [fewest, most] = [curve[0]?.exposures ?? 1, curve.at(-1)?.exposures ?? 2];
  const share = (x - left) / Math.max(1, width - left - 10);
  return Math.max(fewest, Math.min(most, Math.round(fewest + share * Math.max(1, most - fewest))));
}

/**
 * How far what is seen is from the take, for every number of exposures spent where they count; even ones, twos, threes and fours
 * as squares, the shot as it is now as a ring.
 */
export function layOutExposureCurve(
  curve: readonly BudgetPoint[],
  uniform: readonly UniformPoint[],
  { width, height, bodyHeight, unit, exposures, now }: ExposureCurveStyle,
): Scene {
  const floor = height - 18;
  const sized = (error: number) => error * bodyHeight;
  const most = Math.max(0.1, sized(curve[0]?.error ?? 0), ...uniform.map((u) => sized(u.error)), sized(now.rms)) * 1.05;
  const x = (count: number) => exposureX(count, curve, width);
  const y = (error: number) => floor - (sized(error) / most) * (floor - 12);
  const marks: Mark[] = [];
  for (const tick of niceTicks(most)) {
    const at = floor - (tick / most) * (floor - 12);
    marks.push(
      pathMark(`grid-${tick}`, new PathPen().line(left, at, width - 4, at).toString(), { stroke: 'line' }),
      textMark(`grid-${tick}-mm`, left - 5, at + 4, String(tick), { ...digits, anchor: 'end', colour: 'quiet' }),
    );
  }
  marks.push(textMark('unit', 2, 10, unit, { ...small, colour: 'quiet' }));
  const pen = new PathPen();
  curve.forEach((p, i) => {
    if (i === 0) pen.moveTo(x(p.exposures), y(p.error));
    else pen.lineTo(x(p.exposures), y(p.error));
  });
  marks.push(
    pathMark('curve', pen.toString(), {
      stroke: 'ink',
      strokeWidth: 1.8,
      role: 'curve',
      label: 'exposures spent where they count',
    }),
    pathMark('floor', new PathPen().line(left, floor, width - 4, floor).toString(), { stroke: 'heavy' }),
  );
  for (const u of uniform) {
    if (u.onFrames === 1) continue;
    const [ux, uy] = [x(u.exposures), y(u.error)];
    marks.push(
      pathMark(`even-${u.onFrames}`, new PathPen().rect(ux - 3.5, uy - 3.5, 7, 7).toString(), {
        fill: 'sheet',
        stroke: 'ink',
        strokeWidth: 1.4,
        role: 'even',
        label: `${names[u.onFrames]}: ${u.exposures} exposures, ${sized(u.error).toFixed(2)} ${unit}`,
      }),
      textMark(`even-${u.onFrames}-name`, ux + 7, uy - 4, names[u.onFrames], { ...small, colour: 'quiet' }),
    );
  }
  marks.push(
    pathMark('now', new PathPen().circle(x(exposures), y(now.rms), 5.5).toString(), {
      fill: 'sheet',
      stroke: 'mark',
      strokeWidth: 2.6,
      role: 'now',
      label: `now: ${exposures} exposures, ${sized(now.rms).toFixed(2)} ${unit}`,
    }),
  );
  for (const [i, p] of [curve[0], curve.at(-1)].entries()) {
    if (!p) continue;
    const anchor = i === 0 ? 'start' : 'end';
    marks.push(
      textMark(`count-${i}`, x(p.exposures), height - 4, String(p.exposures), { ...digits, colour: 'quiet', anchor }),
    );
  }
  marks.push(
    textMark('axis', (left + width) / 2, height - 4, 'exposures', { ...small, colour: 'quiet', anchor: 'middle' }),
  );
  return {
    unit: 'px',
    width,
    height,
    title: 'Exposures against what is seen',
    summary: `${exposures} exposures show the take to ${sized(now.rms).toFixed(2)} ${unit} on average, at worst ${sized(now.worst).toFixed(1)} ${unit}.`,
    ground: null,
    marks,
  };
}
