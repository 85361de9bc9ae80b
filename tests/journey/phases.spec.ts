import { expect, test } from '@playwright/test';
import { goTo, openApp, openKept, settled } from './open.ts';

test('phases stand along the frames and can be named; a chain of one’s own tells who drags', async ({ page }) => {
  await openApp(page);
  await openKept(page, 'short');
  await goTo(page, 'Timing');
  await page.getByRole('tab', { name: 'Phases' }).click();
  await expect(page.getByRole('img', { name: /Phases of the moves/ })).toBeVisible();

  const name = page.getByRole('textbox', { name: /^Name of the action/ }).first();
  await name.fill('arms fly out');
  await name.press('Enter');
  await settled(page);
  await expect(page.getByRole('img', { name: /Phases of the moves/ })).toContainText('arms fly');
  await expect(page.getByRole('button', { name: /Undo name of a phase/i })).toBeEnabled();

  await page.getByRole('combobox', { name: 'Phases of' }).selectOption('leftWrist');
  await expect(page.getByText(/^Left wrist goes \d+ mm in \d+ frames\.$/)).toBeVisible();

  await page.getByRole('button', { name: 'Pick a chain of your own' }).click();
  for (const part of ['leftShoulder', 'leftElbow', 'leftWrist'])
    await page.getByRole('combobox', { name: 'Add a part to the chain' }).selectOption(part);
  await expect(page.getByRole('img', { name: /Lead and drag/ })).toBeVisible();
  await expect(page.getByRole('listitem').filter({ hasText: /^left forearm/ })).toBeVisible();
  await page.getByRole('button', { name: 'Take this chain away' }).click();
  await expect(page.getByRole('combobox', { name: 'Add a part to the chain' })).toHaveCount(0);
});
