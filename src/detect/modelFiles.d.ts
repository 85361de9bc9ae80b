/** Addresses of the files that `modelFiles.vite.ts` puts into the build. */
declare module 'virtual:model-files' {
  /** By model name: the graph's JSON and its weights. */
  export const modelFiles: Record<string, { readonly json: string; readonly bin: string } | undefined>;
  /** By file name, as tfjs asks for them. */
  export const wasmFiles: Record<string, string>;
}
