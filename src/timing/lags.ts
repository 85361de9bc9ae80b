import { fpsOf } from '../base/frameRate.ts';
import type { Part } from '../base/joints.ts';
import type { JointPath, Motion, Tracks } from '../track/motion.ts';
import { median } from '../track/quantile.ts';
import { partWords, segmentWords } from './chains.ts';
import { type MoveSpan, moveSpans, windowOf } from './moveSpans.ts';
import { samplePoses } from './poseSamples.ts';
import { fitShift, type ShiftFit } from './shiftFit.ts';
import { framesOfSpan, movingFramesBetween } from './takeFrames.ts';
import type { Chain, Timing } from './timing.ts';
import { type Turning, turningOf } from './turning.ts';

/** What is compared down a chain: the directions of its stretches, or the speeds of its points. */
export type LagMeasure = 'turning' | 'going';

/**
 * How a stretch follows the one that carries it: `free` = its direction in the picture does what the carrier's did, later;
 * `carried` = it goes along and its bend against the carrier is what comes later, as a hand's at the wrist.
 */
export type FollowKind = 'free' | 'carried';

/** By how much one link of a chain comes after the link before it, in one move. */
export interface Lag {
  readonly chainId: string;
  readonly measure: LagMeasure;
  /** Stable while the same keys are meant. */
  readonly moveId: string;
  /** In animators' words: "left upper arm", "left forearm". */
  readonly leader: string;
  readonly follower: string;
  /** The parts between which each lies; one part for a point. */
  readonly leaderParts: readonly Part[];
  readonly followerParts: readonly Part[];
  /** The move in the shot, with what drags behind it. */
  readonly firstFrame: number;
  readonly frames: number;
  /** The same in take seconds. */
  readonly startSec: number;
  readonly endSec: number;
  /** Positive = the follower comes later. Frames of the shot as retimed; null = cannot be said, see `why`. */
  readonly lagFrames: number | null;
  /** The same in take seconds. */
  readonly lagSec: number | null;
  /** Standard deviation, frames of the shot; null where the lag is. */
  readonly sdFrames: number | null;
  /** Chance that the true lag lies within half a frame of the one told, 0..1; 0 where none is told. */
  readonly confidence: number;
  /** Null where no lag is told, and for speeds. */
  readonly follows: FollowKind | null;
  /** How it was read, or why it cannot be said; one phrase. */
  readonly why: string;
}

/** Samples a second at which curves are laid on each other: four to a frame at 24 fps. */
const samplesPerSec = 96;
/** Parts of one chain lag by 1 to 4 frames (the trade); looked for is up to 7 frames at 24 fps, either way. */
const mostLagSec = 7 / 24;

/** Where the body only turns, parts that drag are still on their way for so long after. */
const intoNextSec = 0.1;

const deg = Math.PI / 180;
/** A stretch that turns less than this says nothing about when. */
const leastTurn = 7 * deg;
/** A point that goes less than this part of the body height says nothing. */
const leastWay = 0.02;
/** A stretch that shows less than this of its length points out of the picture too far for its direction to tell when it turns. */
const leastShown = 0.35;
/** This part of a move may be filled in. */
const mostGuessed = 0.3;
/** A shifted copy must explain this part of what the follower does. */
const leastExplained = { free: 0.9, carried: 0.96, going: 0.9 };
/** The bend at a joint is read instead of the direction where that leaves this part of the error; a hand's bend, where it leaves no more. */
const clearlyBetter = 0.6;
/** A lag that is no surer than 1.5 frames at 24 fps is not told. */
const worstSdSec = 1.5 / 24;
/**
 * What the fit's own remainder does not show: a pose model errs otherwise in every pose, which bends curves. Lags of forearms
 * in authored takes, read from the picture, were off by 0.25 frames at 24 fps (rms); in exact tracks by 0.05.
 */
