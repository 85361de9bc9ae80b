import { assert, present } from '../base/assert.ts';
import type { Part } from '../base/joints.ts';
import { type EaseFit, fitEase } from './easeFit.ts';
import { type ChartDistance, distancesToCharts } from './idealCharts.ts';
import { filmedPath, type SpacedPath } from './spacedPath.ts';
import type { Exposure, Hold, Timing } from './timing.ts';

/** The frames of one move of one part: from the exposure that shows the first pose to the one that shows the last. */
export interface MoveFrames {
  /** First frames of exposures, rising. */
  readonly firstFrame: number;
  readonly lastFrame: number;
}

/** A tick of the chart: one exposure. */
export interface ChartTick {
  /** Index into the timing's exposures. */
  readonly exposure: number;
  /** Its first frame. */
  readonly frame: number;
  /** Place on the chart in time, 0..1 of the move's frames. */
  readonly time: number;
  /** How much of the path is behind it, 0..1. */
  readonly fraction: number;
  /** Its standard deviation. */
  readonly fractionSd: number;
}

/** How one part is spaced over one move. Measured on the exposed poses, as the puppet is moved. */
export interface SpacingChart {
  readonly part: Part;
  readonly frames: MoveFrames;
  /** The first at 0, the last at 1. */
  readonly ticks: readonly ChartTick[];
  /** Length of the path over the exposed poses and its standard deviation, the path's own units. */
  readonly length: number;
  readonly lengthSd: number;
  /** The same in puppet millimetres; NaN where nothing tells how large things are. */
  readonly lengthMm: number;
  readonly lengthSdMm: number;
  readonly ease: EaseFit;
  /** Which pose the spacing favours: mean fraction over the move's time, 0..1; over 0.5 = nearer to the last pose. */
  readonly favour: number;
  /** Distances to charts that animators draw and to the smoothest reach, nearest first. */
  readonly against: readonly ChartDistance[];
  /** True where one of the places is filled in rather than seen. */
  readonly guessed: boolean;
}

/** Why there is no chart. */
export type NoChart = 'not known' | 'hardly moves' | 'too few poses';

/** Fewer steps than this are no spacing. */
const leastSteps = 2;
/** A path must be longer than this many standard deviations, and than a step that a hand can place. */
const leastSds = 4;

/**
 * The moves of a shot: from key to key, breakdowns being within a move; where the body rests at a key, from the end of the rest.
 * Keys that no exposure parts are one.
 */
export function movesOf(timing: Timing): MoveFrames[] {
  const frames = timing.keys.filter((k) => k.kind === 'key').map((k) => k.frameIndex);
  const moves: MoveFrames[] = [];
  for (let i = 1; i < frames.length; i++) {
    const rest = timing.holds.find((h) => isIn(h, frames[i - 1]!));
    const from = rest ? Math.min(rest.firstFrame + rest.frames - 1, frames[i]!) : frames[i - 1]!;
    const firstFrame = exposureShowing(timing.exposures, from).firstFrame;
    const lastFrame = exposureShowing(timing.exposures, frames[i]!).firstFrame;
    if (lastFrame > firstFrame) moves.push({ firstFrame, lastFrame });
  }
  return moves;
}

function isIn(hold: Hold, frame: number): boolean {
  return frame >= hold.firstFrame && frame < hold.firstFrame + hold.frames;
}

/** The exposure that is on screen at a frame of the shot. */
export function exposureShowing(exposures: readonly Exposure[], frame: number): Exposure {
  return present(exposures[exposureIndex(exposures, frame)], 'exposure');
}

