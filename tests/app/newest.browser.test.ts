import { describe, expect, it } from 'vitest';
import { Newest } from '../../src/app/newest.svelte.ts';
import type { Steps } from '../../src/base/steps.ts';

interface Sum {
  readonly upTo: number;
}

/** Adds up in steps, each of which holds the processor for `stepMs`; tells what it began. */
function adder(stepMs: number) {
  const begun: number[] = [];
  const steps = function* ({ upTo }: Sum): Steps<number> {
    begun.push(upTo);
    let sum = 0;
    for (let i = 1; i <= upTo; i++) {
      sum += i;
      const until = performance.now() + stepMs;
      while (performance.now() < until);
      yield;
    }
    return sum;
  };
  return { begun, newest: new Newest<Sum, number>(steps) };
}

describe('Newest', () => {
  it('works out behind what it was asked for, and keeps what was there until then', async () => {
    const { newest } = adder(0);
    newest.now({ upTo: 3 });
    expect(newest.result).toBe(6);
    const wanted = { upTo: 10 };
    newest.ask(wanted);
    expect([newest.result, newest.busy]).toEqual([6, true]);
    await newest.settled();
    expect([newest.result, newest.busy, newest.has(wanted)]).toEqual([55, false, true]);
  });

  it('lets everything else have its turn between slices', async () => {
    const { newest } = adder(4);
    let turns = 0;
    let isOver = false;
    const turn = () => {
      turns++;
      if (!isOver) setTimeout(turn);
    };
    setTimeout(turn);
    newest.ask({ upTo: 40 });
    await newest.settled();
    isOver = true;
    expect(turns).toBeGreaterThan(5);
  });

  it('gives up what nobody wants any more: the last that was asked for is what comes', async () => {
    const { newest, begun } = adder(2);
    const seen: (number | null)[] = [];
    for (const upTo of [50, 60, 7]) {
      newest.ask({ upTo });
      seen.push(newest.result);
    }
    await newest.settled();
    expect(newest.result).toBe(28);
    expect(seen).toEqual([null, null, null]);
    // What was asked for and replaced in one turn is not even begun.
    expect(begun).toEqual([7]);
  });

  it('forgets what is under way when it is told to, and what was made', async () => {
    const { newest } = adder(2);
    newest.now({ upTo: 2 });
    newest.ask({ upTo: 50 });
    newest.forget();
    await newest.settled();
    expect([newest.result, newest.busy]).toEqual([null, false]);
  });

  it('does what is wanted at once when it is told to', async () => {
    const { newest, begun } = adder(1);
    const wanted = { upTo: 20 };
    newest.ask(wanted);
    newest.now(wanted);
    expect([newest.result, newest.busy]).toEqual([210, false]);
    newest.now(wanted);
    newest.ask(wanted);
    await newest.settled();
    expect(begun).toEqual([20]);
  });
});
