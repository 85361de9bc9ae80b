import { untrack } from 'svelte';
import { finish, type Steps } from '../base/steps.ts';
import type { Book, CutPart } from '../project/book.ts';
import { correctionsWithin, sightingsOfPart } from '../project/cut.ts';
import { applyEdit } from '../project/edits.ts';
import type { Correction, Placement } from '../track/correction.ts';
import { TrackFitter } from '../track/fitTracks.ts';
import { type CutJump, type JoinedPart, joinTracks, jumpsAtCuts } from '../track/joinTracks.ts';
import type { Tracks } from '../track/motion.ts';
import type { Sightings } from '../track/sighting.ts';
import { Newest } from './newest.svelte.ts';
import { leastPictures } from './takeFailures.ts';

/** What the performer's tracks are fitted to. */
export interface BodyFrom {
  readonly book: Book;
  readonly sightings: Sightings | null;
  /** A joint that is being dragged at this moment, as it would be placed if it were let go. */
  readonly dragged: Placement | null;
}

/** One stretch that is fitted by itself. */
interface Stretch {
  readonly sightings: Sightings;
  readonly fitter: TrackFitter;
  readonly startSec: number;
  /** The next one begins here. */
  readonly untilSec: number;
}

/** Joints placed or hidden at the next stretch's first picture are not this one's, seconds. */
const justBefore = 1e-6;

/** The performer's tracks: of one take, or of the stretches that a shot is cut together from, each fitted by itself. */
export class BodyTracks {
  readonly #from: () => BodyFrom;
  readonly #ofOneTake = new TrackFitter();

  /** @param from read anew whenever something of it changes. */
  constructor(from: () => BodyFrom) {
    this.#from = from;
  }

  readonly #sightings = $derived.by(() => this.#from().sightings);
  readonly #corrections = $derived.by(() => this.#from().book.corrections);
  readonly #mirrored = $derived.by(() => this.#from().book.mirrored);
  readonly #cut = $derived.by<readonly CutPart[]>(() => this.#from().book.cut);

  /** Fitters are kept as long as the same is seen, so that a correction fits one joint of one stretch anew. */
  readonly #stretches = $derived.by<readonly Stretch[]>(() => {
    const seen = this.#sightings;
    if (!seen || seen.readCount < leastPictures) return [];
    const whole = { sightings: seen, fitter: this.#ofOneTake, startSec: 0, untilSec: Number.POSITIVE_INFINITY };
    if (this.#cut.length === 0) return [whole];
    return this.#cut.map((part, k) => ({
      sightings: sightingsOfPart(seen, part),
      fitter: new TrackFitter(),
      startSec: part.startSec,
      untilSec: this.#cut[k + 1]?.startSec ?? Number.POSITIVE_INFINITY,
    }));
  });
  readonly #wanted = $derived.by<Wanted>(() => ({
    stretches: this.#stretches,
    corrections: this.#corrections,
    mirrored: this.#mirrored,
  }));
  readonly #behind = new Newest<Wanted, readonly JoinedPart[]>(fitSteps);
  /** What was shown last, so that it stays while everything is fitted anew. */
  #shown: readonly JoinedPart[] = [];

  readonly #parts = $derived.by<readonly JoinedPart[]>(() => {
    const wanted = this.#wanted;
    if (wanted.stretches.length === 0) return [];
    const made = this.#behind.result;
    if (made && this.#behind.has(wanted)) this.#shown = made;
    else if (isAtHand(wanted)) this.#shown = finish(fitSteps(wanted));
    return this.#shown;
  });

  /** Everything is being fitted anew; what is shown is of before. */
  readonly busy = $derived(this.#behind.busy);

  /** Null while nothing was read, and where nobody is seen. */
  readonly tracks = $derived.by<Tracks | null>(() => {
    const tracks = this.#parts.length > 0 ? joinTracks(this.#parts) : null;
    return tracks && tracks.joints.length > 0 ? tracks : null;
  });
  /** The same with what is being dragged; null while nothing is. */
  readonly dragged = $derived.by<Tracks | null>(() => {
    const { dragged, book } = this.#from();
    if (!dragged || !this.tracks) return null;
    const { corrections } = applyEdit(book, { kind: 'correct', correction: dragged });
    const wanted = { ...this.#wanted, corrections };
    return isAtHand(wanted) ? joinTracks(finish(fitSteps(wanted))) : null;
  });
  /** How far the pose leaps at each cut. */
  readonly jumps = $derived<readonly CutJump[]>(jumpsAtCuts(this.#parts));

  /** Another take: nothing of this one is shown any more. */
  forget(): void {
    this.#shown = [];
    this.#behind.forget();
  }

  /** Fits what takes long behind everything else. To be called in an effect, whenever something has changed. */
  catchUp(): void {
    const wanted = this.#wanted;
    if (wanted.stretches.length > 0 && !isAtHand(wanted)) untrack(() => this.#behind.ask(wanted));
  }

  /** Settles when nothing is being fitted behind. */
  settled(): Promise<void> {
    return this.#behind.settled();
  }
}

/** What is to be fitted. */
interface Wanted {
  readonly stretches: readonly Stretch[];
  readonly corrections: readonly Correction[];
  readonly mirrored: boolean;
}

/** The corrections that are one stretch's. */
function correctionsOf({ stretches, corrections }: Wanted, { startSec, untilSec }: Stretch): readonly Correction[] {
  return stretches.length === 1 ? corrections : correctionsWithin(corrections, startSec, untilSec - justBefore);
}

/** Is so little to be fitted anew that it can be done at once? */
function isAtHand(wanted: Wanted): boolean {
  const { mirrored } = wanted;
  return wanted.stretches.every((s) => s.fitter.isAtHand(s.sightings, correctionsOf(wanted, s), { mirrored }));
}

function* fitSteps(wanted: Wanted): Steps<readonly JoinedPart[]> {
  const parts: JoinedPart[] = [];
  for (const stretch of wanted.stretches) {
    const { startSec, sightings, fitter } = stretch;
    const tracks = yield* fitter.steps(sightings, correctionsOf(wanted, stretch), { mirrored: wanted.mirrored });
    parts.push({ startSec, tracks });
  }
  return parts;
}
