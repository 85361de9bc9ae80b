import type { Part, PropId } from '../base/joints.ts';
import type { WhyLost } from '../base/whyLost.ts';
import { type FollowedLeg, legOf, legsOf } from './followedProp.ts';
import { type JointPath, type Motion, type SeenPoint, stepSdOf, type Tracks } from './motion.ts';
import type { PathPoint } from './posterior.ts';
import type { Prop } from './prop.ts';
import { quantile } from './quantile.ts';
import { type SmoothPath, smoothPath } from './smoothPath.ts';

/** Pictures in which a marked point was not seen although it is not said to be away. Take seconds of the first and the last of them. */
export interface PropGap {
  readonly startSec: number;
  readonly endSec: number;
  readonly why: WhyLost;
  /** Where it was seen last before the gap, or first after it; upright pixels. */
  readonly near: { readonly xPx: number; readonly yPx: number };
  /** True when it is too long to be filled in: the animator is asked. */
  readonly isAsked: boolean;
}

/** What the pictures told of a marked point. Columns have shape [picture]. */
export interface SeenProp extends SeenPoint {
  readonly prop: Prop;
  /** Upright pixels. NaN = not seen, said to be away, or not followed yet. */
  readonly xPx: Float64Array;
  readonly yPx: Float64Array;
  /** Standard deviation along one axis as against the marked point, pixels. */
  readonly sdPx: Float64Array;
  /** In order of time. */
  readonly gaps: readonly PropGap[];
}

/** A marked point's path, smoothed as little as the pictures' errors ask for; readable at any time. */
export interface PropPath {
  readonly id: PropId;
  readonly seen: SeenProp;
  /** Evaluates it at the times given, take seconds, rising; NaN where it is away and before and after it was seen. */
  at(timesSec: Float64Array): JointPath;
  /** As `Motion.stepSdPx`, between two take times. */
  stepSd(fromSec: number, toSec: number): number;
}

/** Gaps of a filmed take up to this are filled in without a question, seconds: a hand passes, a ball blurs at the bounce. */
const filledSec = 0.3;
/**
 * Of stills, each an exposure of a shot, one may be missing without a question: an exposure is long for the hand that goes on meanwhile.
 * Filled in on a wrist's arc (90 mm of a 250 mm puppet, 60° to 100° in four to twelve exposures, eased, with holds) one errs by 0.3 to
 * 1.8 mm as a rule and 2.7 at worst, two by 0.5 to 3.2 and 7.8, three by 1 to 10 and 18, seven by 10 to 41 and 48: from two on what is
 * filled in may look like a pose that is off.
 */
const filledStills = 1;
/** Farther than this from where it was seen, the path is filled in rather than seen; beyond either end there is none. */
const nearSec = 0.1;
/** Two legs agree when they differ by at most so many standard deviations and this, pixels. */
const agreeSds = 3;
const agreePx = 0.5;
/** What a match errs by at least, pixels (a mark set by hand, too), for the smoother. */
const leastSdPx = 0.1;

/**
 * Puts the legs of a marked point together. Between two marks the leg from the one and the leg from the other are averaged by
 * their variances where they agree; where they do not, the nearer mark is believed, with the doubt in the standard deviation.
 * @param timesSec the take's pictures, rising.
 * @param areStills each is an exposure, whatever time is between them.
 */
