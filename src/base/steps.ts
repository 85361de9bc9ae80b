/**
 * A computation that can be left and gone on with after each step, so that a page may draw and listen in between. What it
 * returns is the same however it is run.
 */
export type Steps<T> = Generator<undefined, T, undefined>;

/** Runs a computation to its end without leaving it. */
export function finish<T>(steps: Steps<T>): T {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}
