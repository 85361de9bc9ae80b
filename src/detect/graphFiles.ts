import { modelFiles } from 'virtual:model-files';
import type { io } from '@tensorflow/tfjs-core';
import { present } from '../base/assert.ts';
import { WorldFailure } from '../ingest/worldFailure.ts';

/**
 * Loads a graph and its weights from our own origin, whatever names the bundler gave the files. Its `load` throws a
 * WorldFailure `model-unavailable`.
 */
export function ownModel(name: string): io.IOHandler {
  const files = present(modelFiles[name], `model ${name}`);
  return {
    async load() {
      const [graph, weights] = await Promise.all([fetchOwn(files.json), fetchOwn(files.bin)]);
      const json = (await graph.json()) as io.ModelJSON;
      return {
        modelTopology: json.modelTopology,
        weightSpecs: json.weightsManifest.flatMap((group) => group.weights),
        weightData: await weights.arrayBuffer(),
        ...(json.format === undefined ? {} : { format: json.format }),
        ...(json.signature === undefined ? {} : { signature: json.signature }),
      };
    },
  };
}

async function fetchOwn(address: string): Promise<Response> {
  const refusal = (why: string) =>
    new WorldFailure(
      'model-unavailable',
      `The pose model could not be loaded (${why}). Check that Nudgebook is still being served, then reload the page.`,
    );
  let response: Response;
  try {
    response = await fetch(address);
  } catch (error) {
    throw refusal(error instanceof Error ? error.message : 'no answer');
  }
  if (!response.ok) throw refusal(`the server said ${response.status}`);
  return response;
}
