import type { DropRow } from '../timing/sideBySide.ts';
import { type ChartSize, niceTicks } from './charts.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, pathMark, type Scene, textMark } from './scene.ts';

const small = { size: 11.5, font: 'text', weight: 400 } as const;
const digits = { size: 11.5, font: 'mono', weight: 400 } as const;
/** Room for the ladders beside the curves, and for the numbers at the left, pixels. */
const ladderWide = 58;
const leftWide = 36;

/**
 * Two drops side by side: their heights over the frames (the first as an unbroken line with dots, the second broken with hollow
 * squares) and, at the right, two ladders with a rung where each is at each frame until both have landed once: the spacing to
 * be drawn. The frame on screen is marked.
 * @param now frames since the release; outside the rows = not marked.
 */
export function layOutDrops(
  rows: readonly DropRow[],
  names: readonly [string, string],
  now: number,
  { width, height }: ChartSize,
): Scene {
  const [top, floor] = [20, height - 18];
  const right = width - 2 * ladderWide - 10;
  const known = rows.flatMap((r) => [r.aMm, r.bMm]).filter((mm) => !Number.isNaN(mm));
  const most = Math.max(1, ...known) * 1.04;
  const x = (frame: number) => leftWide + (frame / Math.max(1, rows.length - 1)) * (right - leftWide);
  const y = (mm: number) => floor - (Math.max(0, mm) / most) * (floor - top);
  const marks: Mark[] = [textMark('unit', 2, top - 8, 'mm', { ...small, colour: 'quiet' })];
  for (const mm of niceTicks(most))
    marks.push(
      pathMark(`grid-${mm}`, new PathPen().line(leftWide, y(mm), right, y(mm)).toString(), { stroke: 'line' }),
      textMark(`grid-${mm}-mm`, leftWide - 5, y(mm) + 4, String(mm), { ...digits, anchor: 'end', colour: 'quiet' }),
    );
  marks.push(pathMark('floor', new PathPen().line(leftWide, floor, width - 4, floor).toString(), { stroke: 'heavy' }));
  if (now >= 0 && now < rows.length)
    marks.push(
      pathMark('now', new PathPen().line(x(now), top, x(now), floor).toString(), { stroke: 'mark', strokeWidth: 2 }),
    );
  for (const [which, of] of (['aMm', 'bMm'] as const).entries()) {
    const id = which === 0 ? 'a' : 'b';
    const colour = which === 0 ? 'ink' : 'right';
    const pen = new PathPen();
    let isDown = false;
    for (const row of rows) {
      if (Number.isNaN(row[of])) {
        isDown = false;
        continue;
      }
      isDown ? pen.lineTo(x(row.frame), y(row[of])) : pen.moveTo(x(row.frame), y(row[of]));
      isDown = true;
    }
    marks.push(
      pathMark(`${id}-curve`, pen.toString(), { stroke: colour, strokeWidth: 1.6, dash: which === 0 ? [] : [5, 3] }),
    );
    for (const row of rows) {
      if (Number.isNaN(row[of])) continue;
      const [px, py] = [x(row.frame), y(row[of])];
      const shape = which === 0 ? new PathPen().circle(px, py, 2.4) : new PathPen().rect(px - 2.2, py - 2.2, 4.4, 4.4);
      marks.push(
        pathMark(`${id}-${row.frame}`, shape.toString(), {
          fill: which === 0 ? colour : 'sheet',
          stroke: colour,
          role: 'height',
          label: `${names[which]}, ${row.frame} frames after the release: ${row[of].toFixed(1)} mm`,
        }),
      );
    }
    marks.push(...ladder(rows, of, right + 18 + which * ladderWide, y, top, floor, id, names[which]!, colour));
  }
  for (const [i, frame] of [0, rows.length - 1].entries())
    marks.push(
      textMark(`frame-${i}`, x(frame), height - 4, String(frame), {
        ...digits,
        colour: 'quiet',
        anchor: i === 0 ? 'start' : 'end',
      }),
    );
  const axis = 'frames since the release';
  marks.push(
    textMark('axis', (leftWide + right) / 2, height - 4, axis, { ...small, colour: 'quiet', anchor: 'middle' }),
  );
  const summary = `Heights of ${names[0]} and ${names[1]} over ${rows.length} frames, and the spacing of the first fall.`;
  return { unit: 'px', width, height, title: 'Drops side by side', summary, ground: null, marks };
}

/** Where it is at each frame of its first fall, one rung each, every other one numbered where there is room. */
function ladder(
  rows: readonly DropRow[],
  of: 'aMm' | 'bMm',
  left: number,
  y: (mm: number) => number,
  top: number,
  floor: number,
  id: string,
  name: string,
  colour: 'ink' | 'right',
): Mark[] {
  const marks: Mark[] = [
    pathMark(`${id}-pole`, new PathPen().line(left, top, left, floor).toString(), { stroke: 'line' }),
    textMark(`${id}-name`, left - 4, top - 8, name.length > 8 ? `${name.slice(0, 7)}…` : name, { ...small, colour }),
  ];
  let lastText = Number.NEGATIVE_INFINITY;
  for (const [k, row] of rows.entries()) {
    const mm = row[of];
    // Steps of a fall grow: a much smaller one, or one up, is after the bounce.
    const before = rows[k - 1]?.[of] ?? mm;
    const stepBefore = (rows[k - 2]?.[of] ?? before) - before;
    if (k > 0 && before - mm < 0.7 * stepBefore) break;
    if (Number.isNaN(mm)) continue;
    const at = y(mm);
    marks.push(
      pathMark(`${id}-rung-${row.frame}`, new PathPen().line(left - 7, at, left + 7, at).toString(), {
        stroke: colour,
        strokeWidth: 1.6,
      }),
    );
    if (at - lastText >= 12) {
      marks.push(textMark(`${id}-rung-${row.frame}-number`, left + 11, at + 4, String(row.frame), digits));
      lastText = at;
    }
  }
  return marks;
}
