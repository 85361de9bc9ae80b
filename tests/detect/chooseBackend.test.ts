import { describe, expect, it } from 'vitest';
import { type BackendCandidate, type BackendName, chooseBackend } from '../../src/detect/chooseBackend.ts';

/** Candidates as told; `now` is the current one, `disposed` lists which models were released, and on what. */
function world(told: readonly (Partial<BackendCandidate> & { name: BackendName; ms: number })[]) {
  let now: BackendName | null = null;
  const disposed: string[] = [];
  const started: BackendName[] = [];
  const candidates = told.map(
    (t): BackendCandidate => ({
      unfit: async () => null,
      start: async () => {
        now = t.name;
        started.push(t.name);
      },
      ...t,
    }),
  );
  return {
    disposed,
    started,
    current: () => now,
    choose: () =>
      chooseBackend<{ on: BackendName | null }>(
        candidates,
        async () => ({ on: now }),
        async (model) => told.find((t) => t.name === model.on)!.ms,
        (model) => disposed.push(`${model.on} on ${now}`),
      ),
  };
}

describe('chooseBackend', () => {
  it('stops at the first that is fast enough', async () => {
    const w = world([
      { name: 'webgpu', ms: 8 },
      { name: 'webgl', ms: 3 },
      { name: 'wasm', ms: 50 },
    ]);
    const chosen = await w.choose();
    expect(chosen.model && chosen.choice.backend).toBe('webgpu');
    expect(w.started).toEqual(['webgpu', 'webgpu']);
  });

  it('takes the fastest when none is fast enough, releases the others on their own backend, and ends on the chosen one', async () => {
    const w = world([
      { name: 'webgpu', ms: 90 },
      { name: 'webgl', ms: 400 },
      { name: 'wasm', ms: 50 },
    ]);
    const chosen = await w.choose();
    expect(chosen.model).toEqual({ on: 'wasm' });
    expect(w.disposed).toEqual(['webgpu on webgpu', 'webgl on webgl']);
    expect(w.current()).toBe('wasm');
  });

  it('passes over what is unfit or fails, and says why', async () => {
    const w = world([
      { name: 'webgpu', ms: 1, unfit: async () => 'no graphics card for WebGPU' },
      {
        name: 'webgl',
        ms: 1,
        start: async () => {
          throw new Error('context lost');
        },
      },
      { name: 'wasm', ms: 50 },
    ]);
    const chosen = await w.choose();
    if (!chosen.model) throw new Error('nothing chosen');
    expect(chosen.choice.backend).toBe('wasm');
    expect(chosen.choice.reason).toBe(
      'Running on wasm (webgpu: no graphics card for WebGPU; webgl: failed (context lost); wasm: 50 ms per picture).',
    );
  });

  it('goes back to an earlier one that was faster, also when the last one fails', async () => {
    const w = world([
      { name: 'webgpu', ms: 40 },
      {
        name: 'wasm',
        ms: 1,
        start: async () => {
          throw new Error('no file');
        },
      },
    ]);
    const chosen = await w.choose();
    expect(chosen.model && chosen.choice.backend).toBe('webgpu');
    expect(w.current()).toBe('webgpu');
  });

  it('tells the reasons when nothing works', async () => {
    const chosen = await world([{ name: 'wasm', ms: 1, unfit: async () => 'no wasm' }]).choose();
    expect(chosen.model === null && chosen.reasons).toBe('wasm: no wasm');
  });
});