export function seeProp(prop: Prop, legs: readonly FollowedLeg[], timesSec: Float64Array, areStills = false): SeenProp {
  const n = timesSec.length;
  const unseen = () => new Float64Array(n).fill(Number.NaN);
  const seen = { xPx: unseen(), yPx: unseen(), sdPx: unseen() };
  /** Seconds from the mark of what stands there. */
  const awaySec = new Float64Array(n).fill(Number.POSITIVE_INFINITY);
  const losses: NonNullable<FollowedLeg['lost']>[] = [];
  let isWhole = true;
  for (const { mark, direction, untilSec } of legsOf(prop, timesSec)) {
    const leg = legOf(legs, mark, direction, untilSec);
    if (!leg) {
      isWhole = isWhole && Math.abs(untilSec - mark.takeSec) < 1e-4;
      continue;
    }
    if (leg.lost) losses.push(leg.lost);
    for (const [k, sec] of leg.timesSec.entries()) {
      if ((sec - untilSec) * direction > 1e-4) break;
      const i = pictureOf(timesSec, sec);
      if (i >= 0 && !Number.isNaN(leg.xPx[k]!)) lay(seen, awaySec, i, leg, k);
    }
  }
  for (const { takeSec, xPx, yPx } of prop.marks) {
    const i = pictureOf(timesSec, takeSec);
    if (i < 0) continue;
    seen.xPx[i] = xPx;
    seen.yPx[i] = yPx;
    seen.sdPx[i] = 0;
  }
  const isAway = (sec: number) => prop.absent.some((span) => sec >= span.startSec - 1e-4 && sec <= span.endSec + 1e-4);
  for (let i = 0; i < n; i++)
    if (isAway(timesSec[i]!)) for (const column of Object.values(seen)) column[i] = Number.NaN;
  // Before all legs are followed, what is missing has not been looked for.
  const gaps = isWhole ? gapsOf(seen, timesSec, losses, isAway, areStills) : [];
  return { prop, timesSec, ...seen, gaps };
}

type Columns = Pick<SeenProp, 'xPx' | 'yPx' | 'sdPx'>;

function lay(seen: Columns, awaySec: Float64Array, i: number, leg: FollowedLeg, k: number): void {
  const [x, y, sd] = [leg.xPx[k]!, leg.yPx[k]!, leg.sdPx[k]!];
  const away = Math.abs(leg.timesSec[k]! - leg.mark.takeSec);
  const [oldX, oldY, oldSd] = [seen.xPx[i]!, seen.yPx[i]!, seen.sdPx[i]!];
  const isFirst = Number.isNaN(oldX);
  const apart = Math.hypot(x - oldX, y - oldY);
  if (!isFirst && apart <= agreeSds * Math.hypot(sd, oldSd) + agreePx) {
    const [a, b] = [1 / (oldSd ** 2 + leastSdPx ** 2), 1 / (sd ** 2 + leastSdPx ** 2)];
    seen.xPx[i] = (a * oldX + b * x) / (a + b);
    seen.yPx[i] = (a * oldY + b * y) / (a + b);
    seen.sdPx[i] = Math.min(sd, oldSd);
  } else if (isFirst || away < awaySec[i]!) {
    seen.xPx[i] = x;
    seen.yPx[i] = y;
    seen.sdPx[i] = isFirst ? sd : Math.hypot(sd, apart / 2);
  } else seen.sdPx[i] = Math.hypot(oldSd, apart / 2);
  awaySec[i] = Math.min(awaySec[i]!, away);
}

function gapsOf(
  seen: Columns,
  timesSec: Float64Array,
  losses: readonly NonNullable<FollowedLeg['lost']>[],
  isAway: (sec: number) => boolean,
  areStills: boolean,
): PropGap[] {
  const gaps: PropGap[] = [];
  const n = timesSec.length;
  for (let i = 0; i < n; i++) {
    if (!Number.isNaN(seen.xPx[i]!) || isAway(timesSec[i]!)) continue;
    let end = i;
    while (end + 1 < n && Number.isNaN(seen.xPx[end + 1]!) && !isAway(timesSec[end + 1]!)) end++;
    const [startSec, endSec] = [timesSec[i]!, timesSec[end]!];
    // A loss is noted at the picture where it was missed first; what was forgotten before it lies in the gap as well.
    const loss = losses.find((l) => l.takeSec >= startSec - 1e-4 && l.takeSec <= endSec + 1e-4);
    const beside = i > 0 && !Number.isNaN(seen.xPx[i - 1]!) ? i - 1 : end + 1;
    const near = loss ?? { xPx: seen.xPx[beside] ?? Number.NaN, yPx: seen.yPx[beside] ?? Number.NaN };
    const isAsked = endSec - startSec > filledSec || (areStills && end - i + 1 > filledStills);
    gaps.push({ startSec, endSec, why: loss?.why ?? 'covered', near: { xPx: near.xPx, yPx: near.yPx }, isAsked });
    i = end;
  }
  return gaps;
}