const floorSdSec = { tracked: 0.2 / 24, exact: 0.05 / 24 };
/** ... and this part of what the tracks say they may be off changes with the pose; the rest stays the same. A hand's is large. */
const bendingShare = 0.4;

/** Curves of the whole shot that several chains share. */
interface Curves {
  readonly motion: Motion;
  readonly startSec: number;
  readonly stepSec: number;
  readonly count: number;
  readonly isExact: boolean;
  readonly heightPx: number;
  readonly turnings: Map<string, Turning | null>;
  readonly ways: Map<Part, Way | null>;
}

/**
 * Lead and drag: for each move and each pair of neighbouring links of each chain, by how much the second comes after the first.
 * A chain of n parts has n − 1 stretches (`turning`: n − 2 lags) and n points (`going`: n − 1 lags); stretches of parts that are
 * not tracked are left out. In the order of moves, then chains, then links.
 * @param wordsOf how a part is called; for marked points the animator's name.
 */
export function measureLags(
  tracks: Tracks,
  timing: Timing,
  chains: readonly Chain[],
  measures: readonly LagMeasure[] = ['turning'],
  wordsOf: (part: Part) => string = partWords,
): Lag[] {
  const { startSec, endSec } = timing.choices;
  const lastSec = Math.max(startSec, Math.min(endSec, tracks.timesSec.at(-1) ?? endSec));
  const poses = samplePoses(tracks, startSec, lastSec);
  const moves = moveSpans(timing, poses);
  const curves = curvesOf(tracks, startSec, lastSec, poses.blur === 0);
  return moves.flatMap((move, i) => {
    const span = windowOf(move, moves[i - 1] ?? null, moves[i + 1] ?? null, lastSec, intoNextSec);
    return chains.flatMap((chain) =>
      measures.flatMap((measure) => lagsOfChain(curves, timing, move, span, chain, measure, wordsOf)),
    );
  });
}

/** Asking tracks takes long, and most edits leave tracks and trim as they are: the curves made last of each tracks. */
const lastCurves = new WeakMap<Tracks, Curves & { readonly lastSec: number }>();

function curvesOf(tracks: Tracks, startSec: number, lastSec: number, isExact: boolean): Curves {
  const made = lastCurves.get(tracks);
  if (made && made.startSec === startSec && made.lastSec === lastSec) return made;
  const stepSec = 1 / samplesPerSec;
  const count = Math.floor((lastSec - startSec) / stepSec + 1e-9) + 1;
  const curves = {
    motion: tracks.at(Float64Array.from({ length: count }, (_, k) => startSec + k * stepSec)),
    startSec,
    lastSec,
    stepSec,
    count,
    isExact,
    heightPx: tracks.bodyHeightPx,
    turnings: new Map(),
    ways: new Map(),
  };
  lastCurves.set(tracks, curves);
  return curves;
}

/** A link of a chain in one move: its curve, or why there is none. */
interface Link {
  readonly words: string;
  readonly parts: readonly Part[];
  /** Radians for a stretch, body heights along the way for a point. Shape [component][sample]. */
  readonly curve: readonly Float64Array[];
  /** How large the curve's own errors are, its unit. */
  readonly sd: number;
  /** Set where the curve cannot be trusted in this move. */
  readonly trouble: string;
}

