/** How many pictures beyond the wanted one are fetched in the direction of travel, and against it. */
const aheadBy = 24;
const behindBy = 6;

/** Pictures by index, bounded: the one farthest from `focus` goes first. Null stands for a picture that is damaged. */
export class PictureStore<T> {
  /** Where the user is. */
  focus = 0;
  readonly #capacity: number;
  readonly #release: (item: T) => void;
  readonly #items = new Map<number, T | null>();

  /** @param release called once for each item that leaves. */
  constructor(capacity: number, release: (item: T) => void) {
    this.#capacity = capacity;
    this.#release = release;
  }

  /** Undefined when it is not here. */
  get(index: number): T | null | undefined {
    return this.#items.get(index);
  }

  /** How many are here. */
  get size(): number {
    return this.#items.size;
  }

  /** How many fit. */
  get capacity(): number {
    return this.#capacity;
  }

  put(index: number, item: T | null): void {
    this.#drop(index);
    this.#items.set(index, item);
    while (this.#items.size > this.#capacity) this.#drop(this.#farthest());
  }

  clear(): void {
    for (const index of [...this.#items.keys()]) this.#drop(index);
  }

  #drop(index: number): void {
    const item = this.#items.get(index);
    this.#items.delete(index);
    if (item) this.#release(item);
  }

  #farthest(): number {
    let farthest = this.focus;
    let distance = -1;
    for (const index of this.#items.keys()) {
      const here = Math.abs(index - this.focus);
      if (here > distance) {
        farthest = index;
        distance = here;
      }
    }
    return farthest;
  }
}

/**
 * Which pictures to fetch now, rising: the wanted one and its neighbours, those at hand left out. Decoders only run
 * forwards, so against the direction of travel a whole stretch before the wanted picture is fetched with it. Empty when
 * all are at hand, also when the stretch still at hand ahead is long enough.
 */
export function runFor(
  wanted: number,
  direction: 1 | -1,
  count: number,
  store: { get(index: number): unknown; readonly capacity: number },
): number[] {
  const ahead = Math.min(aheadBy, Math.floor(store.capacity / 2));
  const behind = Math.min(behindBy, Math.floor(store.capacity / 4));
  const first = Math.max(0, wanted - (direction > 0 ? behind : ahead));
  const last = Math.min(count - 1, wanted + (direction > 0 ? ahead : behind));
  const missing: number[] = [];
  for (let i = first; i <= last; i++) if (store.get(i) === undefined) missing.push(i);
  if (missing.length === 0) return [];
  // Forwards the wanted one comes first, and what lies behind is left for a change of direction.
  const run = direction > 0 ? missing.filter((i) => i >= wanted) : missing;
  const needed = store.get(wanted) === undefined;
  // Short runs cost a decoder start each: wait until a third of the stretch is missing.
  return needed || run.length >= ahead / 3 || (run.length > 0 && run[run.length - 1] === count - 1) ? run : [];
}
