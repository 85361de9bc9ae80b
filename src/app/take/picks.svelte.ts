import { failed, type Outcome } from '../../base/failure.ts';
import type { BookFile } from '../../project/bookFile.ts';
import { cutTogether, type PickedStretch } from '../../project/cutTogether.ts';
import type { Keeping } from '../keeping.svelte.ts';
import { pictureAt } from '../pictureAt.ts';

/** A stretch that the animator has picked. Frames are those of the take as its book trims it, from 0, inclusive. */
export interface Picked {
  readonly id: string;
  readonly takeId: string;
  readonly name: string;
  readonly fromFrame: number;
  readonly toFrame: number;
  /** How many frames there are to pick from. */
  readonly frameCount: number;
  /** Take seconds of frame 0, and frames a second. */
  readonly startSec: number;
  readonly fps: number;
}

/** Just before the next frame begins, seconds. */
const justBefore = 1e-4;

/** Stretches picked from several takes, while one take after another is looked at. They are not kept: the shot made of them is. */
export class Picks {
  list = $state.raw<readonly Picked[]>([]);
  /** Frames of the shot that they make. */
  readonly frames = $derived(this.list.reduce((sum, p) => sum + p.toFrame - p.fromFrame + 1, 0));
  #made = 0;

  /** Adds a stretch at the end. */
  add(picked: Omit<Picked, 'id'>): void {
    this.list = [...this.list, { ...picked, id: `pick${this.#made++}` }];
  }

  /** Lets a stretch begin or end elsewhere; it keeps at least two frames. */
  trim(id: string, edge: 'from' | 'to', frame: number): void {
    this.list = this.list.map((p) => {
      if (p.id !== id || !Number.isFinite(frame)) return p;
      return edge === 'from'
        ? { ...p, fromFrame: Math.max(0, Math.min(p.toFrame - 1, frame)) }
        : { ...p, toFrame: Math.min(p.frameCount - 1, Math.max(p.fromFrame + 1, frame)) };
    });
  }

  /** Moves a stretch earlier (negative) or later in the list. */
  move(id: string, by: number): void {
    const from = this.list.findIndex((p) => p.id === id);
    const to = from + by;
    if (from < 0 || to < 0 || to >= this.list.length) return;
    const list = [...this.list];
    list.splice(to, 0, ...list.splice(from, 1));
    this.list = list;
  }

  /** Takes a stretch out of the list. */
  remove(id: string): void {
    this.list = this.list.filter((p) => p.id !== id);
  }

  /** The shot that they make, in the order of the list. Fails as `cutTogether` does, and where a take is no longer kept. */
  async cut(shotName: string, keeping: Keeping): Promise<Outcome<BookFile>> {
    await keeping.settled();
    const stretches: PickedStretch[] = [];
    for (const pick of this.list) {
      const taken = await keeping.take(pick.takeId);
      if (!taken)
        return failed('takes-do-not-join', 'This browser keeps nothing, so takes cannot be cut together here.');
      if (!taken.ok) return taken;
      const { book, reading } = taken.value;
      if (!reading)
        return failed(
          'takes-do-not-join',
          `“${pick.name}” has not been read yet. Open it, read it, then cut together.`,
        );
      const { timesSec } = reading.footage;
      const secOf = (frame: number) => pick.startSec + frame / pick.fps;
      stretches.push({
        takeId: pick.takeId,
        book,
        reading,
        firstPicture: pictureAt(timesSec, secOf(pick.fromFrame)),
        lastPicture: pictureAt(timesSec, secOf(pick.toFrame + 1) - justBefore - 0.0005),
      });
    }
    return cutTogether(shotName, stretches);
  }
}
