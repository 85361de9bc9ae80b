import type { Page } from '@playwright/test';

declare global {
  interface Window {
    pieceOfWork?: () => number;
  }
}

/**
 * What the piece of work takes on a free machine of two slow cores, on which the bounds of these tests were set: milliseconds, the least of
 * 120 runs was 11.1. On a machine that is slower, or busy with something else, it takes longer, and so does the app.
 */
const freeMs = 12;
/** Until the browser has made it as quick as it can be. */
const warmingRuns = 12;

/** Lays the piece of work ready in the page. */
async function layReady(page: Page): Promise<void> {
  await page.evaluate((runs) => {
    window.pieceOfWork = () => {
      const start = performance.now();
      let sum = 0;
      // Numbers, objects, and a list that is sorted: what the app does all day.
      for (let round = 0; round < 6; round++) {
        const list = Array.from({ length: 6000 }, (_, k) => ({ at: Math.sin(k * (round + 1)), k }));
        list.sort((a, b) => a.at - b.at);
        for (const { at, k } of list) sum += Math.hypot(at, k) * Math.cos(k);
      }
      // Looked at, or it might be left out.
      document.documentElement.dataset.pace = String(Math.sign(sum));
      return performance.now() - start;
    };
    for (let i = 0; i < runs; i++) window.pieceOfWork();
  }, warmingRuns);
}

/** Does the piece of work, which is always the same. @returns how many times as long as on a free machine it took, at least 1. */
async function slownessNow(page: Page): Promise<number> {
  return Math.max(1, (await page.evaluate(() => window.pieceOfWork!())) / freeMs);
}

/** How many times as slow as a free machine it is around an act, at least 1; for an act whose longest wait counts. */
export async function slownessAround<T>(page: Page, act: () => Promise<T>): Promise<{ made: T; slow: number }> {
  await layReady(page);
  const several = async () => {
    let sum = 0;
    for (let i = 0; i < aroundRuns; i++) sum += (await slownessNow(page)) / aroundRuns;
    return sum;
  };
  const before = await several();
  const made = await act();
  return { made, slow: (before + (await several())) / 2 };
}

const aroundRuns = 6;

/** The middle of several times, each as it would have been on a free machine. */
export interface Paced {
  readonly ms: number;
  /** For the log: the middle and the most as they were, and how slow the machine was in between. */
  readonly words: string;
}

/**
 * Times an act several times, each beside the piece of work that is always the same, before and after: what the machine does besides takes
 * from both alike. On a free machine times stand as they are.
 * @param act milliseconds that it took.
 */
export async function paced(page: Page, times: number, act: (i: number) => Promise<number>): Promise<Paced> {
  const middle = (of: readonly number[]) => of.toSorted((a, b) => a - b)[of.length >> 1]!;
  await layReady(page);
  const took: number[] = [];
  const slow: number[] = [];
  for (let i = 0; i < times; i++) {
    const before = await slownessNow(page);
    took.push(await act(i));
    slow.push((before + (await slownessNow(page))) / 2);
  }
  const ms = Math.min(middle(took.map((t, i) => t / slow[i]!)), middle(took) / middle(slow));
  const words = `${middle(took).toFixed(0)} ms, at most ${Math.max(...took).toFixed(0)} ms; the machine ${middle(slow).toFixed(1)} times as slow as a free one`;
  return { ms, words };
}