/** The picture at a time, or −1. */
function pictureOf(timesSec: Float64Array, sec: number): number {
  let [low, high] = [0, timesSec.length - 1];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (timesSec[middle]! < sec - 1e-4) low = middle + 1;
    else high = middle;
  }
  return Math.abs((timesSec[low] ?? Number.NaN) - sec) < 1e-3 ? low : -1;
}

/** Fits a path to what was seen; null when that is fewer than two pictures. Cost: linear in the number of pictures. */
export function fitProp(seen: SeenProp): PropPath | null {
  const knots = [...seen.xPx.keys()].filter((i) => !Number.isNaN(seen.xPx[i]!));
  if (knots.length < 2) return null;
  const pick = (of: Float64Array) => Float64Array.from(knots, (i) => of[i]!);
  const known = { timesSec: pick(seen.timesSec), xPx: pick(seen.xPx), yPx: pick(seen.yPx), sdPx: pick(seen.sdPx) };
  const isMarked = new Set(seen.prop.marks.map((mark) => pictureOf(known.timesSec, mark.takeSec)));
  const fitted = smoothPath(
    {
      ...known,
      variancePx2: known.sdPx.map((sd) => sd ** 2 + leastSdPx ** 2),
      slowSdPx: new Float64Array(knots.length),
      placed: Uint8Array.from(knots, (_, k) => (isMarked.has(k) ? 1 : 0)),
    },
    { densityPx2S3: usualDensity(known), slowSec: 1 },
  );
  return {
    id: seen.prop.id,
    seen,
    at: (timesSec) => readPath(fitted, seen.prop, timesSec),
    stepSd: (fromSec, toSec) => fitted.stepSd(fromSec, toSec),
  };
}

/**
 * How restless the point is: from the second differences of what was seen, less what errors of that size would make; the
 * smoother finds by itself where along the take it is more restless, and where less.
 */
function usualDensity({ timesSec, xPx, yPx, sdPx }: Columns & { timesSec: Float64Array }): number {
  const found: number[] = [];
  for (let k = 1; k + 1 < timesSec.length; k++) {
    const [before, after] = [timesSec[k]! - timesSec[k - 1]!, timesSec[k + 1]! - timesSec[k]!];
    const turn = (of: Float64Array) => (of[k + 1]! - of[k]!) / after - (of[k]! - of[k - 1]!) / before;
    const error = 6 * ((Math.max(sdPx[k]!, leastSdPx) * 2) / (before + after)) ** 2;
    // The change of mean speed from one interval to the next has the variance (2/3) · density · interval along each axis.
    const square = Math.max(0, (turn(xPx) ** 2 + turn(yPx) ** 2) / 2 - error);
    found.push((square * 3) / (before + after));
  }
  return found.length > 0
    ? Math.max(
        leastDensityPx2S3,
        quantile(
          found.sort((a, b) => a - b),
          0.75,
        ),
      )
    : leastDensityPx2S3;
}

/** What hardly moves at all is still let drift by a pixel or two in a second. */
const leastDensityPx2S3 = 10;

