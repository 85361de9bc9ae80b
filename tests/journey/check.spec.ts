import { readFileSync } from 'node:fs';
import { expect, test } from '@playwright/test';
import { goTo, openApp, settled } from './open.ts';

const shortTake = () => ({
  name: 'short.mp4',
  mimeType: 'video/mp4',
  buffer: readFileSync(new URL('../../fixtures/takes/short.mp4', import.meta.url)),
});

test('a shot is laid beside its plan, the puppet is found in it, and what differs is told with its frames; a reload keeps it', async ({
  page,
}) => {
  test.slow();
  await openApp(page);
  await page.getByTestId('take-file').setInputFiles(shortTake());
  await settled(page);
  await page.getByRole('radio', { name: /^quick/ }).check();
  await page.getByRole('button', { name: 'Read the take' }).click();
  await settled(page);
  await goTo(page, 'Check');
  // The same movement, but at the take's own 30 pictures a second shown at the plan's 24 frames: all comes late.
  await page.getByTestId('shot-pictures').setInputFiles(shortTake());
  await expect(page.getByText('“short, animated”, 36 pictures')).toBeVisible();
  await settled(page);
  await expect(page.getByLabel('Its pictures are')).toHaveValue('');
  await expect(page.getByLabel('Picture 1 of short, animated')).toBeVisible();
  await page.getByRole('button', { name: 'Look for the puppet' }).click();
  await settled(page);
  const late = page.getByText(/^Key \d+, planned for frame 21, is met \d(\.5)? frames late\.$/);
  await expect(late).toBeVisible();
  await page.getByRole('button', { name: 'Go to frame 21' }).click();
  await settled(page);
  await expect(page.getByLabel('Picture 21 of short, animated')).toBeVisible();

  await page.reload();
  await settled(page);
  await goTo(page, 'Check');
  await settled(page);
  await expect(late).toBeVisible();
  await page.locator('body').press('Control+z');
  await page.getByRole('button', { name: 'Another…' }).click();
  await expect(page.getByRole('button', { name: 'Stills or a video…' })).toBeVisible();
});
