import { jointWords } from '../base/joints.ts';
import type { Point } from '../base/twoBones.ts';
import type { ComparedArc } from '../compare/comparedArc.ts';
import { PathPen } from './pathPen.ts';
import { drawPlate, plateHeight, plateWidth } from './plate.ts';
import { type Mark, pathMark, type Scene } from './scene.ts';

/** Where an arc's millimetres lie in a scene. */
export interface ArcPlacing {
  /** From millimetres (y down) to scene units. */
  readonly place: (xMm: number, yMm: number) => Point;
  /** Scene units for one millimetre. */
  readonly perMm: number;
  /** A length as it is said there: "6.2 mm". */
  readonly said: (mm: number) => string;
}

/** What lies over a shot's picture. */
export interface ComparedArcOverlay extends ArcPlacing {
  readonly width: number;
  readonly height: number;
  /** The exposure whose picture is on screen, an index as in `arc.exposures`: its poses are ringed. */
  readonly exposure: number;
}

/** Scene units. The plan is broken and its poses are hollow, the shot unbroken and its poses are full: told apart in grey, too. */
const looks = { line: 1.8, casing: 4.2, dash: [7, 4], pose: 3, hollow: 3.4, told: 3, beside: 13 } as const;
/** A pose is where it is within so many standard deviations, 19 times in 20. */
const sureSds = 2;

/** Both ways as a scene without ground, to lie over the picture. */
export function layOutComparedArc(arc: ComparedArc, overlay: ComparedArcOverlay): Scene {
  const { width, height } = overlay;
  const off = offAt(arc);
  return {
    unit: 'px',
    width,
    height,
    title: 'Both arcs over the picture',
    summary: `The ${jointWords(arc.joint)} as planned (broken) and as shot (unbroken)${
      Number.isNaN(off) ? '' : `, ${overlay.said(off)} apart at frame ${arc.frames[arc.at]! + 1}`
    }.`,
    ground: null,
    marks: drawComparedArc(arc, overlay),
  };
}

/** How far apart both are at the pose that is told of, millimetres; NaN = not known. */
export function offAt({ plan, shot, at }: ComparedArc): number {
  return Math.hypot(shot[at]![0] - plan[at]![0], shot[at]![1] - plan[at]![1]);
}

/**
 * Both ways over a picture: the plan broken with hollow poses, the shot unbroken with full ones, and the way between them at the pose that
 * is told of, with its length and twice its deviation.
 */
function drawComparedArc(arc: ComparedArc, overlay: ComparedArcOverlay): Mark[] {
  const { place, exposure } = overlay;
  const id = `compared-${arc.joint}`;
  const [planLine, shotLine] = [curveOf(arc.planCurve, place), curveOf(arc.shotCurve, place)];
  const marks: Mark[] = [
    pathMark(`${id}-plan-casing`, planLine, { stroke: 'casing', strokeWidth: looks.casing, opacity: 0.65 }),
    pathMark(`${id}-shot-casing`, shotLine, { stroke: 'casing', strokeWidth: looks.casing, opacity: 0.65 }),
    pathMark(`${id}-plan`, planLine, {
      stroke: 'overMiddle',
      strokeWidth: looks.line,
      dash: looks.dash,
      role: 'plannedArc',
    }),
    pathMark(`${id}-shot`, shotLine, { stroke: 'overMark', strokeWidth: looks.line, role: 'shotArc' }),
  ];
  const [line, names] = drawOff(arc, overlay, id);
  marks.push(...line);
  arc.frames.forEach((frame, k) => {
    const words = `${jointWords(arc.joint)}, frame ${frame + 1}`;
    const [plan, shot] = [place(...arc.plan[k]!), place(...arc.shot[k]!)];
    if (isKnown(plan))
      marks.push(
        pathMark(`${id}-plan-${frame}`, new PathPen().circle(...plan, looks.hollow).toString(), {
          fill: 'casing',
          stroke: 'overMiddle',
          strokeWidth: 1.4,
          role: 'plannedPose',
          label: `${words}, planned`,
        }),
      );
    if (isKnown(shot))
      marks.push(
        pathMark(`${id}-shot-${frame}`, new PathPen().circle(...shot, looks.pose).toString(), {
          fill: 'overMark',
          stroke: 'casing',
          strokeWidth: 1.2,
          role: 'shotPose',
          label: `${words}, shot`,
        }),
      );
  });
  const here = arc.exposures.indexOf(exposure);
  if (here >= 0 && here !== arc.at) marks.push(...ring(`${id}-now`, place(...arc.shot[here]!), 7));
  return [...marks, ...names];
}

