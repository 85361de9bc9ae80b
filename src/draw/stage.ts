import { bones, isProp, type Joint, joints, jointWords, type Part } from '../base/joints.ts';
import type { Arc } from '../timing/arc.ts';
import type { Circle } from '../timing/circleFit.ts';
import type { Motion } from '../track/motion.ts';
import { PathPen } from './pathPen.ts';
import type { StageView } from './scales.ts';
import { type Mark, pathMark, type Scene, textMark } from './scene.ts';
import type { ColourName } from './tokens.ts';

/** Where a joint is in the picture. */
export interface PosePoint {
  /** Upright video pixels. */
  readonly xPx: number;
  readonly yPx: number;
  /** Standard deviation along one axis, pixels; 0 = none to show. */
  readonly sdPx: number;
  /** True where it is filled in rather than seen. */
  readonly guessed: boolean;
}

/** The body in one picture; joints that are not known are missing. */
export type Pose = ReadonlyMap<Joint, PosePoint>;

/** What is laid over the picture of the take. */
export interface StageOverlay {
  readonly view: StageView;
  /** Screen pixels. */
  readonly width: number;
  readonly height: number;
  /** The body now; null = not drawn. */
  readonly pose: Pose | null;
  /** Bodies of other exposures, drawn thin: the nearest in time first. */
  readonly onions: readonly Pose[];
  readonly arcs: readonly Arc[];
  /** What the parts of arcs are called; absent = as joints are. */
  readonly words?: (part: Part) => string;
  /** A circle fitted to an arc, pixels of the picture; absent or null = none. */
  readonly circle?: Circle | null;
  /** The frame on screen (from 0), marked on the arcs. */
  readonly frame: number;
  /** A joint that is looked at: ringed, with its deviation. Null = none. */
  readonly chosen: Joint | null;
}

/** The pose of a motion at one of its times. */
export function poseAt(motion: Motion, index: number): Pose {
  const pose = new Map<Joint, PosePoint>();
  for (const [joint, path] of motion.paths) {
    if (isProp(joint)) continue;
    const xPx = path.xPx[index] ?? Number.NaN;
    const yPx = path.yPx[index] ?? Number.NaN;
    if (Number.isNaN(xPx) || Number.isNaN(yPx)) continue;
    pose.set(joint, { xPx, yPx, sdPx: path.sdPx[index] ?? 0, guessed: path.guessed[index] === 1 });
  }
  return pose;
}

/** The overlay as a scene in screen pixels, without ground. */
export function layOutStage(overlay: StageOverlay): Scene {
  const { width, height, pose, onions, arcs } = overlay;
  const marks: Mark[] = [];
  for (const [i, onion] of onions.entries()) marks.push(...drawOnion(onion, i, overlay));
  for (const [i, arc] of arcs.entries()) marks.push(...drawArc(arc, i, overlay));
  if (overlay.circle) marks.push(...drawCircle(overlay.circle, overlay.view));
  if (pose) marks.push(...drawPose(pose, overlay));
  return {
    unit: 'px',
    width,
    height,
    title: 'Joints over the picture',
    summary:
      arcs.length > 0
        ? `Arcs of ${arcs.map((a) => (overlay.words ?? jointWords)(a.joint)).join(', ')}`
        : 'The body as tracked',
    ground: null,
    marks,
  };
}

type Side = 'left' | 'right' | 'middle';
const colours: Record<Side, ColourName> = { left: 'overLeft', right: 'overRight', middle: 'overMiddle' };
/** Screen pixels. The right side's lines are broken as well as of another colour. */
const looks = { bone: 2.6, casing: 4.6, joint: 3.6, dash: [5, 4] } as const;

/** Faces are drawn by the nose and ears alone: eyes would clutter a head of twenty pixels. */
const faceJoints: ReadonlySet<Joint> = new Set(['leftEye', 'rightEye', 'mouth', 'chin']);

function sideOf(joint: Joint): Side {
  return joint.startsWith('left') ? 'left' : joint.startsWith('right') ? 'right' : 'middle';
}

function drawPose(pose: Pose, { view, chosen }: StageOverlay): Mark[] {
  const marks: Mark[] = [];
  const lines = bones.flatMap((bone) => {
    const a = pose.get(bone.from);
    const b = pose.get(bone.to);
    if (!a || !b) return [];
    const d = new PathPen().line(...view.toScreen(a.xPx, a.yPx), ...view.toScreen(b.xPx, b.yPx)).toString();
    return [{ bone, d, guessed: a.guessed || b.guessed }];
  });
  for (const { bone, d } of lines)
    marks.push(
      pathMark(`casing-${bone.from}-${bone.to}`, d, { stroke: 'casing', strokeWidth: looks.casing, opacity: 0.75 }),
    );
  for (const { bone, d, guessed } of lines)
    marks.push(
      pathMark(`bone-${bone.from}-${bone.to}`, d, {
        stroke: colours[bone.side],
        strokeWidth: bone.side === 'middle' ? looks.bone + 0.6 : looks.bone,
        dash: guessed ? [1.5, 4] : bone.side === 'right' ? looks.dash : [],
      }),
    );
  for (const joint of joints) {
    const point = pose.get(joint);
    if (!point || faceJoints.has(joint)) continue;
    marks.push(...drawJoint(joint, point, view, joint === chosen));
  }
  return marks;
}

