import { WorldFailure } from '../ingest/worldFailure.ts';
import { backendsHere } from './backends.ts';
import { loadBlazePose } from './blazePose.ts';
import { type BackendChoice, type BackendName, type Chosen, chooseBackend } from './chooseBackend.ts';
import type { FineModels } from './looks.ts';
import { loadMoveNet, loadPeopleFinder } from './moveNet.ts';
import type { ModelName, PoseModel } from './poseModel.ts';
import type { DetectorChoice } from './protocol.ts';
import type { Detector } from './scanTake.ts';

/** The models of a fine reading, and why they run where they do. */
export interface FineDetector extends FineModels {
  readonly choice: DetectorChoice;
}

/**
 * Loads the models of the quick pass on the backend that suits them best here.
 * @param only use this backend or fail.
 * @throws WorldFailure `model-unavailable`.
 */
export async function loadQuick(only: BackendName | null): Promise<Detector> {
  const { model, choice } = await loadOnBest('movenet-lightning', only);
  const finder = await loadPeopleFinder();
  return { model, finder, choice: { ...choice, model: model.name } };
}

/** Loads the models of the fine pass, as `loadQuick` does. @throws WorldFailure `model-unavailable`. */
export async function loadFine(
  mainName: ModelName,
  furtherName: ModelName | null,
  only: BackendName | null,
): Promise<FineDetector> {
  const { model: main, choice } = await loadOnBest(mainName, only);
  const further = furtherName ? await loadModel(furtherName) : null;
  const names = further ? `${main.name} + ${further.name}` : main.name;
  return { main, further, choice: { ...choice, model: names } };
}

function loadModel(name: ModelName): Promise<PoseModel> {
  if (name === 'movenet-lightning' || name === 'movenet-thunder') return loadMoveNet(name);
  return loadBlazePose(name);
}

async function loadOnBest(
  name: ModelName,
  only: BackendName | null,
): Promise<Chosen<PoseModel> & { readonly choice: BackendChoice }> {
  const candidates = backendsHere().filter((candidate) => only === null || candidate.name === only);
  const chosen = await chooseBackend(
    candidates,
    () => loadModel(name),
    (loaded) => trial(loaded),
    (loaded) => loaded.dispose(),
  );
  if (chosen.model === null)
    throw new WorldFailure(
      'model-unavailable',
      `The pose model runs on nothing that this browser offers (${chosen.reasons}). Check that Nudgebook is still being served, or try a current Chrome, Edge, Firefox or Safari.`,
    );
  return chosen;
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
