import type { Part } from '../base/joints.ts';
import type { Plan } from '../plan/plan.ts';
import type { Arc } from '../timing/arc.ts';
import { arcOf } from '../timing/arcs.ts';
import { partWordsWith } from '../timing/chains.ts';
import { type MoveFrames, movesOf } from '../timing/spacingChart.ts';
import { PathPen } from './pathPen.ts';
import { drawPlate } from './plate.ts';
import { StageView } from './scales.ts';
import { type Mark, pathMark, type Scene, type TextStyle, textMark } from './scene.ts';
import { layOutStage, poseAt } from './stage.ts';

/** Size of a picture, its own pixels. */
export interface PictureSize {
  readonly widthPx: number;
  readonly heightPx: number;
}

/** What is laid over the pictures of the set. */
export interface OverlayChoices extends PictureSize {
  readonly showsSkeleton: boolean;
  /** Whose paths are drawn; parts without one are left out. */
  readonly arcs: readonly Part[];
  /** Paths of the whole shot, or of the move around the frame alone. */
  readonly reach: 'shot' | 'move';
  /** Pose numbers at the ticks, pose and frame in the corner. */
  readonly showsNumbers: boolean;
}

/**
 * The longer side of every overlay in scene units: lines and letters are as heavy, against the picture, as on a screen of this size,
 * however many pixels it has.
 */
const longestSide = 1280;
const large: TextStyle = { size: 34, font: 'mono', weight: 700 };
const words: TextStyle = { size: 17, font: 'mono', weight: 400 };
/** Width of a mono letter, in its size. */
const monoEm = 0.632;
/** Numbers nearer to one another than this would run together, scene units. */
const apart = 22;

/** The sizes of a scene for a picture, and how many of the picture's pixels one scene unit is. */
export function sceneSize({ widthPx, heightPx }: PictureSize): { width: number; height: number; pxPerUnit: number } {
  const pxPerUnit = Math.max(widthPx, heightPx) / longestSide;
  return { width: widthPx / pxPerUnit, height: heightPx / pxPerUnit, pxPerUnit };
}

/**
 * What lies over the picture of one exposure, without ground: drawn by the layout of the screen (see `layOutStage`). The take's picture
 * is shown whole and centred; a picture of another shape has bands beside it, as a player would show the take.
 * @param frame from 0; its exposure's first frame is shown, since that is the pose which stands before the camera.
 */
export function layOutPictureOverlay(plan: Plan, frame: number, choices: OverlayChoices): Scene {
  const { timing, footage, book } = plan;
  const { width, height } = sceneSize(choices);
  const view = StageView.fit(footage.widthPx, footage.heightPx, width, height);
  const exposure = timing.exposures.findLast((e) => e.firstFrame <= frame);
  const shown = exposure?.firstFrame ?? frame;
  const span = choices.reach === 'move' ? moveAt(movesOf(timing), shown) : wholeShot(plan);
  const arcs = span
    ? choices.arcs.filter((part) => timing.motion.paths.has(part)).map((part) => within(arcOf(timing, part), span))
    : [];
  const stage = layOutStage({
    ...{ view, width, height, arcs },
    pose: choices.showsSkeleton ? poseAt(timing.motion, shown) : null,
    words: partWordsWith(book.props),
    onions: [],
    frame: shown,
    chosen: null,
  });
  const numbers = choices.showsNumbers
    ? [...arcs.flatMap((arc) => tickNumbers(plan, arc, view, shown)), ...corner(plan, frame, height)]
    : [];
  return { ...stage, title: `Frame ${frame + 1}`, marks: [...stage.marks, ...numbers] };
}

/** The pose of a frame as the sheet numbers it; null before the first. */
function poseNumberAt({ poses }: Plan, frame: number): number | null {
  return poses.findLast((p) => p.firstFrame <= frame)?.number ?? null;
}

function wholeShot({ timing }: Plan): MoveFrames {
  return { firstFrame: 0, lastFrame: timing.grid.frameCount - 1 };
}

