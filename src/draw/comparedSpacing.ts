import { jointWords } from '../base/joints.ts';
import type { Point } from '../base/twoBones.ts';
import type { ComparedArc } from '../compare/comparedArc.ts';
import { type ChartSize, niceTicks } from './charts.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, pathMark, type Scene, type TextStyle, textMark } from './scene.ts';

const small: TextStyle = { size: 11.5, font: 'text', weight: 400 };
const digits: TextStyle = { size: 11.5, font: 'mono', weight: 400 };

/** How lengths are read: 1 and "mm", or 1 / 25.4 and "in". */
export interface LengthUnit {
  readonly perMm: number;
  readonly name: 'mm' | 'in';
}

/** How far the joint goes into each pose but the first, millimetres; NaN = not known. Shape [pose − 1]. */
export function stepsInto(places: readonly Point[]): number[] {
  return places.slice(1).map(([x, y], k) => Math.hypot(x - places[k]![0], y - places[k]![1]));
}

/**
 * Spacing against spacing around a finding: for each exposure how far the joint was to go into it (hollow) and how far it went (full),
 * side by side.
 * @param now the exposure on screen, an index as in `arc.exposures`; null = none.
 */
export function layOutComparedSpacing(
  arc: ComparedArc,
  now: number | null,
  unit: LengthUnit,
  { width, height }: ChartSize,
): Scene {
  const legend = 20;
  const floor = height - 18;
  const [planned, shot] = [arc.plan, arc.shot].map((places) => stepsInto(places).map((mm) => mm * unit.perMm)) as [
    number[],
    number[],
  ];
  const most = Math.max(0.5 * unit.perMm, ...[...planned, ...shot].filter(Number.isFinite)) * 1.06;
  const left = 34;
  const slot = (width - left - 4) / Math.max(1, planned.length);
  const y = (length: number) => floor - (length / most) * (floor - legend - 6);
  const marks: Mark[] = [];
  for (const tick of niceTicks(most))
    marks.push(
      pathMark(`grid-${tick}`, new PathPen().line(left, y(tick), width - 4, y(tick)).toString(), { stroke: 'line' }),
      textMark(`grid-${tick}-length`, left - 5, y(tick) + 4, String(tick), {
        ...digits,
        anchor: 'end',
        colour: 'quiet',
      }),
    );
  const told = arc.frames[arc.at]!;
  planned.forEach((_, k) => {
    const frame = arc.frames[k + 1]!;
    const isNow = arc.exposures[k + 1] === now;
    const x = left + k * slot;
    const inset = Math.min(3, slot * 0.12);
    const bar = (slot - 2 * inset) / 2;
    for (const [name, lengths, at] of [
      ['planned', planned, x + inset],
      ['shot', shot, x + inset + bar],
    ] as const) {
      const length = lengths[k]!;
      if (!Number.isFinite(length)) continue;
      const isPlan = name === 'planned';
      const d = new PathPen().rect(at + 0.6, y(length), Math.max(0.6, bar - 1.2), floor - y(length)).toString();
      marks.push(
        pathMark(`${name}-${frame}`, d, {
          fill: isPlan ? 'sheet' : isNow ? 'mark' : 'heavy',
          stroke: isPlan ? 'ink' : null,
          strokeWidth: 1.2,
          role: isPlan ? 'plannedStep' : 'shotStep',
          label: `into frame ${frame + 1}: ${said(length, unit)} ${name}`,
        }),
      );
    }
    const isEnd = k === 0 || k === planned.length - 1;
    // The frame that is told of goes before those at the ends.
    const nearTold = frame !== told && Math.abs(k + 1 - arc.at) * slot < 26;
    if ((isEnd && !nearTold) || frame === told)
      marks.push(
        textMark(`frame-${frame}`, x + slot / 2, height - 4, String(frame + 1), {
          ...digits,
          weight: frame === told ? 700 : 400,
          colour: frame === told ? 'ink' : 'quiet',
          anchor: 'middle',
        }),
      );
  });
  marks.push(
    pathMark('floor', new PathPen().line(left, floor, width - 4, floor).toString(), { stroke: 'heavy' }),
    textMark('unit', 2, 11, unit.name, { ...small, colour: 'quiet' }),
    ...legendOf(left),
  );
  const at = arc.at - 1;
  const summary =
    at >= 0 && Number.isFinite(planned[at]! + shot[at]!)
      ? `Into frame ${told + 1} the ${jointWords(arc.joint)} was to go ${said(planned[at]!, unit)}; it went ${said(shot[at]!, unit)}.`
      : `How far the ${jointWords(arc.joint)} was to go into each exposure, and went.`;
  return { unit: 'px', width, height, title: 'Spacing, planned and shot', summary, ground: null, marks };
}

/** Which bars are which, in a row over the chart. */
function legendOf(left: number): Mark[] {
  return [
    pathMark('legend-planned', new PathPen().rect(left, 3, 9, 9).toString(), {
      fill: 'sheet',
      stroke: 'ink',
      strokeWidth: 1.2,
    }),
    textMark('legend-planned-words', left + 14, 11.5, 'planned', { ...small, colour: 'quiet' }),
    pathMark('legend-shot', new PathPen().rect(left + 68, 2.5, 10, 10).toString(), { fill: 'heavy' }),
    textMark('legend-shot-words', left + 83, 11.5, 'shot, into each exposure', { ...small, colour: 'quiet' }),
  ];
}

function said(length: number, { name }: LengthUnit): string {
  return `${length.toFixed(name === 'mm' ? 1 : 2)} ${name}`;
}
