import type { ChartSize } from './charts.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, pathMark, type Scene, textMark } from './scene.ts';

/** A place on the set as the camera sees it, millimetres, y up. */
export interface AnewPoint {
  /** From 0. */
  readonly frame: number;
  readonly xMm: number;
  readonly yMm: number;
  /** An exposure begins here. */
  readonly isExposed: boolean;
}

/** The way of one part that was laid anew, beside the way it would have gone. */
export interface AnewArcs {
  readonly words: string;
  /** Frame by frame, rising; both end beyond the key. The new one begins where the puppet was found to stand. */
  readonly was: readonly AnewPoint[];
  readonly is: readonly AnewPoint[];
  /** The way up to there, as planned. */
  readonly before: readonly AnewPoint[];
  readonly keyFrame: number;
}

const small = { size: 11.5, font: 'text', weight: 400 } as const;
const margin = 16;
/** Beneath the drawing: the scale, and what the signs are. */
const legendHigh = 38;
/** Lengths of the scale's bar, millimetres. */
const bars = [1, 2, 5, 10, 20, 50, 100, 200, 500] as const;

/**
 * Both ways at one scale: as it was planned broken with hollow squares, laid anew unbroken with dots, one for each exposure; a cross
 * where the puppet stands, a ring at the key.
 */
export function layOutAnewArcs({ words, was, is, before, keyFrame }: AnewArcs, { width, height }: ChartSize): Scene {
  const known = [...was, ...is, ...before].filter((p) => Number.isFinite(p.xMm + p.yMm));
  const [xs, ys] = [known.map((p) => p.xMm), known.map((p) => p.yMm)];
  const [left, right, low, high] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const room = { wide: width - 2 * margin, high: height - 2 * margin - legendHigh };
  const pxPerMm = Math.min(room.wide / Math.max(1, right - left), room.high / Math.max(1, high - low));
  const x = (p: AnewPoint) => width / 2 + (p.xMm - (left + right) / 2) * pxPerMm;
  const y = (p: AnewPoint) => margin + room.high / 2 - (p.yMm - (low + high) / 2) * pxPerMm;
  const line = (id: string, points: readonly AnewPoint[], colour: 'quiet' | 'mark', dash: readonly number[]): Mark => {
    const pen = new PathPen();
    for (const [i, p] of points.entries()) i === 0 ? pen.moveTo(x(p), y(p)) : pen.lineTo(x(p), y(p));
    return pathMark(id, pen.toString(), { stroke: colour, strokeWidth: colour === 'mark' ? 2 : 1.4, dash });
  };
  const square = (id: string, cx: number, cy: number): Mark =>
    pathMark(id, new PathPen().rect(cx - 2.3, cy - 2.3, 4.6, 4.6).toString(), { fill: 'sheet', stroke: 'quiet' });
  const dot = (id: string, cx: number, cy: number): Mark =>
    pathMark(id, new PathPen().circle(cx, cy, 2.8).toString(), { fill: 'mark', role: 'exposure' });
  const cross = (id: string, cx: number, cy: number): Mark =>
    pathMark(
      id,
      new PathPen()
        .line(cx - 5, cy - 5, cx + 5, cy + 5)
        .line(cx - 5, cy + 5, cx + 5, cy - 5)
        .toString(),
      { stroke: 'ink', strokeWidth: 2, role: 'stands' },
    );
  const ring = (id: string, cx: number, cy: number): Mark =>
    pathMark(id, new PathPen().circle(cx, cy, 6).toString(), { stroke: 'ink', strokeWidth: 1.6, role: 'key' });
  const marks: Mark[] = [];
  if (known.length > 1) {
    marks.push(line('before', before, 'quiet', []), line('was', was, 'quiet', [5, 3]), line('is', is, 'mark', []));
    for (const p of [...before.filter((b) => b.frame !== was[0]?.frame), ...was])
      if (p.isExposed) marks.push(square(`was-${p.frame}`, x(p), y(p)));
    for (const p of is.slice(1)) if (p.isExposed) marks.push(dot(`is-${p.frame}`, x(p), y(p)));
    const [stands, key] = [is[0], is.find((p) => p.frame === keyFrame)];
    if (key) marks.push(ring('key', x(key), y(key)));
    if (stands) marks.push(cross('stands', x(stands), y(stands)));
  }
  const base = height - 6;
  const legend: readonly (readonly [string, (cx: number, cy: number) => Mark])[] = [
    ['stands', (cx, cy) => cross('legend-stands', cx, cy)],
    ['anew', (cx, cy) => dot('legend-anew', cx, cy)],
    ['as planned', (cx, cy) => square('legend-was', cx, cy)],
    ['key', (cx, cy) => ring('legend-key', cx, cy)],
  ];
  let at = margin;
  for (const [said, sign] of legend) {
    marks.push(
      sign(at, base - 4),
      textMark(`legend-${said}-words`, at + 10, base, said, { ...small, colour: 'quiet' }),
    );
    at += 24 + 6 * said.length;
  }
  const barMm = bars.findLast((mm) => mm * pxPerMm <= 70) ?? bars[0];
  const [barLeft, barRight] = [margin, margin + barMm * pxPerMm];
  const barY = base - 20;
  marks.push(
    pathMark('bar', new PathPen().line(barLeft, barY, barRight, barY).toString(), {
      stroke: 'ink',
      strokeWidth: 2,
    }),
    textMark('bar-mm', barRight + 6, barY + 4, `${barMm} mm`, small),
  );
  const summary = `From where it stands to the key at frame ${keyFrame + 1}, and as it was planned.`;
  return { unit: 'px', width, height, title: `The way of the ${words}`, summary, ground: null, marks };
}
