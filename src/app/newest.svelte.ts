import { finish, type Steps } from '../base/steps.ts';
import { inSlices } from './slices.ts';

/**
 * The newest result of a computation that takes too long for the blink of an eye: worked out in slices behind what the hand does,
 * while the result of before stays. When something else is wanted meanwhile, what is under way is given up.
 */
export class Newest<Wanted extends object, Result> {
  readonly #steps: (wanted: Wanted) => Steps<Result>;
  #made = $state.raw<{ readonly wanted: Wanted; readonly result: Result } | null>(null);
  /** What is being worked out; null = nothing. */
  #underWay = $state.raw<Wanted | null>(null);
  #work: Promise<void> = Promise.resolve();

  /** @param steps the computation. */
  constructor(steps: (wanted: Wanted) => Steps<Result>) {
    this.#steps = steps;
  }

  /** What was worked out last; null = nothing yet. */
  readonly result = $derived<Result | null>(this.#made?.result ?? null);
  /** Something newer is being worked out. */
  readonly busy = $derived(this.#underWay !== null);

  /** Has this been worked out? */
  has(wanted: Wanted): boolean {
    return this.#made?.wanted === wanted;
  }

  /** Works this out behind everything else, instead of what is under way. */
  ask(wanted: Wanted): void {
    if (this.has(wanted)) {
      this.#underWay = null;
      return;
    }
    if (this.#underWay === wanted) return;
    this.#underWay = wanted;
    this.#work = this.#workOut(wanted);
  }

  /** Settles when nothing is under way. */
  async settled(): Promise<void> {
    while (this.#underWay !== null) await this.#work;
  }

  /** Works this out now, while everything waits. */
  now(wanted: Wanted): void {
    this.#underWay = null;
    if (!this.has(wanted)) this.#made = { wanted, result: finish(this.#steps(wanted)) };
  }

  /** Nothing is wanted any more, and nothing was worked out. */
  forget(): void {
    this.#made = null;
    this.#underWay = null;
  }

  async #workOut(wanted: Wanted): Promise<void> {
    const made = await inSlices(this.#steps(wanted), () => this.#underWay === wanted);
    if (made === null || this.#underWay !== wanted) return;
    this.#made = { wanted, result: made };
    this.#underWay = null;
  }
}
