import type { Outcome } from '../base/failure.ts';
import type { Footage } from '../base/footage.ts';
import { TakeReader } from '../detect/client.ts';
import type { NewestPose, ReadingPass, ReadingState } from '../detect/gathered.ts';
import type { ReadingDepth } from '../detect/poseModel.ts';
import type { PerformerAt, TakeReading } from '../detect/protocol.ts';
import { PauseSwitch } from '../ingest/calls.ts';
import type { TakeSource } from '../ingest/openTake.ts';
import type { Sightings } from '../track/sighting.ts';

/** While reading, what was seen so far is handed on at most this often, milliseconds: enough to watch a plan grow. */
const handOnEvery = 1500;
/** ... and only when the pictures have grown by this factor: everything is computed anew each time. */
const handOnGrowth = 1.15;

/** A reading as the screen shows it. One at a time. */
export class Reading {
  busy = $state(false);
  paused = $state(false);
  /** Which pass is under way; in all but the quick one the plan can already be worked on. */
  pass = $state<ReadingPass>('quick');
  done = $state(0);
  total = $state(1);
  /** Pictures a second over the last seconds; 0 before the first. */
  perSecond = $state(0);
  /** NaN while unknown. */
  secondsLeft = $state(Number.NaN);
  /** The model, what it runs on, and why there, with what each other way said; null while loading. */
  running = $state.raw<{ model: string; backend: string; because: string } | null>(null);
  newest = $state.raw<NewestPose | null>(null);

  #reader: TakeReader | null = null;
  #abort: AbortController | null = null;
  #pause = new PauseSwitch();

  /**
   * Reads the take. Settles with the whole, or with why not.
   * @param resume a reading of this take that was stopped, to go on with; null = anew.
   * @param onSightings is handed what was seen so far now and then, with the footage once the quick pass is whole.
   */
  async run(
    source: TakeSource,
    depth: ReadingDepth,
    stillsRate: number,
    performer: readonly PerformerAt[],
    resume: Pick<TakeReading, 'footage' | 'sightings'> | null,
    onSightings: (sightings: Sightings, footage: Footage | null) => void,
  ): Promise<Outcome<TakeReading>> {
    this.busy = true;
    this.paused = false;
    this.pass = 'quick';
    this.done = 0;
    this.total = 1;
    this.perSecond = 0;
    this.secondsLeft = Number.NaN;
    this.running = null;
    this.newest = null;
    this.#abort = new AbortController();
    this.#pause = new PauseSwitch();
    this.#reader ??= new TakeReader();
    let handedOnAt = performance.now();
    let nextAt = 0;
    let newestState: ReadingState | null = null;
    try {
      const outcome = await this.#reader.read(
        source,
        { depth, stillsRate, performer, resume },
        {
          signal: this.#abort.signal,
          pause: this.#pause,
          onQuick: (quick) => {
            onSightings(quick.sightings, quick.footage);
            nextAt = 0;
          },
          onProgress: (state) => {
            this.#show(state);
            newestState = state;
            const isSoon = performance.now() - handedOnAt < handOnEvery;
            if (isSoon || state.picturesDone < nextAt) return;
            handedOnAt = performance.now();
            const sightings = state.sightingsSoFar();
            if (sightings) onSightings(sightings, null);
            nextAt = state.picturesDone * handOnGrowth;
          },
        },
      );
      // Stopped or failed: what came in since the last time is not lost. (Read through a function: set in a callback.)
      const last = ((): ReadingState | null => newestState)();
      const rest = outcome.ok ? null : last?.sightingsSoFar();
      if (rest) onSightings(rest, null);
      return outcome;
    } finally {
      this.busy = false;
      this.newest = null;
    }
  }

  /** Stops the reading; what was seen stays. */
  cancel(): void {
    this.#abort?.abort();
  }

  togglePause(): void {
    this.paused = !this.paused;
    if (this.paused) this.#pause.pause();
    else this.#pause.resume();
  }

  #show(state: ReadingState): void {
    this.pass = state.pass;
    this.done = state.picturesDone;
    this.total = Math.max(1, state.pictureCount);
    this.perSecond = Number.isFinite(state.picturesPerSecond) ? state.picturesPerSecond : 0;
    this.secondsLeft = state.secondsLeft;
    // In the later passes the animator is at work on the tracks: nothing is drawn over them.
    this.newest = state.pass === 'quick' ? state.newest : null;
    if (!state.detector) return;
    const { model, backend, reason } = state.detector;
    // As long as nothing changes it stays the same object: the page would draw it again with every picture.
    if (this.running?.model !== model || this.running.backend !== backend)
      this.running = { model, backend, because: reason };
  }
}
