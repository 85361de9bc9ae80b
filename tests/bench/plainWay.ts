/**
 * The plain way to read a take, kept to be beaten by the pipeline: seek a video element to each picture's time, estimate
 * on the main thread with the library as it comes. Only the benchmark uses it.
 */

import { env, type io, setBackend } from '@tensorflow/tfjs-core';
import { createDetector, movenet, SupportedModels } from '@tensorflow-models/pose-detection';
import '@tensorflow/tfjs-backend-webgl';
import '@tensorflow/tfjs-backend-webgpu';
import { modelFiles, wasmFiles } from 'virtual:model-files';
import { setWasmPaths } from '@tensorflow/tfjs-backend-wasm';
import type { PlainJob, PlainResult } from '../../src/cli/plainJob.ts';

declare global {
  interface Window {
    plainWay?: (job: PlainJob) => Promise<PlainResult>;
  }
}

window.plainWay = async (job) => {
  const file = document.querySelector('input')?.files?.[0];
  if (!file) throw new Error('no take was handed over');
  await startBackend(job.backend);
  const detector = await createDetector(SupportedModels.MoveNet, {
    modelType: job.model.endsWith('thunder')
      ? movenet.modelType.SINGLEPOSE_THUNDER
      : movenet.modelType.SINGLEPOSE_LIGHTNING,
    modelUrl: ownModel(job.model),
  });
  const video = document.createElement('video');
  video.muted = true;
  video.src = URL.createObjectURL(file);
  await new Promise((resolve, reject) => {
    video.onloadeddata = resolve;
    video.onerror = () => reject(new Error('the video element cannot play this take'));
  });
  // Kernels are compiled at the first estimates.
  for (let i = 0; i < 3; i++) await detector.estimatePoses(video);

  const started = performance.now();
  let seen = 0;
  for (const sec of job.stampsSec) {
    await seek(video, sec);
    const poses = await detector.estimatePoses(video);
    if (poses.length > 0) seen++;
  }
  const seconds = (performance.now() - started) / 1000;
  detector.dispose();
  return { pictures: job.stampsSec.length, seconds, seen };
};

function seek(video: HTMLVideoElement, sec: number): Promise<void> {
  // Seeking to where it stands already fires nothing.
  if (Math.abs(video.currentTime - sec) < 1e-6) return Promise.resolve();
  return new Promise((resolve) => {
    video.onseeked = () => resolve();
    video.currentTime = sec;
  });
}

async function startBackend(name: string): Promise<void> {
  env().set('WASM_HAS_MULTITHREAD_SUPPORT', false);
  setWasmPaths(Object.fromEntries(Object.entries(wasmFiles).map(([k, v]) => [k, new URL(v, location.href).href])));
  if (!(await setBackend(name))) throw new Error(`${name} did not start`);
}

function ownModel(name: string): io.IOHandler {
  const files = modelFiles[name];
  if (!files) throw new Error(`no model ${name}`);
  return {
    async load() {
      const [json, bin] = await Promise.all([fetch(files.json), fetch(files.bin)]);
      const graph = (await json.json()) as io.ModelJSON;
      return {
        modelTopology: graph.modelTopology,
        weightSpecs: graph.weightsManifest.flatMap((group) => group.weights),
        weightData: await bin.arrayBuffer(),
      };
    },
  };
}
