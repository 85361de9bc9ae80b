import { describe, expect, it } from 'vitest';
import { failed } from '../../src/base/failure.ts';
import { answerCalls, type CallScope, type Handlers, PauseSwitch, WorkerCalls } from '../../src/ingest/calls.ts';
import { WorldFailure } from '../../src/ingest/worldFailure.ts';

type Calls = {
  readonly count: readonly [{ readonly to: number }, { readonly counted: number }, number];
};

/** A worker in the same thread: messages cross as copies, each in a turn of its own. */
function pair(handlers: Handlers<Calls>) {
  const worker = {
    onmessage: null as ((event: MessageEvent) => void) | null,
    onerror: null as ((event: ErrorEvent) => void) | null,
    terminate() {
      scope.onmessage = null;
    },
    postMessage(message: unknown) {
      const copy = structuredClone(message);
      queueMicrotask(() => scope.onmessage?.({ data: copy } as MessageEvent));
    },
  };
  const scope: CallScope = {
    onmessage: null,
    postMessage(message) {
      const copy = structuredClone(message);
      queueMicrotask(() => worker.onmessage?.({ data: copy } as MessageEvent));
    },
  };
  answerCalls<Calls>(scope, handlers);
  return { calls: new WorkerCalls<Calls>(worker as unknown as Worker), worker };
}

const counting: Handlers<Calls> = {
  async count({ to }, job) {
    for (let i = 1; i <= to; i++) {
      await job.goOn();
      job.progress(i);
      // A turn of the loop, so that messages can come in.
      await new Promise((resolve) => setImmediate(resolve));
    }
    return { reply: { counted: to } };
  },
};

/** Settles when nothing is left to be done but what waits for a message. */
async function untilQuiet(): Promise<void> {
  for (let i = 0; i < 20; i++) await new Promise((resolve) => setImmediate(resolve));
}

describe('calls to a worker', () => {
  it('bring progress and the reply', async () => {
    const seen: number[] = [];
    const { calls } = pair(counting);
    const outcome = await calls.call('count', { to: 3 }, { onProgress: (n) => seen.push(n) });
    expect(outcome).toEqual({ ok: true, value: { counted: 3 } });
    expect(seen).toEqual([1, 2, 3]);
  });

  it('bring failures of the world as they are, and others with a next step', async () => {
    const throwing = (error: unknown): Handlers<Calls> => ({
      count: async () => {
        throw error;
      },
    });
    const known = pair(throwing(new WorldFailure('file-empty', 'Empty. Copy it again.'))).calls;
    expect(await known.call('count', { to: 1 })).toEqual(failed('file-empty', 'Empty. Copy it again.'));
    const unknown = await pair(throwing(new TypeError('x is not y'))).calls.call('count', { to: 1 });
    expect(!unknown.ok && unknown.failure.code).toBe('unexpected');
    expect(!unknown.ok && unknown.failure.sentence).toContain('x is not y');
  });

  it('stop where they are when cancelled, also while paused, also before they began', async () => {
    const { calls } = pair(counting);
    const stop = new AbortController();
    const pause = new PauseSwitch();
    const seen: number[] = [];
    const outcome = calls.call(
      'count',
      { to: 1000 },
      {
        signal: stop.signal,
        pause,
        onProgress: (n) => {
          seen.push(n);
          if (n === 2) pause.pause();
        },
      },
    );
    await untilQuiet();
    expect(seen[seen.length - 1]).toBeLessThan(5);
    stop.abort();
    expect((await outcome).ok).toBe(false);
    expect(await calls.call('count', { to: 5 }, { signal: AbortSignal.abort() })).toMatchObject({
      failure: { code: 'cancelled' },
    });
  });

  it('wait while paused and go on from there', async () => {
    const { calls } = pair(counting);
    const pause = new PauseSwitch();
    pause.pause();
    const seen: number[] = [];
    const outcome = calls.call('count', { to: 8 }, { pause, onProgress: (n) => seen.push(n) });
    await untilQuiet();
    const before = seen.length;
    expect(before).toBeLessThan(2);
    pause.resume();
    expect((await outcome).ok).toBe(true);
    expect(seen).toEqual([1, 2, 3, 4, 5, 6, 7, 8]);
  });

  it('fail when the worker dies, and are cancelled when it is closed', async () => {
    const silent: Handlers<Calls> = { count: () => new Promise(() => {}) };
    const dying = pair(silent);
    const first = dying.calls.call('count', { to: 1 });
    dying.worker.onerror?.({ message: 'out of memory', preventDefault() {} } as unknown as ErrorEvent);
    expect(await first).toMatchObject({ failure: { code: 'unexpected' } });
    const closing = pair(silent);
    const second = closing.calls.call('count', { to: 1 });
    closing.calls.close();
    expect(await second).toMatchObject({ failure: { code: 'cancelled' } });
  });
});
