import type { Joint } from '../base/joints.ts';
import { jointWords } from '../base/joints.ts';
import type { DoubtCode } from '../track/motion.ts';
import { drawDoubtSign, placementSign } from './doubtMarks.ts';
import { PathPen } from './pathPen.ts';
import type { StageView } from './scales.ts';
import { type Mark, pathMark } from './scene.ts';
import type { Pose } from './stage.ts';

/** What is said about joints on the picture of one moment. */
export interface JointNotes {
  readonly view: StageView;
  readonly pose: Pose;
  /** Joints doubted at this moment. */
  readonly doubted: readonly { readonly joint: Joint; readonly code: DoubtCode }[];
  /** Joints placed by hand in this picture, upright pixels. */
  readonly placed: readonly { readonly joint: Joint; readonly xPx: number; readonly yPx: number }[];
  /** The chosen joint's way around this moment, upright pixels; NaN = unknown. */
  readonly way: readonly { readonly xPx: number; readonly yPx: number; readonly isMoved: boolean }[];
}

/**
 * Marks over the picture on the Tracks screen: the way of the chosen joint (thicker where a placement moves it), a sign
 * beside each doubted joint, and a wedge on each that was placed by hand.
 */
export function drawJointNotes({ view, pose, doubted, placed, way }: JointNotes): Mark[] {
  const marks: Mark[] = [];
  const line = (only: 'all' | 'moved'): string => {
    const pen = new PathPen();
    let isDown = false;
    for (const at of way) {
      if (Number.isNaN(at.xPx) || (only === 'moved' && !at.isMoved)) {
        isDown = false;
        continue;
      }
      const [x, y] = view.toScreen(at.xPx, at.yPx);
      isDown ? pen.lineTo(x, y) : pen.moveTo(x, y);
      isDown = true;
    }
    return pen.toString();
  };
  const whole = line('all');
  if (whole !== '')
    marks.push(
      pathMark('way-casing', whole, { stroke: 'casing', strokeWidth: 3.6, opacity: 0.6 }),
      pathMark('way-moved', line('moved'), { stroke: 'overMark', strokeWidth: 4, opacity: 0.55, role: 'reach' }),
      pathMark('way', whole, { stroke: 'overMark', strokeWidth: 1.5, role: 'way' }),
    );
  const told = new Map<Joint, number>();
  for (const { joint, code } of doubted) {
    const at = pose.get(joint);
    if (!at) continue;
    const place = told.get(joint) ?? 0;
    told.set(joint, place + 1);
    const [x, y] = view.toScreen(at.xPx, at.yPx);
    const [sx, sy] = [x + 17 + 19 * place, y - 13];
    marks.push(
      pathMark(`doubt-${joint}-${code}-ground`, new PathPen().circle(sx, sy, 9.5).toString(), {
        fill: 'casing',
        opacity: 0.85,
      }),
      drawDoubtSign(`doubt-${joint}-${code}`, code, sx, sy, 5.5, 'overMiddle', {
        label: `${jointWords(joint)}: ${code}`,
      }),
    );
  }
  for (const { joint, xPx, yPx } of placed) {
    const [x, y] = view.toScreen(xPx, yPx);
    marks.push(
      pathMark(`placed-${joint}`, placementSign(x, y - 4, 13), {
        fill: 'overMark',
        stroke: 'casing',
        strokeWidth: 1.6,
        role: 'placed',
        label: `${jointWords(joint)}, placed by hand`,
      }),
    );
  }
  return marks;
}
