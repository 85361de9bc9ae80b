import { failed, good, type Outcome } from '../base/failure.ts';
import type { Footage } from '../base/footage.ts';
import type { CutPart } from '../project/book.ts';
import type { CutSource, CutSources } from '../project/cut.ts';
import type { Reading } from '../project/reading.ts';
import type { Sightings } from '../track/sighting.ts';
import { showCut } from './cutPictures.ts';
import { showFootage, showTake, type TakeOnScreen } from './takeOnScreen.ts';

/** The take that is open: its pictures, its footage, and what was seen in it. */
export class OpenedTake {
  #shown = $state.raw<TakeOnScreen | null>(null);
  #footage = $state.raw<Footage | null>(null);
  #sightings = $state.raw<Sightings | null>(null);
  #sources = $state.raw<CutSources | null>(null);
  /** Null where the pictures are not here. */
  readonly shown = $derived<TakeOnScreen | null>(this.#shown);
  /** As the file promises it; once read, as decoding left it. */
  readonly footage = $derived<Footage | null>(this.#footage);
  readonly sightings = $derived<Sightings | null>(this.#sightings);
  /** The takes that a cut shot is cut from; null for a shot of one take, and where they did not come along. */
  readonly sources = $derived<CutSources | null>(this.#sources);

  /** Takes up what a book brings along, and forgets the take before. Its pictures are not here yet. */
  begin(reading: Reading | null, sources: CutSources | null): void {
    this.#shown?.close();
    this.#shown = null;
    this.#footage = reading?.footage ?? null;
    this.#sightings = reading?.sightings ?? null;
    this.#sources = sources;
  }

  /** One more take to cut from. One that is there already stays as it was picked. */
  addSource(source: CutSource): void {
    if (!this.#sources?.has(source.takeId))
      this.#sources = new Map([...(this.#sources ?? []), [source.takeId, source]]);
  }

  /** A take of which nothing is known but what its file promises. */
  show(shown: TakeOnScreen): void {
    this.#shown = shown;
    this.#footage = shown.footage;
  }

  /** The pictures of a take that was read before. */
  showAgain(shown: TakeOnScreen): void {
    this.#shown = shown;
    this.settle(this.#footage ?? shown.footage);
  }

  /** The pictures of a shot that is cut together, part by part. */
  showCut(parts: readonly CutPart[], files: readonly (readonly File[])[], footage: Footage): void {
    this.#shown?.close();
    this.#shown = showCut(parts, files, footage);
  }

  /** What has been seen so far, with the footage once it is settled. */
  see(sightings: Sightings, footage: Footage | null): void {
    this.#sightings = sightings;
    if (footage) this.settle(footage);
  }

  /** Takes footage as decoding left it; pictures that could not be decoded are no longer counted. */
  settle(footage: Footage): void {
    const shown = this.#shown;
    this.#footage = footage;
    if (!shown || shown.footage.timesSec.length === footage.timesSec.length) return;
    shown.close();
    this.#shown = showFootage(shown.files, shown.stillsFps, footage);
  }

  /** Says at how many pictures a second stills were shot. What was read of them stays: only its times change. */
  async setStillsFps(fps: number): Promise<Outcome<null>> {
    const before = this.#shown;
    if (!before) return good(null);
    const shown = await showTake(before.files, fps);
    if (!shown.ok) return shown;
    before.close();
    this.show(shown.value);
    const { timesSec } = shown.value.footage;
    if (this.#sightings) this.#sightings = { ...this.#sightings, timesSec };
    return good(null);
  }

  /** Finds the pictures again of a take that is known from its book. Fails where they are too few to be its. */
  async attach(files: readonly File[]): Promise<Outcome<null>> {
    const want = this.#footage;
    const take = await showTake(files, stillsFpsOf(want));
    if (!take.ok) return take;
    const count = take.value.footage.timesSec.length;
    // Decoding may have left pictures out of the book's list, never added any.
    if (want && count < want.timesSec.length) {
      take.value.close();
      return failed(
        'file-unreadable',
        `That file has ${count} pictures, this book’s take “${want.name}” has ${want.timesSec.length}. Choose the video the book was made from.`,
      );
    }
    this.showAgain(take.value);
    return good(null);
  }
}

/** The rate at which footage of stills was opened; for a video any rate serves. */
export function stillsFpsOf(footage: Footage | null): number {
  return footage?.codec === 'stills' && footage.medianFps > 0 ? Number(footage.medianFps.toFixed(3)) : 24;
}
