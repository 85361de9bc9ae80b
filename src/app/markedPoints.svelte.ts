import type { Failure } from '../base/failure.ts';
import type { Footage } from '../base/footage.ts';
import type { PropId } from '../base/joints.ts';
import { PointsFollower } from '../detect/pointsClient.ts';
import { pxPerMetreOf } from '../timing/pointFlights.ts';
import { dueLegs, type FollowedProps, nothingFollowed, withLeg, withoutOldLegs } from '../track/followedProp.ts';
import type { Tracks } from '../track/motion.ts';
import type { Prop } from '../track/prop.ts';
import {
  fitProp,
  type PropGap,
  type PropPath,
  type SeenProp,
  seeProp,
  tracksOfProps,
  withProps,
} from '../track/propTracks.ts';
import { sourceOf, type TakeOnScreen } from './takeOnScreen.ts';

/** A place where the animator is asked what became of a marked point. */
export interface PointQuestion {
  readonly prop: Prop;
  readonly gap: PropGap;
}

/** Where nobody is in the picture, things are measured as if beside a person of this height, metres: a puppet's scale needs one. */
const personM = 1.7;

/** The marked points of a take: follows what the marks ask for, and holds what was seen. */
export class MarkedPoints {
  /** How far the walk over the pictures has come, 0..1; null when nothing is being followed. */
  progress = $state<number | null>(null);
  readonly busy = $derived(this.progress !== null);
  #followed = $state.raw<FollowedProps>(nothingFollowed);
  readonly #from: () => { readonly props: readonly Prop[]; readonly footage: Footage | null };
  readonly #follower = new PointsFollower();
  #abort: AbortController | null = null;
  #again = false;
  readonly #seenBefore = new Map<PropId, { readonly key: readonly unknown[]; seen: SeenProp; path: PropPath | null }>();

  /** @param from the marks and the footage, read anew whenever they change. */
  constructor(from: () => { readonly props: readonly Prop[]; readonly footage: Footage | null }) {
    this.#from = from;
  }

  /** For keeping; undefined when nothing was followed. */
  get kept(): FollowedProps | undefined {
    const kept = withoutOldLegs(this.#followed, this.#from().props);
    return kept.size > 0 ? kept : undefined;
  }

  readonly #timesSec = $derived.by(() => this.#from().footage?.timesSec ?? new Float64Array(0));
  readonly #areStills = $derived.by(() => this.#from().footage?.codec === 'stills');
  readonly #props = $derived.by(() => this.#from().props);

  readonly #fitted = $derived.by(() =>
    this.#props.map((prop) => {
      const legs = this.#followed.get(prop.id) ?? [];
      const key = [prop, legs, this.#timesSec, this.#areStills];
      const before = this.#seenBefore.get(prop.id);
      if (before?.key.every((part, k) => part === key[k])) return before;
      const seen = seeProp(prop, legs, this.#timesSec, this.#areStills);
      const now = { key, seen, path: fitProp(seen) };
      this.#seenBefore.set(prop.id, now);
      return now;
    }),
  );
  /** What the pictures told of each point, in the book's order. */
  readonly seen = $derived<readonly SeenProp[]>(this.#fitted.map((f) => f.seen));
  /** The points' paths; those seen in fewer than two pictures have none. */
  readonly paths = $derived<readonly PropPath[]>(this.#fitted.flatMap((f) => f.path ?? []));
  /** In order of points, then of time. */
  readonly questions = $derived<readonly PointQuestion[]>(
    this.seen.flatMap(({ prop, gaps }) => gaps.filter((gap) => gap.isAsked).map((gap) => ({ prop, gap }))),
  );

  /** The performer's tracks with the points beside them; of the points alone where nobody was seen. Null without either. */
  beside(tracks: Tracks | null): Tracks | null {
    if (tracks) return withProps(tracks, this.paths);
    if (this.paths.length === 0) return null;
    return tracksOfProps(this.#timesSec, this.paths, personM * pxPerMetreOf(this.seen));
  }

  /** Takes up what a book brought along, or nothing, and forgets the take before. */
  show(followed: FollowedProps | undefined): void {
    this.#abort?.abort();
    this.#again = false;
    this.#seenBefore.clear();
    this.#followed = followed ?? nothingFollowed;
  }

  /** A point has another id from now on: what was followed stays with it. */
  rename(from: PropId, to: PropId): void {
    const legs = this.#followed.get(from);
    if (legs) this.#followed = new Map(this.#followed).set(to, legs);
  }

  /** Stops following; whole legs stay, and the rest is followed when it is asked for again. */
  stop(): void {
    this.#again = false;
    this.#abort?.abort();
  }

  /**
   * Follows what is due, if anything; marks set meanwhile are followed afterwards.
   * @param onKeep hears when there is something new to be kept.
   * @returns a failure, or null.
   */
  async catchUp(take: TakeOnScreen, onKeep: () => void): Promise<Failure | null> {
    if (this.progress !== null) {
      this.#again = true;
      return null;
    }
    const { footage } = this.#from();
    const due = footage ? dueLegs(this.#props, this.#followed, footage.timesSec) : [];
    if (!footage || due.length === 0) return null;
    this.progress = 0;
    const abort = new AbortController();
    this.#abort = abort;
    const outcome = await this.#follower.follow(sourceOf(take.files), footage, take.stillsFps, due, {
      signal: abort.signal,
      onLeg: (id, leg) => {
        if (!abort.signal.aborted) this.#followed = withLeg(this.#followed, id, leg);
      },
      onPace: (done, total) => {
        this.progress = done / total;
      },
    });
    this.progress = null;
    const isGone = abort.signal.aborted;
    if (!isGone) onKeep();
    if (!this.#again || isGone) return outcome.ok || isGone ? null : outcome.failure;
    this.#again = false;
    return this.catchUp(take, onKeep);
  }
}