function lagsOfChain(
  curves: Curves,
  timing: Timing,
  move: MoveSpan,
  span: { startSec: number; endSec: number },
  chain: Chain,
  measure: LagMeasure,
  wordsOf: (part: Part) => string,
): Lag[] {
  const at = (sec: number) =>
    Math.min(curves.count - 1, Math.max(0, Math.round((sec - curves.startSec) / curves.stepSec)));
  const first = at(span.startSec);
  const last = at(span.endSec);
  const links =
    measure === 'turning'
      ? stretches(curves, chain, first, last, wordsOf)
      : points(curves, chain, first, last, wordsOf);
  return links.slice(1).map((follower, i): Lag => {
    const leader = links[i]!;
    const told = tell(curves, measure, leader, follower, first, last);
    const middle = middleOf(leader.curve, first, last);
    const middleSec = curves.startSec + middle * curves.stepSec;
    const lagSec = told.fit ? told.fit.shift * curves.stepSec : null;
    const sdSec = told.sdSec;
    const lagFrames = lagSec === null ? null : movingFramesBetween(timing, middleSec, middleSec + lagSec);
    // A span that the animator stretched stretches its lags too.
    const stretch = lagSec && lagFrames ? Math.abs(lagFrames / lagSec) : fpsOf(timing.grid.rate);
    const sdFrames = lagSec === null ? null : sdSec * stretch;
    return {
      chainId: chain.id,
      measure,
      moveId: move.id,
      leader: leader.words,
      follower: follower.words,
      leaderParts: leader.parts,
      followerParts: follower.parts,
      ...framesOfSpan(
        timing,
        move.startSec,
        Math.max(move.endSec, Math.min(span.endSec, move.endSec + Math.max(0, lagSec ?? 0))),
      ),
      startSec: move.startSec,
      endSec: move.endSec,
      lagFrames,
      lagSec,
      sdFrames,
      confidence: sdFrames === null ? 0 : withinHalf(sdFrames),
      follows: told.fit && measure === 'turning' ? told.follows : null,
      why: told.why,
    };
  });
}

interface Told {
  readonly fit: ShiftFit | null;
  readonly follows: FollowKind;
  readonly sdSec: number;
  readonly why: string;
}

function tell(curves: Curves, measure: LagMeasure, leader: Link, follower: Link, first: number, last: number): Told {
  const nothing = (why: string): Told => ({ fit: null, follows: 'free', sdSec: Number.NaN, why });
  const trouble = leader.trouble || follower.trouble;
  if (trouble) return nothing(trouble);
  const least = measure === 'turning' ? leastTurn : leastWay;
  const doing = measure === 'turning' ? 'turns' : 'goes';
  for (const link of [leader, follower])
    if (rangeOf(link.curve, first, last) < least) return nothing(`${link.words} hardly ${doing} here`);
  const most = Math.round(mostLagSec / curves.stepSec);
  const { stepSec } = curves;
  const free = fitShift(leader.curve, follower.curve, first, last, most, stepSec);
  if (!free) return nothing('nothing to compare');
  let fit = free;
  let follows: FollowKind = 'free';
  let enough: number = measure === 'turning' ? leastExplained.free : leastExplained.going;
  if (measure === 'turning') {
    const bend = follower.curve.map((c, d) => c.map((v, k) => v - (leader.curve[d]?.[k] ?? 0)));
    if (rangeOf(bend, first, last) >= least) {
      const carried = fitShift(leader.curve, bend, first, last, most, stepSec);
      const isHand = /Hand$/.test(follower.parts.at(-1) ?? '');
      if (carried && carried.rms < (isHand ? 1 : clearlyBetter) * free.rms) {
        fit = carried;
        follows = 'carried';
        enough = leastExplained.carried;
      }
    }
  }
  if (fit.atEdge || fit.explained < enough) return nothing(`${follower.words} does not do what ${leader.words} does`);
  const floor = curves.isExact ? floorSdSec.exact : floorSdSec.tracked;
  const error = Math.hypot(fit.rms, bendingShare * follower.sd, bendingShare * leader.sd);
  const sdSec = Math.hypot(floor, error * fit.sdPerError * stepSec);
  if (sdSec > worstSdSec) return nothing('too small a movement for so much doubt');
  const why =
    measure === 'going'
      ? 'from how both points go'
      : follows === 'carried'
        ? `from its bend against ${leader.words}`
        : 'from how both turn';
  return { fit, follows, sdSec, why };
}

