import { wasmFiles } from 'virtual:model-files';
import { env, setBackend as setTfBackend } from '@tensorflow/tfjs-core';
import type { BackendCandidate, BackendName } from './chooseBackend.ts';

/** What a model can run on here, the likely fastest first. */
export function backendsHere(): BackendCandidate[] {
  return [
    { name: 'webgpu', unfit: whyNoWebGpu, start: startWebGpu },
    { name: 'webgl', unfit: whyNoWebGl, start: startWebGl },
    { name: 'wasm', unfit: async () => null, start: startWasm },
  ];
}

/** Drawing by the processor that calls itself a graphics card: seconds per picture, so refused. */
const softwareRenderer = /swiftshader|llvmpipe|softpipe|basic render|software/i;

interface GpuAdapter {
  readonly isFallbackAdapter?: boolean;
  readonly info?: { readonly vendor?: string; readonly architecture?: string; readonly description?: string };
}

async function whyNoWebGpu(): Promise<string | null> {
  const gpu = (navigator as { gpu?: { requestAdapter(): Promise<GpuAdapter | null> } }).gpu;
  if (!gpu) return 'this browser has no WebGPU';
  const adapter = await gpu.requestAdapter();
  if (!adapter) return 'no graphics card for WebGPU';
  const told = [adapter.info?.vendor, adapter.info?.architecture, adapter.info?.description].join(' ').trim();
  const software = adapter.isFallbackAdapter === true || softwareRenderer.test(told);
  return software ? `software rendering (${told || 'fallback adapter'})` : null;
}

async function whyNoWebGl(): Promise<string | null> {
  const canvas = new OffscreenCanvas(1, 1);
  const gl = canvas.getContext('webgl2');
  if (!gl) return 'no WebGL 2';
  const unmasked = gl.getExtension('WEBGL_debug_renderer_info');
  const renderer = String(gl.getParameter(unmasked ? unmasked.UNMASKED_RENDERER_WEBGL : gl.RENDERER));
  gl.getExtension('WEBGL_lose_context')?.loseContext();
  return softwareRenderer.test(renderer) ? `software rendering (${renderer})` : null;
}

async function startWebGpu(): Promise<void> {
  await import('@tensorflow/tfjs-backend-webgpu');
  await setBackend('webgpu');
}

async function startWebGl(): Promise<void> {
  await import('@tensorflow/tfjs-backend-webgl');
  await setBackend('webgl');
}

async function startWasm(): Promise<void> {
  const { setWasmPaths } = await import('@tensorflow/tfjs-backend-wasm');
  // The threaded build needs blob: scripts, dies when minified, and was slower here: one thread always.
  env().set('WASM_HAS_MULTITHREAD_SUPPORT', false);
  const absolute = Object.entries(wasmFiles).map(([file, at]) => [file, new URL(at, self.location.href).href] as const);
  setWasmPaths(Object.fromEntries(absolute));
  await setBackend('wasm');
}

async function setBackend(name: BackendName): Promise<void> {
  if (!(await setTfBackend(name))) throw new Error(`${name} did not start`);
}
