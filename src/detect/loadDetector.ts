import { WorldFailure } from '../ingest/worldFailure.ts';
import { backendsHere } from './backends.ts';
import { type BackendName, chooseBackend } from './chooseBackend.ts';
import { loadMoveNet, loadPeopleFinder } from './moveNet.ts';
import type { ModelChoice, PoseModel } from './poseModel.ts';
import type { Detector } from './readTake.ts';

/**
 * Loads a model on the backend that suits it best here.
 * @param only use this backend or fail.
 * @throws WorldFailure `model-unavailable`.
 */
export async function loadDetector(model: ModelChoice, only: BackendName | null): Promise<Detector> {
  const candidates = backendsHere().filter((candidate) => only === null || candidate.name === only);
  const chosen = await chooseBackend(
    candidates,
    () => loadMoveNet(model),
    (loaded) => trial(loaded),
    (loaded) => loaded.dispose(),
  );
  if (chosen.model === null)
    throw new WorldFailure(
      'model-unavailable',
      `The pose model runs on nothing that this browser offers (${chosen.reasons}). Check that Nudgebook is still being served, or try a current Chrome, Edge, Firefox or Safari.`,
    );
  const finder = await loadPeopleFinder();
  return { model: chosen.model, finder, choice: { ...chosen.choice, model: chosen.model.name } };
}

/** Median milliseconds of an estimate. The first ones compile and reserve memory: they are run, not counted. */
async function trial(model: PoseModel): Promise<number> {
  const rgba = new Uint8ClampedArray(4 * model.inputSide * model.inputSide).fill(128);
  const spent: number[] = [];
  for (let i = 0; i < 5; i++) {
    const before = performance.now();
    await model.estimate(rgba);
    if (i >= 2) spent.push(performance.now() - before);
  }
  return spent.sort((a, b) => a - b)[1] ?? Number.POSITIVE_INFINITY;
}
