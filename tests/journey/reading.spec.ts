import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, type Page, test } from '@playwright/test';
import { goTo, openApp, openTake, settled } from './open.ts';

const takes = fileURLToPath(new URL('../../fixtures/takes', import.meta.url));

/** Where the nose's handle is in the first picture, on the Tracks screen. */
async function noseAt(page: Page): Promise<{ x: number; y: number }> {
  await goTo(page, 'Tracks');
  await settled(page);
  await page.getByLabel('Joint', { exact: true }).selectOption('nose');
  await page.locator('body').press('Home');
  const box = (await page.locator('button[data-joint="nose"]').boundingBox())!;
  return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
}

test('the plan is worked on while the reading is refined; stopped and reloaded, it goes on where it was, and corrections outlive it', async ({
  page,
}) => {
  await openApp(page);
  await openTake(page, join(takes, 'uneven2997.mp4'));
  await page.getByRole('radio', { name: /^fine/ }).check();
  await page.getByRole('button', { name: 'Read the take' }).click();
  await expect(page.getByRole('heading', { name: 'Looking finely' })).toBeVisible();
  // The quick reading is whole: there is a plan, and it can be changed.
  await goTo(page, 'Timing');
  await expect(page.getByRole('button', { name: /^Go to frame/ }).first()).toBeVisible();
  await goTo(page, 'Tracks');
  const corrections = page.getByRole('button', { name: /^Take back:/ });
  await page.getByLabel('Joint', { exact: true }).selectOption('nose');
  await page.locator('body').press('m');
  for (let i = 0; i < 8; i++) await page.keyboard.press('Shift+ArrowUp');
  await expect(corrections).toHaveCount(1);
  await page.keyboard.press('Escape');
  await goTo(page, 'Take');
  await page.getByLabel('Name of the shot').fill('Refined meanwhile');
  await page.waitForFunction(() => Number(document.querySelector('progress')?.value) >= 6);
  await page.getByRole('button', { name: 'Stop here' }).click();
  await settled(page);
  const told = page.getByText(/^\d+ of 77 pictures finely, the others quickly/);
  const done = Number((await told.textContent())!.match(/\d+/)![0]);
  expect(done).toBeGreaterThanOrEqual(6);
  expect(done).toBeLessThan(77);
  const placed = await noseAt(page);
  await goTo(page, 'Take');

  await page.reload();
  await settled(page);
  await expect(page.getByLabel('Name of the shot')).toHaveValue('Refined meanwhile');
  expect(Number((await told.textContent())!.match(/\d+/)![0])).toBe(done);
  await page.getByRole('button', { name: 'Carry on from there' }).click();
  const first = await page.waitForFunction(() => {
    const bar = document.querySelector('progress');
    return bar && bar.max === 77 ? bar.value + 1 : null;
  });
  // It does not begin with the first picture.
  expect(Number(await first.jsonValue())).toBeGreaterThan(done);
  await settled(page);
  await expect(page.getByText('77 pictures looked at')).toBeVisible();
  // For the curious only.
  await expect(page.getByText(/movenet/)).toBeHidden();
  await page.getByText('What looks at the pictures').click();
  await expect(page.getByText(/^movenet-thunder \+ blazepose-full on /)).toBeVisible();
  // What was put right on the quick reading stays as it was put.
  const after = await noseAt(page);
  await expect(corrections).toHaveCount(1);
  expect(Math.hypot(after.x - placed.x, after.y - placed.y)).toBeLessThan(3);
});
