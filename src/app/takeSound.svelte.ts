import type { Footage } from '../base/footage.ts';
import type { Soundtrack } from '../base/sound.ts';
import { readSound } from '../ingest/sound.ts';
import type { Heard } from '../plan/heard.ts';
import { findOnsets, type Onset } from '../timing/onsets.ts';
import { Taps } from './timing/taps.svelte.ts';

/** The sound of the take on screen: read beside everything else, never in its way. */
export class TakeSound {
  /** Null while unread, and where there is none. */
  track = $state.raw<Soundtrack | null>(null);
  /** `absent`: no take is open. `silent`: it has no sound. `failed`: see `sentence`. */
  state = $state<'absent' | 'reading' | 'heard' | 'silent' | 'failed'>('absent');
  /** How much is read, 0..1. */
  share = $state(0);
  /** Why it could not be read, and what to do; "" otherwise. */
  sentence = $state('');
  /** Where the sound can be heard from; null where it cannot. */
  source = $state.raw<{ readonly file: File; readonly firstStampSec: number } | null>(null);
  /** Tapped along with it, or without. */
  readonly taps = new Taps();
  #stop: AbortController | null = null;

  /** Where sounds begin. */
  readonly onsets = $derived<readonly Onset[]>(this.track ? findOnsets(this.track) : []);
  /** Both together, for the plan; null without sound. */
  readonly heard = $derived<Heard | null>(this.track ? { track: this.track, onsets: this.onsets } : null);
  readonly busy = $derived(this.state === 'reading');

  /**
   * Reads the sound of a take, unless a book brought it along. Stills have none.
   * @param onRead hears when there is something new to keep.
   */
  async open(files: readonly File[], footage: Footage, kept: Soundtrack | null, onRead: () => void): Promise<void> {
    this.close();
    const file = files[0];
    if (!file || files.length !== 1 || footage.codec === 'stills') {
      this.state = 'silent';
      return;
    }
    const { firstStampSec, endSec } = footage;
    if (kept) {
      this.#have(kept, { file, firstStampSec });
      return;
    }
    const stop = new AbortController();
    this.#stop = stop;
    this.state = 'reading';
    this.share = 0;
    const outcome = await readSound(
      { file, firstStampSec, endSec },
      {
        signal: stop.signal,
        onShare: (share) => {
          this.share = share;
        },
      },
    );
    if (stop !== this.#stop) return;
    this.#stop = null;
    if (!outcome.ok) {
      this.state = 'failed';
      this.sentence = outcome.failure.sentence;
    } else if (outcome.value) {
      this.#have(outcome.value, { file, firstStampSec });
      onRead();
    } else this.state = 'silent';
  }

  /** Shows sound that a book brought along without its take: it can be seen, not heard. */
  show(kept: Soundtrack | null): void {
    this.close();
    this.track = kept;
    if (kept) this.state = 'heard';
  }

  /** Stops reading and forgets the sound. */
  close(): void {
    this.#stop?.abort();
    this.#stop = null;
    this.taps.clear();
    this.track = null;
    this.source = null;
    this.state = 'absent';
    this.sentence = '';
  }

  #have(track: Soundtrack, source: { readonly file: File; readonly firstStampSec: number }): void {
    this.track = track;
    this.source = source;
    this.state = 'heard';
  }
}
