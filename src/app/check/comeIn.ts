import { orderStills, stillsAmong } from '../../ingest/numberedStills.ts';

/** Pictures that came in since the look before, by their place among all, `to` not included. */
export interface CameIn {
  readonly from: number;
  readonly to: number;
}

/** How many pictures of a shot have come in. One that is written anew under its old name is the one that was there. */
export class ComeIn {
  #names: ReadonlySet<string> = new Set();
  #count: number | null = null;

  /** @param told the stills that were there before; of none, what the first look finds was there before. */
  begin(told: readonly File[]): void {
    const stills = stillsAmong(told);
    this.#names = new Set(stills.map(({ name }) => name));
    this.#count = stills.length > 0 ? orderStills(stills).files.length : null;
  }

  /**
   * What came in since the look before; null = nothing.
   * @param stills all that are there.
   * @param whole those of them that have been written to their end.
   */
  look(stills: readonly File[], whole: readonly File[]): CameIn | null {
    const there = stills.filter((file) => this.#names.has(file.name) || whole.includes(file));
    this.#names = new Set(there.map(({ name }) => name));
    const [from, to] = [this.#count, orderStills(there).files.length];
    this.#count = to;
    return from !== null && to > from ? { from, to } : null;
  }
}
