import type { SetArc, SetPoint } from '../plan/setArcs.ts';
import type { Planted } from '../puppet/puppetMotion.ts';
import { type ClipBox, clipToBox } from './clipToBox.ts';
import type { PageRoom } from './paper.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, type Measure, pathMark, type TextStyle, textMark } from './scene.ts';

/** A part of the set on paper at true size: one millimetre is one millimetre. */
export interface SetWindow {
  /** Where on the page, millimetres. Nothing is drawn beyond it. */
  readonly box: PageRoom;
  /** The place on the set (x to the right, y up) that lies at the box's left top corner. */
  readonly leftMm: number;
  readonly topMm: number;
}

/** Room around an arc for its numbers, millimetres. */
export const numberRoom = 14;

const faces = {
  number: { size: 3.6, font: 'mono', weight: 700 },
  end: { size: 5, font: 'mono', weight: 700 },
  foot: { size: 2.6, font: 'text', weight: 400 },
} as const satisfies Record<string, TextStyle>;

/** Half a tick across the path, millimetres; longer at both ends. */
const tickReach = 2;
const endReach = 3;
/** Pieces between two frames, so that a fast arc is round. */
const pieces = 4;

interface Point {
  readonly x: number;
  readonly y: number;
}

/**
 * An arc with a tick at each exposure and the frame's number beside it, the floor and the feet that stand, as much as lies in the
 * window. The first pose is ringed, the last a full dot.
 * @param floor is the floor's height known?
 * @param taken where no number may stand.
 */