function readPath(fitted: SmoothPath, prop: Prop, timesSec: Float64Array): JointPath {
  const n = timesSec.length;
  const unknown = () => new Float64Array(n).fill(Number.NaN);
  const path = {
    xPx: unknown(),
    yPx: unknown(),
    vxPx: unknown(),
    vyPx: unknown(),
    sdPx: unknown(),
    confidence: new Float32Array(n),
    guessed: new Uint8Array(n),
  };
  const known = fitted.timesSec;
  const point: PathPoint = { xPx: 0, yPx: 0, vxPx: 0, vyPx: 0, sdPx: 0 };
  let next = 0;
  for (let i = 0; i < n; i++) {
    const sec = timesSec[i]!;
    while (next < known.length && known[next]! < sec) next++;
    const sinceSec = sec - (known[next - 1] ?? Number.NEGATIVE_INFINITY);
    const untilSec = (known[next] ?? Number.POSITIVE_INFINITY) - sec;
    const isAway = prop.absent.some((span) => sec >= span.startSec && sec <= span.endSec);
    const isBeyond =
      !(Number.isFinite(sinceSec) && Number.isFinite(untilSec)) && Math.min(sinceSec, untilSec) > nearSec;
    if (isAway || isBeyond) continue;
    fitted.read(sec, point);
    path.xPx[i] = point.xPx;
    path.yPx[i] = point.yPx;
    path.vxPx[i] = point.vxPx;
    path.vyPx[i] = point.vyPx;
    path.sdPx[i] = point.sdPx;
    path.guessed[i] = Math.min(sinceSec, untilSec) > nearSec ? 1 : 0;
    path.confidence[i] = 1 - path.guessed[i]!;
  }
  return path;
}

/** The tracks with the paths of marked points beside the joints'. Doubts, sizes and joints are the performer's, as before. */
export function withProps(tracks: Tracks, props: readonly PropPath[]): Tracks {
  if (props.length === 0) return tracks;
  const byId = new Map<Part, PropPath>(props.map((prop) => [prop.id, prop]));
  return {
    ...tracks,
    seenPoints: new Map([...(tracks.seenPoints ?? []), ...props.map((prop) => [prop.id, prop.seen] as const)]),
    at: (timesSec): Motion => {
      const body = tracks.at(timesSec);
      const paths = new Map(body.paths);
      for (const prop of props) paths.set(prop.id, prop.at(timesSec));
      return {
        ...body,
        paths,
        stepSdPx: (part, from, to) =>
          byId.get(part)?.stepSd(timesSec[from] ?? Number.NaN, timesSec[to] ?? Number.NaN) ??
          stepSdOf(body, part, from, to),
      };
    },
    seen: (joint) => tracks.seen(joint),
  };
}

/**
 * The tracks of a take in which nobody was seen, but points were marked: no joints.
 * @param bodyHeightPx how tall a performer would be there, pixels; NaN = nothing tells: then nothing is in millimetres, and the widest way
 *   of a point stands in.
 */
export function tracksOfProps(
  timesSec: Float64Array,
  props: readonly PropPath[],
  bodyHeightPx: number = Number.NaN,
): Tracks {
  const hasNoScale = !(bodyHeightPx > 0);
  const nobody: Tracks = {
    timesSec,
    bodyHeightPx: hasNoScale ? widestWayPx(timesSec, props) : bodyHeightPx,
    hasNoScale,
    torsoPx: Number.NaN,
    joints: [],
    at: (at) => ({ timesSec: at, paths: new Map() }),
    seen: () => null,
    doubts: [],
  };
  return withProps(nobody, props);
}

/** What goes less far than this in the whole take, pixels, is not taken for large because nothing else moves. */
const leastWidePx = 100;

/** How far apart the ends of the widest point's way are: the diagonal of the box around it, pixels. */
function widestWayPx(timesSec: Float64Array, props: readonly PropPath[]): number {
  const ways = props.map((prop) => {
    const { xPx, yPx } = prop.at(timesSec);
    return Math.hypot(rangeOf(xPx), rangeOf(yPx));
  });
  return Math.max(leastWidePx, ...ways);
}

function rangeOf(values: Float64Array): number {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const v of values) {
    if (v < low) low = v;
    if (v > high) high = v;
  }
  return high > low ? high - low : 0;
}