function drawJoint(joint: Joint, point: PosePoint, view: StageView, isChosen: boolean): Mark[] {
  const [x, y] = view.toScreen(point.xPx, point.yPx);
  const side = sideOf(joint);
  const marks: Mark[] = [];
  const words = `${jointWords(joint)}${point.guessed ? ', guessed' : ''}`;
  if (isChosen && point.sdPx > 0) {
    // Twice the deviation: where the joint is 19 times in 20.
    const reach = Math.max(looks.joint + 3, 2 * point.sdPx * view.scale);
    const ring = new PathPen().circle(x, y, reach).toString();
    marks.push(pathMark(`sure-${joint}-casing`, ring, { stroke: 'casing', strokeWidth: 3.4, opacity: 0.7 }));
    marks.push(pathMark(`sure-${joint}`, ring, { stroke: 'overMark', strokeWidth: 1.6 }));
  }
  marks.push(
    pathMark(`joint-${joint}`, jointShape(side, x, y, looks.joint), {
      fill: point.guessed ? 'casing' : colours[side],
      stroke: point.guessed ? colours[side] : 'casing',
      strokeWidth: 1.4,
      role: 'joint',
      label: words,
    }),
  );
  return marks;
}

/** Left is square, right is round, the middle is a diamond: told apart without colour. */
function jointShape(side: Side, x: number, y: number, r: number): string {
  const pen = new PathPen();
  if (side === 'right') return pen.circle(x, y, r).toString();
  if (side === 'left') return pen.rect(x - r * 0.9, y - r * 0.9, r * 1.8, r * 1.8).toString();
  const d = r * 1.25;
  return pen
    .polygon([
      [x, y - d],
      [x + d, y],
      [x, y + d],
      [x - d, y],
    ])
    .toString();
}

function drawOnion(pose: Pose, place: number, { view }: StageOverlay): Mark[] {
  const pen = new PathPen();
  for (const bone of bones) {
    const a = pose.get(bone.from);
    const b = pose.get(bone.to);
    if (a && b) pen.line(...view.toScreen(a.xPx, a.yPx), ...view.toScreen(b.xPx, b.yPx));
  }
  const opacity = Math.max(0.18, 0.6 - 0.14 * Math.floor(place / 2));
  return [pathMark(`onion-${place}`, pen.toString(), { stroke: 'overMiddle', strokeWidth: 1.5, opacity })];
}

/** A fitted circle: a thin broken line with a cross at its centre. */
function drawCircle(circle: Circle, view: StageView): Mark[] {
  const [x, y] = view.toScreen(circle.x, circle.y);
  const d = new PathPen()
    .circle(x, y, circle.radius * view.scale)
    .line(x - 6, y, x + 6, y)
    .line(x, y - 6, x, y + 6)
    .toString();
  return [
    pathMark('circle-casing', d, { stroke: 'casing', strokeWidth: 3, opacity: 0.6 }),
    pathMark('circle', d, { stroke: 'overMiddle', strokeWidth: 1.2, dash: [3, 3], role: 'circle' }),
  ];
}

/** Dashes tell arcs of several joints apart where colour does not: by their place in the list. */
const arcDashes: readonly (readonly number[])[] = [[], [7, 4], [2, 4], [9, 3, 2, 3]];
const arcColours: readonly ColourName[] = ['overMark', 'overLeft', 'overRight', 'overMiddle'];

function drawArc(arc: Arc, place: number, overlay: StageOverlay): Mark[] {
  const { view, frame } = overlay;
  const words = (overlay.words ?? jointWords)(arc.joint);
  const id = `arc-${arc.joint}`;
  const colour = arcColours[place % arcColours.length] ?? 'overMark';
  const pen = new PathPen();
  let isDown = false;
  for (let k = 0; k < arc.xPx.length; k++) {
    const [x, y] = view.toScreen(arc.xPx[k]!, arc.yPx[k]!);
    if (Number.isNaN(x)) {
      isDown = false;
      continue;
    }
    isDown ? pen.lineTo(x, y) : pen.moveTo(x, y);
    isDown = true;
  }
  const d = pen.toString();
  const marks: Mark[] = [
    pathMark(`${id}-casing`, d, { stroke: 'casing', strokeWidth: 4, opacity: 0.65 }),
    pathMark(id, d, { stroke: colour, strokeWidth: 1.8, dash: arcDashes[place % arcDashes.length] ?? [], role: 'arc' }),
  ];
  for (const tick of arc.tickFrames) {
    const [x, y] = view.toScreen(arc.xPx[tick] ?? Number.NaN, arc.yPx[tick] ?? Number.NaN);
    if (Number.isNaN(x)) continue;
    marks.push(
      pathMark(`${id}-tick-${tick}`, new PathPen().circle(x, y, 2.9).toString(), {
        fill: arc.guessed[tick] ? 'casing' : colour,
        stroke: arc.guessed[tick] ? colour : 'casing',
        strokeWidth: 1.2,
        role: 'tick',
        label: `${words}, frame ${tick + 1}${arc.guessed[tick] ? ', guessed' : ''}`,
      }),
    );
  }
  const now = view.toScreen(arc.xPx[frame] ?? Number.NaN, arc.yPx[frame] ?? Number.NaN);
  if (!Number.isNaN(now[0])) {
    const ring = new PathPen().circle(now[0], now[1], 7).toString();
    marks.push(pathMark(`${id}-now-casing`, ring, { stroke: 'casing', strokeWidth: 4, opacity: 0.7 }));
    marks.push(pathMark(`${id}-now`, ring, { stroke: colour, strokeWidth: 2 }));
    const [tx, ty] = [now[0] + 11, now[1] - 9];
    const face = { size: 13, font: 'text', weight: 700 } as const;
    // A casing for letters: the same words a pixel to each side.
    for (const [i, [dx, dy]] of [
      [-1, 0],
      [1, 0],
      [0, -1],
      [0, 1],
    ].entries())
      marks.push(textMark(`${id}-name-casing-${i}`, tx + dx!, ty + dy!, words, { ...face, colour: 'casing' }));
    marks.push(textMark(`${id}-name`, tx, ty, words, { ...face, colour }));
  }
  return marks;
}