export function drawSetArc(
  arc: SetArc,
  window: SetWindow,
  floor: boolean,
  id: string,
  measure: Measure,
  taken: readonly ClipBox[] = [],
): Mark[] {
  const { box } = window;
  const onPaper = (p: SetPoint): Point => ({ x: box.left + p.xMm - window.leftMm, y: box.top + window.topMm - p.yMm });
  const curves = arc.runs.map((run) => roundOff(run.map(onPaper)));
  const pen = new PathPen();
  for (const curve of curves)
    for (const [i, b] of curve.entries()) {
      const a = curve[i - 1];
      const seen = a && clipToBox(a.x, a.y, b.x, b.y, box);
      if (seen) pen.line(...seen);
    }
  const ticks = drawTicks();
  return [
    ...(floor ? drawFloor() : []),
    ...arc.planted.flatMap((foot, i) => drawFoot(foot, i)),
    pathMark(`${id}-path`, pen.toString(), { stroke: 'heavy', strokeWidth: 0.25, role: 'arc' }),
    ...ticks,
  ].filter((m) => m.kind !== 'path' || m.d !== '');

  function drawTicks(): Mark[] {
    const at = arc.ticks.map((tick) => ({ ...tick, ...onPaper(tick) }));
    const last = at.length - 1;
    const [sure, unsure, ends] = [new PathPen(), new PathPen(), new PathPen()];
    const marks: Mark[] = [];
    const solid: Mark[] = [];
    const placed: ClipBox[] = [...taken];
    const labels: { place: number; must: boolean }[] = [];
    for (const [i, tick] of at.entries()) {
      if (!isWithin(tick, box, endReach)) continue;
      const isEnd = i === 0 || i === last;
      const { nx, ny } = normalAt(at, i);
      const reach = isEnd ? endReach : tickReach;
      const ink = isEnd ? ends : tick.isDoubtful ? unsure : sure;
      ink.line(tick.x - nx * reach, tick.y - ny * reach, tick.x + nx * reach, tick.y + ny * reach);
      if (isEnd) {
        const dot = new PathPen().circle(tick.x, tick.y, 1.3).toString();
        const look =
          i === 0 ? ({ fill: 'sheet', stroke: 'ink', strokeWidth: 0.5 } as const) : ({ fill: 'ink' } as const);
        solid.push(pathMark(`${id}-${i === 0 ? 'first' : 'last'}`, dot, { ...look, role: 'pose' }));
      }
      if (isEnd) labels.unshift({ place: i, must: true });
      else labels.push({ place: i, must: false });
    }
    const leaders = new PathPen();
    for (const { place, must } of labels) {
      const tick = at[place]!;
      const face = must ? faces.end : faces.number;
      const text = `${tick.isDoubtful ? '?' : ''}${tick.frame + 1}`;
      const width = measure(text, face);
      const spot = freeSpot(tick, normalAt(at, place), width, face.size * 0.7);
      if (!spot && !must) continue;
      const { x, y, away } = spot ?? inside(tick, width, face.size * 0.7);
      placed.push(around(x, y, width, face.size * 0.7));
      if (away > 6.5) leaders.line(tick.x, tick.y, tick.x + (x - tick.x) * 0.7, tick.y + (y - tick.y) * 0.7);
      marks.push(
        textMark(`${id}-frame-${tick.frame}`, x, y + face.size * 0.345, text, {
          ...face,
          anchor: 'middle',
          role: 'tick',
          label: `frame ${tick.frame + 1}${tick.isDoubtful ? ', a guess' : ''}`,
        }),
      );
    }
    return [
      pathMark(`${id}-leaders`, leaders.toString(), { stroke: 'faint', strokeWidth: 0.12 }),
      pathMark(`${id}-ticks`, sure.toString(), { stroke: 'ink', strokeWidth: 0.35, role: 'tick' }),
      pathMark(`${id}-guesses`, unsure.toString(), {
        stroke: 'ink',
        strokeWidth: 0.35,
        dash: [0.7, 0.5],
        role: 'tick',
      }),
      pathMark(`${id}-ends`, ends.toString(), { stroke: 'ink', strokeWidth: 0.6, role: 'tick' }),
      ...solid,
      ...marks,
    ];

    /** Beside the tick, on the outside of the bend first, wherever it covers neither the path nor another number. */
    function freeSpot(tick: Point, { nx, ny, outside }: Normal, width: number, height: number) {
      for (const away of [0, 3.4, 7]) {
        for (const side of [outside, -outside]) {
          // As far as the number's own box reaches along the normal.
          const reach = endReach + 0.6 + away + (Math.abs(nx) * width + Math.abs(ny) * height) / 2;
          const [x, y] = [tick.x + nx * side * reach, tick.y + ny * side * reach];
          const own = around(x, y, width, height);
          const isFree =
            own.left > box.left + 0.5 &&
            own.right < box.right - 0.5 &&
            own.top > box.top + 0.5 &&
            own.bottom < box.bottom - 0.5 &&
            !placed.some((other) => overlap(own, other)) &&
            !curves.some((curve) => curve.some((p) => isWithin(p, own, -0.4))) &&
            !at.some((p) => p !== tick && isWithin(p, own, -0.6));
          if (isFree) return { x, y, away: reach };
        }
      }
      return null;
    }

    function inside(tick: Point, width: number, height: number) {
      const x = Math.min(box.right - width / 2 - 0.5, Math.max(box.left + width / 2 + 0.5, tick.x));
      const y = Math.min(box.bottom - height / 2 - 0.5, Math.max(box.top + height / 2 + 0.5, tick.y - 6));
      return { x, y, away: 0 };
    }
  }

  function drawFloor(): Mark[] {
    const y = box.top + window.topMm;
    if (y < box.top || y > box.bottom) return [];
    const line = new PathPen().line(box.left, y, box.right, y);
    return [
      pathMark(`${id}-floor`, line.toString(), { stroke: 'ink', strokeWidth: 0.4, role: 'floor', label: 'the floor' }),
      ...(y + 3.4 < box.bottom ? [textMark(`${id}-floor-word`, box.left + 1, y + 2.9, 'floor', faces.foot)] : []),
    ];
  }

  /** A cross where the foot stands, and under the floor how long it does. */
  function drawFoot(foot: Planted, place: number): Mark[] {
    const at = onPaper({ frame: foot.firstFrame, xMm: foot.xMm, yMm: foot.yMm });
    if (!isWithin(at, box, 1.8)) return [];
    const cross = new PathPen()
      .line(at.x - 1.8, at.y, at.x + 1.8, at.y)
      .line(at.x, at.y - 1.8, at.x, at.y + 1.8)
      .circle(at.x, at.y, 1.1);
    const text = `${footWords(foot)}, ${foot.firstFrame + 1}–${foot.firstFrame + foot.frames}`;
    const width = measure(text, faces.foot);
    const x = Math.min(box.right - width / 2 - 0.6, Math.max(box.left + width / 2 + 0.6, at.x));
    const y = box.top + window.topMm + 6.2 + place * footRow;
    const marks: Mark[] = [
      pathMark(`${id}-foot-${place}`, cross.toString(), { stroke: 'ink', strokeWidth: 0.25, role: 'foot' }),
    ];
    if (y < box.bottom - 0.6 && y > box.top + 3 && width < box.right - box.left - 1.2)
      marks.push(textMark(`${id}-foot-${place}-word`, x, y, text, { ...faces.foot, anchor: 'middle', role: 'foot' }));
    return marks;
  }
}

