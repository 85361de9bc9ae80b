import type { JointPath, SeenJoint } from '../track/motion.ts';
import { weightAt } from '../track/placements.ts';
import { type DoubtSpan, doubtLaneHeight, drawDoubtLane, placementSign } from './doubtMarks.ts';
import { PathPen } from './pathPen.ts';
import type { FrameScale } from './scales.ts';
import { type Mark, pathMark, type Scene, type TextStyle, textMark } from './scene.ts';

const small: TextStyle = { size: 11.5, font: 'text', weight: 400 };

/** What a joint's graph shows. */
export interface JointGraph {
  /** At the frames of the shot. Shape [frame]. */
  readonly path: JointPath;
  /** What the path was made from; null for joints that no detector reports. */
  readonly seen: SeenJoint | null;
  /** Place of a take time among the frames, fractional, from 0. */
  readonly frameOf: (takeSec: number) => number;
  readonly doubts: readonly DoubtSpan[];
  readonly chosen: DoubtSpan | null;
  /** Spans that the animator marked as hidden, take seconds. */
  readonly hidden: readonly { readonly startSec: number; readonly endSec: number }[];
  /** A span that is being marked, frames from 0; null = none. */
  readonly marking: { readonly from: number; readonly to: number } | null;
  /** Places across and down, or how fast. */
  readonly shows: 'place' | 'speed';
}

interface Row {
  readonly name: string;
  readonly words: string;
  readonly values: Float64Array;
  /** Sightings in the same unit, or null when they say nothing of it. Shape [picture]. */
  readonly dots: Float64Array | null;
  readonly hasBand: boolean;
  /** The placed value for each influence, or null. */
  readonly placed: readonly number[] | null;
  readonly top: number;
  readonly height: number;
}

/**
 * One joint over the shot: its doubts as a lane on top, its path across and down the picture with a band of one standard
 * deviation (which holds it two times in three), every sighting as a dot where the path follows it and as a cross where it
 * does not, placements as wedges with the reach in which they move the path. Both axes share one scale, so that equal
 * slopes are equal speeds. Or its speed.
 */
export function layOutJointGraph(
  graph: JointGraph,
  scale: FrameScale,
  now: number,
  { width, height }: { readonly width: number; readonly height: number },
): Scene {
  const { path, chosen, marking, hidden, frameOf } = graph;
  const rows = rowsOf(graph, height);
  const widest = Math.max(graph.shows === 'speed' ? 1 : 8, ...rows.map((row) => spanOf(row).high - spanOf(row).low));
  const body = height - doubtLaneHeight;
  const column = (from: number, to: number): PathPen =>
    new PathPen().rect(scale.x(from), doubtLaneHeight, (to - from) * scale.frameWidth, body);
  const guessed = new PathPen();
  for (const [k, g] of path.guessed.entries()) if (g) guessed.rect(scale.x(k), doubtLaneHeight, scale.frameWidth, body);
  const marks: Mark[] = [
    pathMark('guessed', guessed.toString(), { fill: 'tint', role: 'guessed', label: 'guessed' }),
    ...(chosen
      ? [pathMark('chosen', column(chosen.firstFrame, chosen.firstFrame + chosen.frames).toString(), chosenLook)]
      : []),
    ...hidden.map((span, i) => drawHidden(i, scale.x(frameOf(span.startSec)), scale.x(frameOf(span.endSec)), height)),
    ...(marking
      ? [
          pathMark('marking', column(marking.from, marking.to + 1).toString(), {
            fill: 'markSoft',
            stroke: 'mark',
            dash: [3, 3],
          }),
        ]
      : []),
    ...rows.flatMap((row) => drawRow(row, graph, scale, widest)),
    ...drawDoubtLane(graph.doubts, chosen, scale, 0),
    pathMark('lane', new PathPen().line(0, doubtLaneHeight, width, doubtLaneHeight).toString(), { stroke: 'line' }),
    pathMark('now', new PathPen().line(scale.middle(now), 0, scale.middle(now), height).toString(), {
      stroke: 'mark',
      strokeWidth: 1.5,
    }),
  ];
  return {
    unit: 'px',
    width,
    height,
    title: 'Path over time',
    summary:
      graph.shows === 'speed'
        ? 'Speed of the joint at each frame.'
        : 'Position across and down the picture at each frame, with a band that holds it two times in three; dots are sightings, crosses those not believed.',
    ground: null,
    marks,
  };
}

const chosenLook = { fill: 'markSoft', opacity: 0.55, role: 'chosen', label: 'the doubt looked at' } as const;

function rowsOf({ path, seen, shows }: JointGraph, height: number): Row[] {
  const top = doubtLaneHeight;
  if (shows === 'speed')
    return [
      {
        name: 'speed',
        words: 'speed',
        values: path.vxPx.map((vx, k) => Math.hypot(vx, path.vyPx[k]!)),
        dots: null,
        hasBand: false,
        placed: null,
        top,
        height: height - top,
      },
    ];
  const half = (height - top) / 2;
  const rest = { hasBand: true, height: half };
  return [
    {
      ...rest,
      name: 'x',
      words: 'across',
      values: path.xPx,
      dots: seen?.xPx ?? null,
      placed: seen?.influences.map((i) => i.placement.xPx) ?? null,
      top,
    },
    {
      ...rest,
      name: 'y',
      words: 'down',
      values: path.yPx,
      dots: seen?.yPx ?? null,
      placed: seen?.influences.map((i) => i.placement.yPx) ?? null,
      top: top + half,
    },
  ];
}

