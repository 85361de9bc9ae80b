import { expect, test } from '@playwright/test';
import { chromiumFlags, findChromium } from '../../src/cli/chromium.ts';
import { openApp, settled } from './open.ts';

const camera = ['--use-fake-ui-for-media-stream', '--use-fake-device-for-media-stream'];
const executablePath = findChromium();
test.use({ launchOptions: { ...(executablePath ? { executablePath } : {}), args: [...chromiumFlags, ...camera] } });

test('a rehearsal filmed here becomes the open take, each picture at its own time', async ({ page }) => {
  await openApp(page);
  await page.getByRole('button', { name: /^Book/ }).click();
  await page.getByRole('button', { name: 'Film the rehearsal here…' }).click();
  await page.getByRole('button', { name: 'Record, after five seconds' }).click();
  await expect(page.getByText(/recording\s+2 s/)).toBeVisible();
  await page.getByRole('button', { name: 'Stop and open the take' }).click();
  await expect(page.getByText(/^take 20\d\d-.*\.(mp4|webm)$/).first()).toBeVisible();
  await settled(page);
  const length = await page.getByText(/\d s, \d+ pictures$/).textContent();
  const [, seconds, pictures] = length!.match(/([\d.]+) s, (\d+) pictures/)!;
  expect(Number(seconds)).toBeGreaterThan(1.5);
  expect(Number(pictures)).toBeGreaterThan(10);
});
