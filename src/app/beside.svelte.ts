import { failed, good, type Outcome } from '../base/failure.ts';
import type { Keeping } from './keeping.svelte.ts';
import { pictureAt } from './pictureAt.ts';
import { showFootage, showTake, type TakeOnScreen } from './takeOnScreen.ts';

/** Another take beside the one that is worked on, played in step with it. Only looked at: nothing of it is computed. */
export class Beside {
  #take = $state.raw<TakeOnScreen | null>(null);
  readonly take = $derived(this.#take);
  name = $state('');
  /** The other take is this much further on, seconds: what lines the two up. */
  aheadSec = $state(0);
  #asked = 0;

  /** Shows the take of a book on the shelf. Fails where its pictures are not kept here, or cannot be opened. */
  async open(id: string, name: string, keeping: Keeping): Promise<Outcome<null>> {
    const asked = ++this.#asked;
    const book = await keeping.take(id);
    const files = book?.ok ? book.value.files : [];
    if (!book?.ok || files.length === 0)
      return failed('file-unreadable', `The pictures of “${name}” are not kept in this browser. Open its video again.`);
    const { reading } = book.value;
    const stillsFps = reading?.footage.codec === 'stills' ? Number(reading.footage.medianFps.toFixed(3)) : 24;
    const shown = reading ? good(showFootage(files, stillsFps, reading.footage)) : await showTake(files, stillsFps);
    if (!shown.ok) return shown;
    if (asked !== this.#asked) {
      shown.value.close();
      return good(null);
    }
    this.#take?.close();
    this.#take = shown.value;
    this.name = name;
    this.aheadSec = 0;
    return good(null);
  }

  /** The picture that belongs beside a moment of the take that is worked on. */
  pictureAt(takeSec: number): number {
    return this.#take ? pictureAt(this.#take.footage.timesSec, takeSec + this.aheadSec) : 0;
  }

  close(): void {
    this.#asked++;
    this.#take?.close();
    this.#take = null;
  }
}
