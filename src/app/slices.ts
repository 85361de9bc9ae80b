import type { Steps } from '../base/steps.ts';

/** A computation holds the page for this long at most before it lets it draw and listen, milliseconds: less than a picture on screen. */
const sliceMs = 12;

/**
 * Runs a computation in slices, so that nothing the hand does has to wait for it.
 * @param isWanted asked before each slice: false gives the computation up.
 * @returns what it computed, or null when it was given up.
 */
export async function inSlices<T>(steps: Steps<T>, isWanted: () => boolean): Promise<T | null> {
  for (;;) {
    await nextTurn();
    if (!isWanted()) return null;
    const until = performance.now() + sliceMs;
    do {
      const step = steps.next();
      if (step.done) return step.value;
    } while (performance.now() < until);
  }
}

/** Settles after the events that wait have been seen to. A message, because timers of a page in the background run once a second. */
export function nextTurn(): Promise<void> {
  return new Promise((resolve) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => {
      port1.close();
      resolve();
    };
    port2.postMessage(null);
  });
}
