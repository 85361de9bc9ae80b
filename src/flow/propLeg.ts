/** One leg of a marked point's way: from the picture it was marked in, forward or backward, until it is lost or the leg ends. */
import { assert } from '../base/assert.ts';
import type { WhyLost } from '../base/whyLost.ts';
import { PropFollower } from './followProp.ts';
import type { Pyramid } from './pyramid.ts';

/** What is to be followed. Pictures count from 0; `to` before `from` = backward. Both are included. */
export interface LegPlan {
  readonly from: number;
  readonly to: number;
  /** Where it was marked in picture `from`, pixels of the pictures handed in. */
  readonly xPx: number;
  readonly yPx: number;
}

/** Where the point went. */
export interface LegTrace {
  /** Shape [picture from `from` on, in the leg's direction]; NaN = not seen there, or given up before. */
  readonly xPx: Float64Array;
  readonly yPx: Float64Array;
  readonly sdPx: Float64Array;
  /** The first picture in which it was not found, why, and where it was last; null when it was followed to the leg's end. */
  readonly lost: { readonly picture: number; readonly why: WhyLost; readonly xPx: number; readonly yPx: number } | null;
}

/**
 * A point that slips behind an edge takes on the edge's look for a picture or four before it is lost. Places found by a look
 * remembered anew (their standard deviation has grown beyond this, pixels) in so many pictures before the loss are not told.
 */
const astrayPictures = 5;
const astraySdPx = 1;

/** Follows one leg; pictures are handed in one after another in the leg's direction, from its first on. */
export class PropLeg {
  #plan: LegPlan;
  readonly #direction: 1 | -1;
  #xPx: Float64Array;
  #yPx: Float64Array;
  #sdPx: Float64Array;
  #follower: PropFollower | null = null;
  /** How many pictures have been handed in. */
  #count = 0;
  #lostAt = -1;
  #lost: LegTrace['lost'] = null;

  constructor(plan: LegPlan) {
    const length = Math.abs(plan.to - plan.from) + 1;
    this.#plan = plan;
    this.#direction = plan.to < plan.from ? -1 : 1;
    this.#xPx = new Float64Array(length).fill(Number.NaN);
    this.#yPx = this.#xPx.slice();
    this.#sdPx = this.#xPx.slice();
  }

  /** True when nothing more can be learnt: the end is reached, or the point was given up. */
  get isDone(): boolean {
    return this.#count === this.#xPx.length || (this.#follower?.isGivenUp ?? false);
  }

  /** The picture that it took last: to go on, it has to be handed in as the one before. */
  get lastTaken(): number {
    return this.#plan.from + Math.max(0, this.#count - 1) * this.#direction;
  }

  /** The leg goes on to a picture further on, as if that had been its end from the first. */
  goOnTo(to: number): void {
    const length = Math.abs(to - this.#plan.from) + 1;
    assert(length >= this.#xPx.length && to * this.#direction >= this.#plan.to * this.#direction, `leg on to ${to}`);
    const longer = (column: Float64Array) => {
      const grown = new Float64Array(length).fill(Number.NaN);
      grown.set(column);
      return grown;
    };
    this.#plan = { ...this.#plan, to };
    [this.#xPx, this.#yPx, this.#sdPx] = [longer(this.#xPx), longer(this.#yPx), longer(this.#sdPx)];
  }

  /** Takes a picture of the leg; pictures before its first one, after its end, those taken before and those missing are no matter. */
  take(picture: number, before: Pyramid | null, now: Pyramid): void {
    const at = (picture - this.#plan.from) * this.#direction;
    if (this.isDone || at < this.#count || at >= this.#xPx.length) return;
    if (at === 0) this.#follower = new PropFollower(now, this.#plan.xPx, this.#plan.yPx);
    assert(this.#follower !== null, `leg from picture ${this.#plan.from} began at picture ${picture}`);
    const point = at === 0 || !before ? this.#follower.point : this.#follower.step(before, now);
    this.#count = at + 1;
    if (point.lost === null) {
      this.#xPx[at] = point.xPx;
      this.#yPx[at] = point.yPx;
      this.#sdPx[at] = point.sdPx;
      this.#lostAt = -1;
      this.#lost = null;
      return;
    }
    if (this.#lostAt < 0) {
      this.#lostAt = at;
      this.#forgetAstray(at);
      this.#lost = { picture, why: point.lost, ...this.#follower.lastSeen };
    }
  }

  /** What was found so far. */
  trace(): LegTrace {
    return { xPx: this.#xPx, yPx: this.#yPx, sdPx: this.#sdPx, lost: this.#lost };
  }

  #forgetAstray(lostAt: number): void {
    for (let k = lostAt - 1; k > 0 && k >= lostAt - astrayPictures && !(this.#sdPx[k]! < astraySdPx); k--) {
      this.#xPx[k] = Number.NaN;
      this.#yPx[k] = Number.NaN;
      this.#sdPx[k] = Number.NaN;
    }
  }
}