/** Which exposure is on screen at a frame of the shot; 0 for a shot without any. */
export function exposureIndex(exposures: readonly Exposure[], frame: number): number {
  let [low, high] = [0, exposures.length - 1];
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (exposures[middle]!.firstFrame <= frame) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** First frames of the exposures of a move, both ends included. */
export function framesShown(exposures: readonly Exposure[], move: MoveFrames): number[] {
  const first = exposureIndex(exposures, move.firstFrame);
  return exposures.slice(first, exposureIndex(exposures, move.lastFrame) + 1).map((e) => e.firstFrame);
}

/**
 * The spacing of a part over a move, or why there is none.
 * @param frames as `movesOf` tells them, or any that the animator picked: both must be first frames of exposures.
 * @param path what is spaced: the part as it was filmed, unless another is given.
 */
export function spacingChart(
  timing: Timing,
  part: Part,
  frames: MoveFrames,
  path: SpacedPath | null = filmedPath(timing, part),
): SpacingChart | NoChart {
  if (!path) return 'not known';
  const { exposures } = timing;
  const first = exposureIndex(exposures, frames.firstFrame);
  const last = exposureIndex(exposures, frames.lastFrame);
  const isOnExposures =
    exposures[first]?.firstFrame === frames.firstFrame && exposures[last]?.firstFrame === frames.lastFrame;
  assert(isOnExposures && last > first, `move of frames ${frames.firstFrame} to ${frames.lastFrame}`);
  if (last - first < leastSteps) return 'too few poses';
  const travelled = [0];
  let variance = 0;
  let guessed = path.guessed[frames.firstFrame] === 1;
  for (let i = first + 1; i <= last; i++) {
    const [a, b] = [exposures[i - 1]!.firstFrame, exposures[i]!.firstFrame];
    travelled.push(travelled.at(-1)! + path.between(a, b));
    variance += path.stepSd(a, b) ** 2;
    if (path.guessed[b] === 1) guessed = true;
  }
  const length = travelled.at(-1)!;
  // The ends' errors are what a straight path's length errs by; on a path that turns, each step adds its own.
  const ends = path.stepSd(frames.firstFrame, frames.lastFrame);
  const lengthSd = Math.max(ends, Math.sqrt(variance / (last - first)));
  if (!Number.isFinite(length)) return 'not known';
  const leastStep = timing.choices.smallestStepMm / path.mmPerUnit;
  if (!(length > Math.max(leastSds * lengthSd, Number.isFinite(leastStep) ? leastStep : 0))) return 'hardly moves';
  const span = frames.lastFrame - frames.firstFrame;
  const ticks = travelled.map((way, i): ChartTick => {
    const frame = exposures[first + i]!.firstFrame;
    const fraction = way / length;
    // A tick between the ends errs most in the middle, where both ends' errors reach it.
    const sd = i === 0 || i === travelled.length - 1 ? 0 : lengthSd / length;
    return { exposure: first + i, frame, time: (frame - frames.firstFrame) / span, fraction, fractionSd: sd };
  });
  return {
    part,
    frames,
    ticks,
    length,
    lengthSd,
    lengthMm: length * path.mmPerUnit,
    lengthSdMm: lengthSd * path.mmPerUnit,
    ease: fitEase(
      ticks.map((t) => t.time),
      ticks.map((t) => t.fraction),
    ),
    favour: meanOver(ticks),
    against: distancesToCharts(ticks),
    guessed,
  };
}

/** A part that is nearer than this to where it began, as part of the path, has not left yet. */
const leftShare = 0.01;
/** So many still poses are kept at either end, or a tenth of the move: they may be the slow ends of an ease. */
const keptStill = 2;

/**
 * The part's own share of a body's move: without the poses in which it does not move yet, or no more, but for as many as a soft start
 * or end may have. The frames as given where it hardly moves at all.
 * @param path what is spaced: the part as it was filmed, unless another is given.
 */
export function ownMove(
  timing: Timing,
  part: Part,
  frames: MoveFrames,
  path: SpacedPath | null = filmedPath(timing, part),
): MoveFrames {
  const shown = framesShown(timing.exposures, frames);
  if (!path || shown.length < 2) return frames;
  const farthest = Math.max(...shown.map((f) => path.between(f, frames.firstFrame)));
  if (!(farthest > 0)) return frames;
  const noise = 2 * path.stepSd(frames.firstFrame, frames.lastFrame);
  const least = Math.max(leftShare * farthest, Math.min(noise, 0.1 * farthest));
  const from = (end: number) => (f: number) => path.between(f, end) > least;
  const leaves = shown.findIndex(from(frames.firstFrame));
  const arrives = shown.length - 1 - [...shown].reverse().findIndex(from(frames.lastFrame));
  if (leaves < 0 || arrives <= leaves - 2) return frames;
  const kept = Math.max(keptStill, Math.round((arrives - leaves) / 10));
  return {
    firstFrame: shown[Math.max(0, leaves - kept)]!,
    lastFrame: shown[Math.min(shown.length - 1, arrives + kept)]!,
  };
}

/**
 * The spacing of a part over a body's move, between the poses at which the part itself leaves and arrives. Which these are is not
 * seen in a soft ease: those are taken between which an ease fits best.
 * @param path what is spaced: the part as it was filmed, unless another is given.
 */
export function spacingOfMove(
  timing: Timing,
  part: Part,
  move: MoveFrames,
  path: SpacedPath | null = filmedPath(timing, part),
): SpacingChart | NoChart {
  const own = ownMove(timing, part, move, path);
  const shown = framesShown(timing.exposures, own);
  let best = spacingChart(timing, part, own, path);
  if (typeof best === 'string') return best;
  for (const end of ['firstFrame', 'lastFrame'] as const) {
    for (let cut = 1; cut <= keptStill; cut++) {
      const frame = end === 'firstFrame' ? shown[cut] : shown[shown.length - 1 - cut];
      const frames: MoveFrames = { ...best.frames, [end]: frame ?? own[end] };
      if (frame === undefined || frames.lastFrame <= frames.firstFrame) break;
      const other = spacingChart(timing, part, frames, path);
      // A pose that is cut must be one that hardly moved: cutting into the move would always fit better.
      if (typeof other === 'string' || other.length < (1 - 2 * leftShare) * best.length) break;
      if (other.ease.misfit < best.ease.misfit) best = other;
    }
  }
  return best;
}

/** Mean fraction over time, by trapezia. */
function meanOver(ticks: readonly ChartTick[]): number {
  return ticks
    .slice(1)
    .reduce((sum, t, i) => sum + ((t.time - ticks[i]!.time) * (t.fraction + ticks[i]!.fraction)) / 2, 0);
}