function spanOf(row: Row): { low: number; high: number } {
  let low = row.name === 'speed' ? 0 : Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const v of [...row.values, ...(row.placed ?? [])]) {
    if (Number.isNaN(v)) continue;
    low = Math.min(low, v);
    high = Math.max(high, v);
  }
  return high >= low ? { low, high } : { low: 0, high: 1 };
}

function drawRow(row: Row, { path, seen, frameOf }: JointGraph, scale: FrameScale, widest: number): Mark[] {
  const span = spanOf(row);
  const middle = (span.low + span.high) / 2;
  const room = row.height - 26;
  // Speed grows upward; places are as in the picture, downward.
  const turn = row.name === 'speed' ? -1 : 1;
  const y = (value: number): number =>
    Math.min(
      row.top + row.height - 2,
      Math.max(row.top + 2, row.top + row.height / 2 + turn * ((value - middle) / widest) * room),
    );
  const upper: [number, number][] = [];
  const lower: [number, number][] = [];
  const pen = new PathPen();
  for (const [k, value] of row.values.entries()) {
    if (Number.isNaN(value)) continue;
    const sd = path.sdPx[k] ?? 0;
    upper.push([scale.middle(k), y(value - sd)]);
    lower.push([scale.middle(k), y(value + sd)]);
    upper.length === 1 ? pen.moveTo(scale.middle(k), y(value)) : pen.lineTo(scale.middle(k), y(value));
  }
  const marks: Mark[] = [];
  if (row.hasBand && upper.length > 0)
    marks.push(
      pathMark(`band-${row.name}`, new PathPen().polygon([...upper, ...lower.reverse()]).toString(), {
        fill: 'markSoft',
      }),
    );
  const floor = row.top + row.height;
  for (const [i, influence] of (seen?.influences ?? []).entries()) {
    if (!row.placed || influence.toSec <= influence.fromSec) continue;
    const outline: [number, number][] = [];
    for (let s = 0; s <= 24; s++) {
      const sec = influence.fromSec + (s / 24) * (influence.toSec - influence.fromSec);
      outline.push([scale.x(frameOf(sec) + 0.5), floor - 12 * weightAt(influence, sec)]);
    }
    const [first, last] = [outline[0]!, outline[outline.length - 1]!];
    const frames = `${Math.round(frameOf(influence.fromSec)) + 1} to ${Math.round(frameOf(influence.toSec)) + 1}`;
    marks.push(
      pathMark(
        `reach-${row.name}-${i}`,
        new PathPen().polygon([[first[0], floor], ...outline, [last[0], floor]]).toString(),
        {
          fill: 'mark',
          opacity: 0.4,
          role: 'reach',
          label: `this placement moves the path in frames ${frames}`,
        },
      ),
    );
  }
  marks.push(pathMark(`path-${row.name}`, pen.toString(), { stroke: 'ink', strokeWidth: 1.5, role: 'path' }));
  if (row.dots && seen) marks.push(...drawSightings(row.name, row.dots, seen, y, (sec) => scale.x(frameOf(sec) + 0.5)));
  for (const [i, value] of (row.placed ?? []).entries()) {
    const x = scale.x(frameOf(seen!.influences[i]!.placement.takeSec) + 0.5);
    marks.push(
      pathMark(`placed-${row.name}-${i}`, placementSign(x, y(value), 9), {
        fill: 'ink',
        stroke: 'sheet',
        strokeWidth: 1,
        role: 'placed',
        label: 'placed by hand',
      }),
    );
  }
  marks.push(
    textMark(`name-${row.name}`, 3, row.top + 12, row.words, { ...small, colour: 'quiet' }),
    pathMark(`under-${row.name}`, new PathPen().line(scale.x(0), floor, scale.x(row.values.length), floor).toString(), {
      stroke: 'line',
    }),
  );
  return marks;
}

function drawSightings(
  name: string,
  dots: Float64Array,
  seen: SeenJoint,
  y: (value: number) => number,
  x: (takeSec: number) => number,
): Mark[] {
  const believed = new PathPen();
  const refused = new PathPen();
  for (const [i, value] of dots.entries()) {
    if (Number.isNaN(value)) continue;
    const [px, py] = [x(seen.timesSec[i]!), y(value)];
    if (seen.believed[i]) believed.circle(px, py, 1.1);
    else refused.line(px - 2.4, py - 2.4, px + 2.4, py + 2.4).line(px - 2.4, py + 2.4, px + 2.4, py - 2.4);
  }
  return [
    pathMark(`seen-${name}`, believed.toString(), { fill: 'heavy', role: 'seen', label: 'sightings' }),
    pathMark(`refused-${name}`, refused.toString(), {
      stroke: 'doubt',
      strokeWidth: 1.3,
      role: 'refused',
      label: 'sightings not believed',
    }),
  ];
}

/** A span that the animator marked as hidden: hatched. */
function drawHidden(i: number, left: number, right: number, height: number): Mark {
  const width = Math.max(2, right - left);
  const pen = new PathPen().rect(left, doubtLaneHeight, width, height - doubtLaneHeight);
  // Slanted by half: steep lines would be taken for frames.
  for (let y = doubtLaneHeight + 9; y < height + width / 2; y += 9) {
    const from = Math.max(0, (y - height) * 2);
    const to = Math.min(width, (y - doubtLaneHeight) * 2);
    if (to > from) pen.line(left + from, y - from / 2, left + to, y - to / 2);
  }
  return pathMark(`hidden-${i}`, pen.toString(), {
    stroke: 'faint',
    strokeWidth: 1,
    role: 'hidden',
    label: 'marked as hidden',
  });
}