/** The move that a frame lies in; at rest the one that comes next, since that is the one to be animated; the last after all. */
function moveAt(moves: readonly MoveFrames[], frame: number): MoveFrames | null {
  return moves.find((m) => frame < m.lastFrame) ?? moves.at(-1) ?? null;
}

/** The arc between two frames, both inclusive; where it is not known no tick is drawn. */
function within(arc: Arc, { firstFrame, lastFrame }: MoveFrames): Arc {
  const cut = (px: Float64Array) => px.map((v, k) => (k < firstFrame || k > lastFrame ? Number.NaN : v));
  return { ...arc, xPx: cut(arc.xPx), yPx: cut(arc.yPx) };
}

/**
 * Pose numbers beside the ticks where there is room for them, keys first. The pose on screen has a ring and the part's name there, and
 * its number in the corner.
 */
function tickNumbers(plan: Plan, arc: Arc, view: StageView, shown: number): Mark[] {
  const keys = new Set(plan.poses.filter((p) => p.key?.kind === 'key').map((p) => p.firstFrame));
  // An exposure that shows the pose before it again is the same pose: one number is enough.
  const numbers = new Map(plan.poses.map((p) => [p.firstFrame, p.number]));
  const ticks = arc.tickFrames
    .filter((k) => numbers.has(k) && k !== shown)
    .sort((a, b) => Number(keys.has(b)) - Number(keys.has(a)) || a - b);
  const taken = [view.toScreen(arc.xPx[shown] ?? Number.NaN, arc.yPx[shown] ?? Number.NaN)];
  return ticks.flatMap((tick) => {
    const [x, y] = view.toScreen(arc.xPx[tick]!, arc.yPx[tick]!);
    if (Number.isNaN(x + y)) return [];
    const [dx, dy] = asideOf(arc, tick);
    const at = [x + 16 * dx, y + 16 * dy] as const;
    if (taken.some(([tx, ty]) => Math.hypot(tx - at[0], ty - at[1]) < apart)) return [];
    taken.push(at);
    return drawPlate(`pose-${arc.joint}-${tick}`, String(numbers.get(tick)), at[0], at[1], 'pose', 'overMiddle');
  });
}

/** Square to the path at a frame, to the side that is higher on screen; up where the path stands still. */
function asideOf({ xPx, yPx }: Arc, frame: number): readonly [number, number] {
  const known = (k: number) => !Number.isNaN((xPx[k] ?? Number.NaN) + (yPx[k] ?? Number.NaN));
  const [from, to] = [known(frame - 1) ? frame - 1 : frame, known(frame + 1) ? frame + 1 : frame];
  const [dx, dy] = [xPx[to]! - xPx[from]!, yPx[to]! - yPx[from]!];
  const length = Math.hypot(dx, dy);
  if (!(length > 0.2)) return [0, -1];
  const [ax, ay] = [dy / length, -dx / length];
  return ay > 0 ? [-ax, -ay] : [ax, ay];
}

/** Which pose and frame it is, in the lower left corner. */
function corner(plan: Plan, frame: number, height: number): Mark[] {
  const pose = poseNumberAt(plan, frame);
  const said = `frame ${frame + 1}`;
  const number = pose === null ? '' : String(pose);
  const left = 18;
  const gap = number.length * large.size * monoEm;
  const right = left + gap + 14 + said.length * words.size * monoEm + 14;
  const [top, floor] = [height - 62, height - 14];
  return [
    pathMark('corner', new PathPen().rect(left - 10, top, right - left + 10, floor - top).toString(), {
      fill: 'casing',
      opacity: 0.72,
    }),
    textMark('corner-pose', left, floor - 13, number, { ...large, colour: 'overMark', role: 'pose' }),
    textMark('corner-frame', left + gap + 14, floor - 13, said, { ...words, colour: 'overMiddle', role: 'frame' }),
  ];
}