/** Height of a line about a standing foot, millimetres. */
export const footRow = 3.3;

/** "left ankle": the point of a foot that stands still. */
export function footWords({ side, on }: Planted): string {
  return `${side} ${on === 'foot' ? 'ankle' : on}`;
}

interface Normal {
  readonly nx: number;
  readonly ny: number;
  /** 1 where the normal points to the outside of the bend, else −1. */
  readonly outside: 1 | -1;
}

/** Across the path at a tick: by its neighbours, or by the nearest that lie apart from it. */
function normalAt(at: readonly Point[], i: number): Normal {
  const here = at[i]!;
  const apart = (p: Point) => Math.hypot(p.x - here.x, p.y - here.y) > 0.05;
  const before = at.slice(0, i).findLast(apart) ?? here;
  const after = at.slice(i + 1).find(apart) ?? here;
  const [dx, dy] = [after.x - before.x, after.y - before.y];
  const length = Math.hypot(dx, dy);
  const [nx, ny] = length > 0.01 ? [-dy / length, dx / length] : [0, -1];
  const bend = (here.x - (before.x + after.x) / 2) * nx + (here.y - (before.y + after.y) / 2) * ny;
  return { nx, ny, outside: bend >= 0 ? 1 : -1 };
}

/** The same points with more between them, on a smooth curve through all (Catmull & Rom 1974). */
function roundOff(points: readonly Point[]): Point[] {
  const curve: Point[] = [];
  for (let i = 0; i + 1 < points.length; i++) {
    const [a, b, c, d] = [points[i - 1] ?? points[i]!, points[i]!, points[i + 1]!, points[i + 2] ?? points[i + 1]!];
    for (let k = 0; k < pieces; k++) {
      const u = k / pieces;
      const through = (p: number, q: number, r: number, s: number) =>
        q + 0.5 * u * (r - p + u * (2 * p - 5 * q + 4 * r - s + u * (3 * (q - r) + s - p)));
      curve.push({ x: through(a.x, b.x, c.x, d.x), y: through(a.y, b.y, c.y, d.y) });
    }
  }
  curve.push(points.at(-1)!);
  return curve;
}

function around(x: number, y: number, width: number, height: number): ClipBox {
  return { left: x - width / 2, right: x + width / 2, top: y - height / 2, bottom: y + height / 2 };
}

function overlap(a: ClipBox, b: ClipBox): boolean {
  return a.left < b.right + 0.6 && b.left < a.right + 0.6 && a.top < b.bottom + 0.4 && b.top < a.bottom + 0.4;
}

/** Does the point lie in the box, this far from its edges? */
function isWithin({ x, y }: Point, box: ClipBox, inset: number): boolean {
  return x >= box.left + inset && x <= box.right - inset && y >= box.top + inset && y <= box.bottom - inset;
}
