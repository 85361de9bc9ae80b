import type { Part } from '../base/joints.ts';
import type { JointPath, Motion } from '../track/motion.ts';

/**
 * A line of the body that carries other parts along: its middle is the origin, its direction turns with it.
 */
export interface BodyFrame {
  /** As an animator says it: "shoulder line". */
  readonly name: string;
  readonly from: Part;
  readonly to: Part;
  /** Is its length taken for the unit, so that coming nearer to the lens (or turning from it) is taken out too? */
  readonly scales: boolean;
}

/** Where a body frame is. Columns have shape [time]. */
export interface BodyFramePath {
  /** Middle of the line, pixels. NaN where an end is not known. */
  readonly xPx: Float64Array;
  readonly yPx: Float64Array;
  /** Direction from `from` to `to`, radians, y down, made continuous. NaN where the line is too short to have one. */
  readonly angle: Float64Array;
  /** Pixels. */
  readonly lengthPx: Float64Array;
  /** Standard deviation of the middle along one axis, pixels, and of the direction, radians. */
  readonly sdPx: Float64Array;
  readonly angleSd: Float64Array;
  readonly guessed: Uint8Array;
}

/** A line shorter than this many standard deviations of its ends has no direction worth the name. */
const leastSds = 4;

/** The line between two parts at each time of a motion; null when either has no path. */
export function bodyFramePath(motion: Motion, frame: BodyFrame): BodyFramePath | null {
  const a = motion.paths.get(frame.from);
  const b = motion.paths.get(frame.to);
  if (!a || !b) return null;
  const angle = new Float64Array(a.xPx.length);
  let before = Number.NaN;
  for (let k = 0; k < angle.length; k++) {
    const turned = directionAt(a, b, k);
    const turns = Number.isNaN(before) || Number.isNaN(turned) ? 0 : Math.round((turned - before) / (2 * Math.PI));
    angle[k] = turned - turns * 2 * Math.PI;
    if (!Number.isNaN(turned)) before = angle[k]!;
  }
  const lengthPx = a.xPx.map((x, k) => Math.hypot(b.xPx[k]! - x, b.yPx[k]! - a.yPx[k]!));
  return {
    xPx: a.xPx.map((x, k) => (x + b.xPx[k]!) / 2),
    yPx: a.yPx.map((y, k) => (y + b.yPx[k]!) / 2),
    angle,
    lengthPx,
    sdPx: a.sdPx.map((sd, k) => Math.hypot(sd, b.sdPx[k]!) / 2),
    angleSd: a.sdPx.map((sd, k) => Math.hypot(sd, b.sdPx[k]!) / lengthPx[k]!),
    guessed: a.guessed.map((g, k) => (g || b.guessed[k] ? 1 : 0)),
  };
}

function directionAt(a: JointPath, b: JointPath, k: number): number {
  const dx = b.xPx[k]! - a.xPx[k]!;
  const dy = b.yPx[k]! - a.yPx[k]!;
  const sd = Math.hypot(a.sdPx[k]!, b.sdPx[k]!) / Math.SQRT2;
  return Math.hypot(dx, dy) > Math.max(1e-9, leastSds * sd) ? Math.atan2(dy, dx) : Number.NaN;
}

/**
 * The lines of the body that parts are usefully seen from, those that can be: shoulder line, hip line and head. The head is the
 * line between the ears, or between the nose and the ear that is further from it where the head is seen from the side.
 */
export function bodyFramesOf(motion: Motion, scales = false): BodyFrame[] {
  const lines: BodyFrame[] = [
    { name: 'shoulder line', from: 'leftShoulder', to: 'rightShoulder', scales },
    { name: 'hip line', from: 'leftHip', to: 'rightHip', scales },
    ...headLine(motion, scales),
  ];
  return lines.filter((line) => known(motion, line) > 0.5);
}

/** The head line with the best known direction. */
function headLine(motion: Motion, scales: boolean): BodyFrame[] {
  const name = 'head';
  const lines: BodyFrame[] = [
    { name, from: 'leftEar', to: 'rightEar', scales },
    { name, from: 'nose', to: 'leftEar', scales },
    { name, from: 'nose', to: 'rightEar', scales },
  ];
  const rated = lines.map((line) => ({ line, sd: typicalAngleSd(motion, line) }));
  rated.sort((a, b) => a.sd - b.sd);
  return rated[0] && Number.isFinite(rated[0].sd) ? [rated[0].line] : [];
}

/** Part of the times at which a line has a direction. */
function known(motion: Motion, line: BodyFrame): number {
  const path = bodyFramePath(motion, line);
  if (!path || path.angle.length === 0) return 0;
  return path.angle.reduce((n, v) => n + (Number.isNaN(v) ? 0 : 1), 0) / path.angle.length;
}

/** The ninth decile of a line's angle sd, radians; where nothing is known of the errors, of 1 / length. Infinity without a path. */
function typicalAngleSd(motion: Motion, line: BodyFrame): number {
  const path = bodyFramePath(motion, line);
  if (!path || path.angle.length === 0) return Number.POSITIVE_INFINITY;
  const sds = Array.from(path.angleSd, (sd, k) => (sd > 0 ? sd : 1e-6 / path.lengthPx[k]!));
  for (let k = 0; k < sds.length; k++) if (!Number.isFinite(sds[k]!)) sds[k] = Number.POSITIVE_INFINITY;
  sds.sort((a, b) => a - b);
  return sds[Math.floor(0.9 * (sds.length - 1))]!;
}
