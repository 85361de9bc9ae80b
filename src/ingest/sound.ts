import type { Outcome } from '../base/failure.ts';
import type { Soundtrack } from '../base/sound.ts';
import { WorkerCalls } from './calls.ts';
import type { SoundCalls } from './soundProtocol.ts';
import type { SoundHooks, SoundRequest } from './soundTake.ts';

/**
 * Reads a take's sound in a worker of its own, which ends with it. Null when the take has none. Failures: `sound-unreadable`,
 * `file-unreadable`, `cancelled`; pictures need none of it.
 */
export async function readSound(request: SoundRequest, hooks: SoundHooks = {}): Promise<Outcome<Soundtrack | null>> {
  const calls = new WorkerCalls<SoundCalls>(
    new Worker(new URL('./sound.worker.ts', import.meta.url), { type: 'module', name: 'sound' }),
  );
  try {
    return await calls.call('readSound', request, { signal: hooks.signal, onProgress: hooks.onShare });
  } finally {
    calls.close();
  }
}
