/**
 * One marked point on a thing that may be thrown, fall and bounce: several windows about it, of which the surest speak, and a
 * search over the picture when all of them lose it. A bouncing ball turns round within one picture, blurred, and often
 * before another background; no prediction leads there, but it still looks like itself.
 */
import { searchPictures, type WhyLost } from '../base/whyLost.ts';
import { type FollowedPoint, PointFollower, usualFollow } from './followPoint.ts';
import { hunt, type Scent, type Trace, takeScent } from './hunt.ts';
import type { Pyramid } from './pyramid.ts';

/**
 * Sides of the windows, pixels. The smallest hold a dot of paint, the largest the outline of a ball whose inside is smooth;
 * which of them knows best shows in their standard deviations. On a filmed ball of 33 px and bob of 36 px the windows alone
 * erred by 0.04 to 2 px in the median, the surest together by 0.06 to 0.4.
 */
const windowsPx = [21, 31, 45] as const;
/** Normalised correlation below which a place is not worth a look; a ball blurred over half its width still has 0.8. */
const leastLikeness = 0.7;
/** After so many pictures it may have gone anywhere, and must look more like itself: cloth resembles itself by 0.8 in many places. */
const soonPictures = 2;
const likenessLater = 0.82;
/** And no other place may come near: it must differ by so many times as much. */
const ambiguity = 1.4;
/** Places looked at, of those that look most like it. */
const mostTraces = 4;
/** A bounced ball goes back at most as fast as it came, and the picture after a miss may be as far again. */
const reachOfStep = 2.5;
/** Windows that differ by more than so many standard deviations and this (pixels) speak of different things. */
const apartSds = 2;
const apartPx = 0.2;

/** A window with its follower, and how it looked where the point was marked. */
interface Member {
  readonly windowPx: number;
  readonly follower: PointFollower;
  readonly scent: Scent | null;
}

/** Follows one marked point from picture to picture, in either direction of time. */
export class PropFollower {
  readonly #members: readonly Member[];
  #point: FollowedPoint;
  /** Where it was seen last, and its step per picture there, pixels. */
  #lastX: number;
  #lastY: number;
  #stepPx = 0;
  #misses = 0;
  #why: WhyLost = 'covered';

  /** Marks the point in a picture; it is followed from there. */
  constructor(picture: Pyramid, xPx: number, yPx: number) {
    this.#members = windowsPx.map((windowPx) => ({
      windowPx,
      follower: new PointFollower(picture, xPx, yPx, { ...usualFollow, windowPx }),
      scent: takeScent(picture, xPx, yPx, windowPx),
    }));
    this.#point = { xPx, yPx, sdPx: 0, lost: null };
    this.#lastX = xPx;
    this.#lastY = yPx;
  }

  /** Where the point is in the picture that was marked or stepped to last; NaN, with a reason, while it is not seen. */
  get point(): FollowedPoint {
    return this.#point;
  }

  /** True once it has been searched for in vain in so many pictures that only the animator can tell where it is. */
  get isGivenUp(): boolean {
    return this.#misses >= searchPictures;
  }

  /** Where it was seen last, pixels. */
  get lastSeen(): { readonly xPx: number; readonly yPx: number } {
    return { xPx: this.#lastX, yPx: this.#lastY };
  }

  /** Follows the point from the picture stepped to last to the next one, or searches for it there while it is lost. */
  step(from: Pyramid, to: Pyramid): FollowedPoint {
    if (this.isGivenUp) return this.#point;
    const seen: FollowedPoint[] = [];
    for (const { follower } of this.#members) {
      if (follower.point.lost !== null) continue;
      const point = follower.step(from, to);
      if (point.lost === null) seen.push(point);
      else this.#why = point.lost;
    }
    const found = surest(seen) ?? this.#search(to);
    if (!found) {
      this.#misses++;
      this.#point = { xPx: Number.NaN, yPx: Number.NaN, sdPx: Number.NaN, lost: this.#why };
      return this.#point;
    }
    // Windows that lost it, or went astray, begin again from where the others see it.
    for (const { follower } of this.#members)
      if (follower.point.lost !== null || isApart(follower.point, found)) follower.seek(to, found.xPx, found.yPx);
    this.#stepPx = Math.hypot(found.xPx - this.#lastX, found.yPx - this.#lastY) / (this.#misses + 1);
    this.#lastX = found.xPx;
    this.#lastY = found.yPx;
    this.#misses = 0;
    this.#point = found;
    return found;
  }

  #search(to: Pyramid): FollowedPoint | null {
    const isLate = this.#misses >= soonPictures;
    const alike = isLate ? likenessLater : leastLikeness;
    let best: FollowedPoint | null = null;
    for (const { windowPx, follower, scent } of this.#members) {
      if (!scent) continue;
      const reach = Math.max(2 * windowPx, windowPx + reachOfStep * this.#stepPx * (this.#misses + 1));
      const traces = hunt(to, scent, this.#lastX, this.#lastY, reach, mostTraces, alike);
      if (isLate && isAmbiguous(traces)) continue;
      for (const { xPx, yPx } of traces) {
        const point = follower.seek(to, xPx, yPx);
        if (point && (!best || point.sdPx < best.sdPx)) best = point;
      }
    }
    return best;
  }
}

/** Do several places look much alike, as stitches of one cloth do? Then none of them is known to be the marked one. */
function isAmbiguous([best, next]: readonly Trace[]): boolean {
  return best !== undefined && next !== undefined && 1 - next.likeness < ambiguity * (1 - best.likeness);
}

function isApart(a: FollowedPoint, b: FollowedPoint): boolean {
  return Math.hypot(a.xPx - b.xPx, a.yPx - b.yPx) > apartSds * Math.hypot(a.sdPx, b.sdPx) + apartPx;
}

/** What the surest window says, and those that agree with it, weighed by their variances; null when none sees it. */
function surest(seen: readonly FollowedPoint[]): FollowedPoint | null {
  if (seen.length === 0) return null;
  const best = seen.reduce((a, b) => (b.sdPx < a.sdPx ? b : a));
  let [sum, x, y] = [0, 0, 0];
  for (const point of seen) {
    if (isApart(point, best)) continue;
    const weight = 1 / (point.sdPx ** 2 + 1e-6);
    sum += weight;
    x += weight * point.xPx;
    y += weight * point.yPx;
  }
  // The windows see the same pixels, so together they are no surer than the surest.
  return { xPx: x / sum, yPx: y / sum, sdPx: best.sdPx, lost: null };
}
