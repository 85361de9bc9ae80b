import { type TappedTempo, tapPauseSec, tempoOfTaps } from '../../timing/tapTempo.ts';
import type { Playhead } from '../playhead.svelte.ts';

/** A row of taps, on the clock of the shot. */
export class Taps {
  /** Seconds of `performance.now()`, rising. */
  #sec = $state.raw<readonly number[]>([]);
  /** Where the shot was at the first tap, and how fast it went; a stopped shot counts as real time. */
  #start = { shotSec: 0, speed: 1 };
  #row = 0;

  /** What undo calls together: all taps of one row. */
  readonly gesture = $derived(`taps ${this.#sec.length === 0 ? 0 : this.#row}`);
  readonly count = $derived(this.#sec.length);
  /** The tempo of the row as beats of the shot; null with fewer than two taps. */
  readonly tempo = $derived.by<TappedTempo | null>(() => {
    const tapped = tempoOfTaps(this.#sec);
    if (!tapped) return null;
    const { shotSec, speed } = this.#start;
    return {
      ...tapped,
      // Tapped along at a quarter of the speed, a beat of the shot is a quarter as long as one of the finger's.
      beatsPerMinute: tapped.beatsPerMinute / speed,
      doubtBpm: tapped.doubtBpm / speed,
      firstBeatSec: shotSec + (tapped.firstBeatSec - this.#sec[0]!) * speed,
    };
  });

  /** Takes a tap that came at a moment of `performance.now()`; after a pause a new row begins. */
  tap(ms: number, playhead: Playhead): void {
    const sec = ms / 1000;
    const last = this.#sec.at(-1);
    if (last === undefined || sec - last > tapPauseSec) {
      this.#row++;
      this.#start = { shotSec: playhead.shotSecAt(ms), speed: playhead.run?.speed ?? 1 };
      this.#sec = [sec];
    } else this.#sec = [...this.#sec, sec];
  }

  /** Begins anew. */
  clear(): void {
    this.#sec = [];
  }
}
