import type { Part } from '../base/joints.ts';
import type { Timing } from './timing.ts';

/** What may be wrong with an arc. */
export type ArcFaultKind =
  /** One pose leaves the path that its neighbours draw. */
  | 'pop'
  /** One pose goes back, though the poses before and after go on. */
  | 'reversal'
  /** Equal steps up to a stop, where an ease is expected. */
  | 'evenSpacing'
  /** Wanders slowly while it is held. */
  | 'holdDrift'
  /** A foot moves though it stands. */
  | 'footSlide'
  /** A knee leaps into or out of the straight leg. */
  | 'kneeSnap';

/** A fault of a part's movement, larger than errors of the tracks explain. */
export interface ArcFault {
  readonly kind: ArcFaultKind;
  /** The part that is seen to do it. */
  readonly part: Part;
  /** First frame of it, from 0, and how many frames it lasts. */
  readonly firstFrame: number;
  readonly frames: number;
  /** The frame to look at, from 0: the first frame of the exposure that is wrong, or where it is worst. */
  readonly atFrame: number;
  /** How large it is, picture pixels: what this measures is in `why`; and its standard deviation. */
  readonly sizePx: number;
  readonly sdPx: number;
  /** The same in puppet millimetres; NaN where nothing tells how large things are. */
  readonly sizeMm: number;
  readonly sdMm: number;
  /** What is wrong, with frames from 1 as on screen and paper. */
  readonly sentence: string;
  /** How it was measured and against what. */
  readonly why: string;
}

/** A part as it is called: "left wrist", or the animator's name of a marked point. */
export type PartWords = (part: Part) => string;

/** Which poses are looked at: those that will be shot, or every frame of the shot. */
export type FaultPoses = 'exposures' | 'frames';

/** One part's poses in order. Columns have shape [pose]. */
export interface Poses {
  readonly part: Part;
  /** First frame of each pose. */
  readonly frame: readonly number[];
  /** Frames that it stays on screen. */
  readonly lasts: readonly number[];
  /** Pixels. NaN where not known. */
  readonly x: Float64Array;
  readonly y: Float64Array;
}

/** A part's poses as they will be shot, or at every frame; null when it has no path. */
export function posesOf(timing: Timing, part: Part, which: FaultPoses): Poses | null {
  const path = timing.motion.paths.get(part);
  if (!path) return null;
  const all = which === 'frames';
  const frame = all
    ? Array.from({ length: timing.grid.frameCount }, (_, k) => k)
    : timing.exposures.map((e) => e.firstFrame);
  return {
    part,
    frame,
    lasts: all ? frame.map(() => 1) : timing.exposures.map((e) => e.frames),
    x: Float64Array.from(frame, (f) => path.xPx[f]!),
    y: Float64Array.from(frame, (f) => path.yPx[f]!),
  };
}

/** How large a fault is, in pixels and in millimetres. */
export function faultSize(
  { mmPerPx }: Timing,
  sizePx: number,
  sdPx: number,
): Pick<ArcFault, 'sizePx' | 'sdPx' | 'sizeMm' | 'sdMm'> {
  return { sizePx, sdPx, sizeMm: sizePx * mmPerPx, sdMm: sdPx * mmPerPx };
}
