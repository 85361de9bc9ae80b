/// <reference types="vitest/config" />
import { fileURLToPath } from 'node:url';
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { playwright } from '@vitest/browser-playwright';
import { defineConfig } from 'vite';
import { chromiumFlags, chromiumSandbox, findChromium } from './src/cli/chromium.ts';
import { contentSecurityPolicy } from './src/cli/contentSecurityPolicy.ts';
import { licences } from './src/cli/licences.vite.ts';
import { modelFiles } from './src/detect/modelFiles.vite.ts';

const here = (path: string) => fileURLToPath(new URL(path, import.meta.url));
const headers = { 'Content-Security-Policy': contentSecurityPolicy };

export default defineConfig({
  root: here('src/app'),
  plugins: [svelte(), modelFiles(), licences(here('node_modules'))],
  build: {
    outDir: here('dist'),
    emptyOutDir: true,
    target: 'es2022',
    chunkSizeWarningLimit: 3000,
    rollupOptions: { input: { index: here('src/app/index.html'), batch: here('src/app/batch.html') } },
  },
  worker: { format: 'es' },
  server: { fs: { allow: [here('.')] } },
  preview: { headers },
  test: {
    root: here('.'),
    passWithNoTests: false,
    projects: [
      {
        extends: true,
        test: {
          name: 'node',
          environment: 'node',
          // Files share what they import: no test changes it, and it is a quarter of their processor time.
          isolate: false,
          include: ['tests/**/*.test.ts'],
          exclude: ['tests/**/*.browser.test.ts', 'tests/journey/**'],
          // Films made and followed in a test take seconds on a busy machine of two cores.
          testTimeout: 30_000,
        },
      },
      {
        extends: true,
        // Found only when a test asks for them, they would make the page load again in the middle of it.
        optimizeDeps: { include: ['fflate', 'idb', 'zod'] },
        test: {
          name: 'browser',
          include: ['tests/**/*.browser.test.ts'],
          testTimeout: 120_000,
          browser: {
            enabled: true,
            headless: true,
            screenshotFailures: false,
            provider: playwright({
              launchOptions: { ...withPath(findChromium()), args: [...chromiumFlags], chromiumSandbox },
            }),
            instances: [{ browser: 'chromium' }],
          },
        },
      },
    ],
  },
});

/** Playwright wants the key absent, not undefined, when its own browser is to be used. */
function withPath(executablePath: string | null): { executablePath?: string } {
  return executablePath === null ? {} : { executablePath };
}
