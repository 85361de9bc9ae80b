import { defineConfig } from '@playwright/test';
import { chromiumLaunch } from '../src/cli/chromium.ts';

/** Set by `tests/run.ts` to a free port; the fixed one serves when a journey is run by hand (`npx playwright test -c tests`). */
const port = Number(process.env.NUDGEBOOK_TEST_PORT ?? 5825);

export default defineConfig({
  testDir: './journey',
  outputDir: '../test-results/journey',
  // The machine's cores are busy reading pictures: two journeys at a time would only wait for each other.
  workers: 1,
  retries: 0,
  forbidOnly: true,
  // Reading a take without a GPU takes a minute or two on a slow machine.
  timeout: 300_000,
  expect: { timeout: 60_000 },
  use: {
    baseURL: `http://127.0.0.1:${port}/`,
    viewport: { width: 1440, height: 900 },
    launchOptions: chromiumLaunch(),
  },
  // What a user gets: the built app under its content security policy.
  webServer: {
    command: `npm start -- --port ${port} --only-this-port`,
    cwd: '..',
    url: `http://127.0.0.1:${port}/`,
    reuseExistingServer: false,
    timeout: 180_000,
  },
});
