import { untrack } from 'svelte';
import type { Footage } from '../base/footage.ts';
import type { FrameGrid } from '../base/frameGrid.ts';
import { framesIn } from '../base/frameRate.ts';
import type { Steps } from '../base/steps.ts';
import { type Book, choicesOf } from '../project/book.ts';
import { timingOf } from '../timing/computeTiming.ts';
import { shownTimesSec } from '../timing/resample.ts';
import { readStory, type Story, type StoryChoices, storySteps } from '../timing/story.ts';
import { makeTimeMap, ownTiming, type TimeMap } from '../timing/timeMap.ts';
import type { Timing, TimingChoices } from '../timing/timing.ts';
import type { Tracks } from '../track/motion.ts';
import { Newest } from './newest.svelte.ts';

/** The story of corrected joints is read when none has been put right for this long, milliseconds. */
const restMs = 350;

/** Frames may be counted along the shot as it is to be animated, or along the take as it was filmed. */
export type Clock = 'shot' | 'take';

/** What a shot's timing is computed from. */
export interface TimedFrom {
  readonly book: Book;
  readonly footage: Footage | null;
  readonly tracks: Tracks | null;
  readonly clock: Clock;
}

/** Tracks with their story read. */
interface Told {
  readonly tracks: Tracks;
  readonly story: Story;
}

/**
 * The timing of the shot on screen, as a chain of derived links: what an edit does not touch is not computed again. The story
 * (which poses, which rests) is most of the work and depends on few decisions; everything else follows in a few
 * milliseconds. The story of newer tracks is read behind what the hand does, and until it is there the timing stays that of
 * the tracks before.
 */
export class ShotTiming {
  readonly #from: () => TimedFrom;
  #lastChoices: TimingChoices | null = null;
  #lastStoryChoices: StoryChoices | null = null;
  readonly #told = new Newest<Tracks, Told>((tracks) => this.#tell(tracks));
  #isCorrected = $state(false);
  #rest: ReturnType<typeof setTimeout> | undefined;

  /** @param from read anew whenever something of it changes. */
  constructor(from: () => TimedFrom) {
    this.#from = from;
  }

  readonly #footage = $derived.by(() => this.#from().footage);
  readonly #newestTracks = $derived.by(() => this.#from().tracks);
  readonly #tracks = $derived<Tracks | null>(this.#newestTracks && (this.#told.result?.tracks ?? null));
  readonly #clock = $derived.by(() => this.#from().clock);

  /** The tracks that the timing is computed from; older than those on screen while a story is being read. */
  readonly tracks = $derived<Tracks | null>(this.#tracks);
  /** A story is being read: the timing is of before. */
  readonly busy = $derived(this.#told.busy);
  /** Joints are being put right one after another: the story waits for the last. */
  readonly waits = $derived(this.#isCorrected);

  /** The part of the take that is the shot, take seconds; always a real span within the take. */
  readonly span = $derived.by<{ startSec: number; endSec: number }>(() => {
    const last = this.#footage?.endSec ?? 0;
    const { trimStartSec, trimEndSec } = this.#from().book;
    const startSec = Math.min(Math.max(0, trimStartSec ?? 0), last);
    const endSec = Math.min(last, trimEndSec ?? last);
    return endSec > startSec ? { startSec, endSec } : { startSec: 0, endSec: last };
  });

  /** The same object as long as nothing that timing depends on has changed: a note typed on the sheet is no other timing. */
  readonly #choices = $derived.by<TimingChoices>(() => {
    const choices = choicesOf(this.#from().book, this.span.startSec, this.span.endSec);
    this.#lastChoices = unlessSame(this.#lastChoices, choices);
    return this.#lastChoices;
  });
  /** What the story hangs on besides the tracks; the same object as long as nothing of it has changed. */
  readonly storyChoices = $derived.by<StoryChoices>(() => {
    const { rate, onFrames, startSec, endSec, smallestStepMm, puppetHeightMm } = this.#choices;
    const choices = { rate, onFrames, startSec, endSec, smallestStepMm, puppetHeightMm };
    this.#lastStoryChoices = unlessSame(this.#lastStoryChoices, choices);
    return this.#lastStoryChoices;
  });
  readonly #story = $derived.by<Story | null>(() => (this.#tracks ? readStory(this.#tracks, this.storyChoices) : null));

  /** The shot as it is to be animated. */
  readonly ofShot = $derived.by<Timing | null>(() =>
    this.#tracks && this.#story ? timingOf(this.#tracks, this.#story, this.#choices) : null,
  );
  /** The same shot in the take's own time; the same object where nothing was done to time. */
  readonly ofTake = $derived.by<Timing | null>(() => {
    if (!this.#tracks || !this.#story || this.ofShot?.map.isIdentity) return this.ofShot;
    return timingOf(this.#tracks, this.#story, {
      ...this.#choices,
      retiming: ownTiming,
      // By hand, frames of the retimed shot are meant.
      exposureSpans: [],
      exposedFrames: [],
    });
  });
  /** The one on screen. */
  readonly shown = $derived(this.#clock === 'take' ? this.ofTake : this.ofShot);

  readonly #map = $derived.by<TimeMap>(() => {
    const { startSec, endSec } = this.span;
    return makeTimeMap(this.#clock === 'take' ? ownTiming : this.#choices.retiming, startSec, endSec);
  });
  /** The frames on screen, whether or not anything was read; null without a take. */
  readonly grid = $derived.by<FrameGrid | null>(() => {
    if (!this.#footage) return null;
    const { rate } = this.#choices;
    return { rate, frameCount: framesIn(rate, this.#map.lengthSec), startSec: this.span.startSec };
  });
  /** Take time at each frame on screen, never falling. Shape [frame]. */
  readonly frameTimesSec = $derived<Float64Array>(
    this.grid ? shownTimesSec(this.grid, this.#map) : new Float64Array(0),
  );

  /** Reads the story of newer tracks behind everything else. To be called in an effect. */
  catchUp(): void {
    const tracks = this.#newestTracks;
    if (tracks && !this.#isCorrected) untrack(() => this.#told.ask(tracks));
  }

  /** A joint has been put right and the next one may be at once: the story waits until the hand has rested for a moment. */
  wait(): void {
    this.#isCorrected = true;
    clearTimeout(this.#rest);
    this.#rest = setTimeout(() => {
      this.#isCorrected = false;
    }, restMs);
  }

  /** Waits no longer: whatever is decided next is to be laid on the timing of the joints as they are now. */
  catchUpNow(): void {
    if (!this.#isCorrected) return;
    this.#rested();
    if (this.#newestTracks) this.#told.now(this.#newestTracks);
  }

  /** Another take: nothing of this one is shown any more. */
  forget(): void {
    this.#rested();
    this.#told.forget();
  }

  /** Settles when no story is being read. One that waits for the hand to rest is not begun by this. */
  settled(): Promise<void> {
    return this.#told.settled();
  }

  #rested(): void {
    clearTimeout(this.#rest);
    this.#isCorrected = false;
  }

  *#tell(tracks: Tracks): Steps<Told> {
    const choices = untrack(() => this.storyChoices);
    return { tracks, story: yield* storySteps(tracks, choices) };
  }
}

/** The object of before where the new one says the same. */
function unlessSame<T extends object>(before: T | null, now: T): T {
  const isSame = before && Object.entries(now).every(([name, value]) => before[name as keyof T] === value);
  return isSame ? before : now;
}