/**
 * The way from the planned to the shot place, and what is written at both ends, which lies over the poses. It says what the length is
 * measured from: a sentence may tell another one, of the pose against its neighbours.
 */
function drawOff(arc: ComparedArc, overlay: ComparedArcOverlay, id: string): [line: Mark[], names: Mark[]] {
  const { place, perMm, said } = overlay;
  const [plan, shot] = [place(...arc.plan[arc.at]!), place(...arc.shot[arc.at]!)];
  if (!isKnown(plan) || !isKnown(shot)) return [[], []];
  const d = new PathPen().line(...plan, ...shot).toString();
  const way = aside(plan, shot);
  const sure = Number.isNaN(arc.sdMm) ? 0 : sureSds * arc.sdMm * perMm;
  const off = said(offAt(arc));
  const line = [
    pathMark(`${id}-off-casing`, d, { stroke: 'casing', strokeWidth: looks.told + 3, opacity: 0.8 }),
    pathMark(`${id}-off`, d, { stroke: 'overMark', strokeWidth: looks.told, role: 'deviation', label: off }),
  ];
  const shotAway = Math.max(looks.beside, sure + looks.pose + 3);
  const names = [
    ...ring(`${id}-sure`, shot, Math.max(looks.pose + 3, sure)),
    ...named(`${id}-name-plan`, 'plan', plan, [-way[0], -way[1]], looks.beside, 'overMiddle', overlay),
    ...named(`${id}-name-shot`, `${off} off the plan`, shot, way, shotAway, 'overMark', overlay),
  ];
  return [line, names];
}

/** Which way a name stands off: on along the deviation; up where there is none to see. */
function aside(from: Point, to: Point): Point {
  const long = Math.hypot(to[0] - from[0], to[1] - from[1]);
  return long > 1 ? [(to[0] - from[0]) / long, (to[1] - from[1]) / long] : [0, -1];
}

function named(
  id: string,
  text: string,
  [x, y]: Point,
  [dx, dy]: Point,
  away: number,
  colour: 'overMiddle' | 'overMark',
  { width, height }: ComparedArcOverlay,
): Mark[] {
  const [halfWidth, halfHeight] = [plateWidth(text) / 2, plateHeight / 2];
  // All of the plate lies beyond, not over the arcs; where the picture ends it is still to be read.
  const reach = away + halfWidth * Math.abs(dx) + halfHeight * Math.abs(dy);
  const within = (middle: number, half: number, size: number) => Math.max(half, Math.min(size - half, middle));
  return drawPlate(
    id,
    text,
    within(x + dx * reach, halfWidth, width),
    within(y + dy * reach, halfHeight, height),
    'name',
    colour,
  );
}

function ring(id: string, [x, y]: Point, r: number): Mark[] {
  if (!isKnown([x, y])) return [];
  const d = new PathPen().circle(x, y, r).toString();
  return [
    pathMark(`${id}-casing`, d, { stroke: 'casing', strokeWidth: 3.2, opacity: 0.7 }),
    pathMark(id, d, { stroke: 'overMark', strokeWidth: 1.4 }),
  ];
}

function curveOf(points: readonly Point[], place: ArcPlacing['place']): string {
  const pen = new PathPen();
  let isDown = false;
  for (const point of points) {
    const at = place(...point);
    if (isKnown(at)) isDown ? pen.lineTo(...at) : pen.moveTo(...at);
    isDown = isKnown(at);
  }
  return pen.toString();
}

function isKnown([x, y]: Point): boolean {
  return !Number.isNaN(x + y);
}
