/** What tfjs can run on. */
export type BackendName = 'webgpu' | 'webgl' | 'wasm';

/** One way to run a model. */
export interface BackendCandidate {
  readonly name: BackendName;
  /** Null when it may be tried, else why not, as an inserted phrase ("no graphics card for WebGPU"). */
  unfit(): Promise<string | null>;
  /** Makes it the current backend. @throws when it cannot start. */
  start(): Promise<void>;
}

/** Which backend is used, and why. */
export interface BackendChoice {
  readonly backend: BackendName;
  /** Median time of one estimate in the trial, milliseconds. */
  readonly millisecondsPerEstimate: number;
  /** One sentence for the curious: what was tried, and what ruled the others out. */
  readonly reason: string;
}

/** A model on its backend. */
export interface Chosen<Model> {
  readonly model: Model;
  readonly choice: BackendChoice;
}

/** Fast enough not to look further, milliseconds per estimate: a 60-pictures-a-second take is then read in real time. */
const enough = 16;

/**
 * Starts the candidates in order, times each on a few estimates, and keeps the fastest; stops early at one that is fast
 * enough. A candidate that is unfit, fails to start, to load or to estimate is passed over, and the reason told.
 * @param load loads the model on the backend just started.
 * @param trial runs a few estimates; returns the median milliseconds.
 * @param dispose releases a model that is not kept, while its backend is current.
 * @returns null when no candidate works; `reasons` then says why for each.
 */
export async function chooseBackend<Model>(
  candidates: readonly BackendCandidate[],
  load: () => Promise<Model>,
  trial: (model: Model) => Promise<number>,
  dispose: (model: Model) => void,
): Promise<Chosen<Model> | { readonly model: null; readonly reasons: string }> {
  const reasons: string[] = [];
  const timed: { candidate: BackendCandidate; milliseconds: number; model: Model }[] = [];
  for (const [i, candidate] of candidates.entries()) {
    try {
      const unfit = await candidate.unfit();
      if (unfit !== null) {
        reasons.push(`${candidate.name}: ${unfit}`);
        continue;
      }
      await candidate.start();
      const model = await load();
      const milliseconds = await trial(model);
      timed.push({ candidate, milliseconds, model });
      reasons.push(`${candidate.name}: ${milliseconds.toFixed(0)} ms per picture`);
      if (milliseconds <= enough || i === candidates.length - 1) break;
    } catch (error) {
      reasons.push(`${candidate.name}: failed (${error instanceof Error ? error.message : String(error)})`);
    }
  }
  const best = timed.reduce<(typeof timed)[number] | null>(
    (a, b) => (a && a.milliseconds <= b.milliseconds ? a : b),
    null,
  );
  if (!best) return { model: null, reasons: reasons.join('; ') };
  for (const loser of timed) {
    if (loser === best) continue;
    await loser.candidate.start();
    dispose(loser.model);
  }
  await best.candidate.start();
  const choice: BackendChoice = {
    backend: best.candidate.name,
    millisecondsPerEstimate: best.milliseconds,
    reason: `Running on ${best.candidate.name} (${reasons.join('; ')}).`,
  };
  return { model: best.model, choice };
}