function stretches(curves: Curves, chain: Chain, first: number, last: number, wordsOf: (p: Part) => string): Link[] {
  return chain.parts.slice(1).flatMap((to, i): Link[] => {
    const from = chain.parts[i]!;
    const key = `${from}>${to}`;
    let turning = curves.turnings.get(key);
    if (turning === undefined) {
      turning = turningOf(curves.motion.paths.get(from), curves.motion.paths.get(to));
      curves.turnings.set(key, turning);
    }
    if (!turning) return [];
    const words = segmentWords(from, to, wordsOf);
    let trouble = '';
    if (shareOf(turning.guessed, first, last) > mostGuessed) trouble = `${words} is not seen here`;
    else if (median(turning.shown.subarray(first, last + 1)) < leastShown)
      trouble = `${words} points out of the picture here`;
    return [
      { words, parts: [from, to], curve: [turning.angle], sd: median(turning.sd.subarray(first, last + 1)), trouble },
    ];
  });
}

function points(curves: Curves, chain: Chain, first: number, last: number, wordsOf: (p: Part) => string): Link[] {
  return chain.parts.flatMap((part): Link[] => {
    let way = curves.ways.get(part);
    if (way === undefined) {
      way = wayAlong(curves.motion.paths.get(part), curves);
      curves.ways.set(part, way);
    }
    if (!way) return [];
    const words = wordsOf(part);
    const trouble = shareOf(way.unknown, first, last) > mostGuessed ? `${words} is not seen here` : '';
    return [{ words, parts: [part], curve: [way.along], sd: 0, trouble }];
  });
}

/** A point's way. Columns have shape [sample]. */
interface Way {
  /**
   * How far it has gone along its path, body heights: its speed summed up, since a shift is told more surely from how far a
   * point has gone than from how fast it goes. While it is not known it stands still.
   */
  readonly along: Float64Array;
  /** 1 where it is filled in or not known. */
  readonly unknown: Uint8Array;
}

function wayAlong(path: JointPath | undefined, curves: Curves): Way | null {
  if (!path || path.xPx.every(Number.isNaN)) return null;
  let way = 0;
  const along = path.vxPx.map((vx, k) => {
    const speed = Math.hypot(vx, path.vyPx[k] ?? 0);
    if (!Number.isNaN(speed)) way += (speed * curves.stepSec) / curves.heightPx;
    return way;
  });
  return { along, unknown: path.guessed.map((g, k) => (g || Number.isNaN(path.vxPx[k]) ? 1 : 0)) };
}

function shareOf(flags: Uint8Array, first: number, last: number): number {
  let sum = 0;
  for (let k = first; k <= last; k++) sum += flags[k] ?? 0;
  return sum / Math.max(1, last - first + 1);
}

function rangeOf(curve: readonly Float64Array[], first: number, last: number): number {
  return Math.hypot(
    ...curve.map((c) => {
      let low = Number.POSITIVE_INFINITY;
      let high = Number.NEGATIVE_INFINITY;
      for (let k = first; k <= last; k++) {
        low = Math.min(low, c[k] ?? 0);
        high = Math.max(high, c[k] ?? 0);
      }
      return high - low;
    }),
  );
}

/** Where a curve changes, as the mean sample weighted by how fast it does. */
function middleOf(curve: readonly Float64Array[], first: number, last: number): number {
  let sum = 0;
  let weights = 0;
  for (let k = first + 1; k <= last; k++) {
    const step = Math.hypot(...curve.map((c) => (c[k] ?? 0) - (c[k - 1] ?? 0)));
    sum += step * (k - 0.5);
    weights += step;
  }
  return weights > 0 ? sum / weights : (first + last) / 2;
}

/** Chance that a normally distributed error of this sd stays within half a frame (erf by Abramowitz & Stegun 7.1.26). */
function withinHalf(sdFrames: number): number {
  const x = 0.5 / (Math.SQRT2 * Math.max(1e-6, sdFrames));
  const t = 1 / (1 + 0.3275911 * x);
  const poly = ((((1.061405429 * t - 1.453152027) * t + 1.421413741) * t - 0.284496736) * t + 0.254829592) * t;
  return 1 - poly * Math.exp(-x * x);
}
