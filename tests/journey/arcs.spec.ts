import { expect, test } from '@playwright/test';
import { goTo, openApp, openKept } from './open.ts';

test('arcs are seen from a line of the body, moves have a timing chart, faults are told or none', async ({ page }) => {
  await openApp(page);
  await openKept(page, 'short');
  await goTo(page, 'Arcs');

  await page.getByRole('checkbox', { name: 'left wrist' }).check();
  await page.getByRole('combobox', { name: 'Seen from' }).selectOption('shoulder line');
  await expect(page.getByRole('checkbox', { name: 'take its length as the measure' })).toBeVisible();
  await expect(page.getByRole('heading', { name: 'Shape, left wrist' })).toBeVisible();

  await page.getByRole('tab', { name: 'Spacing' }).click();
  await expect(page.getByRole('combobox', { name: 'Spacing of' })).toHaveValue('leftWrist');
  const chart = page.getByRole('img', { name: /Timing chart/ });
  // At the start of the shot the first move is on screen.
  await expect(page.getByText(/^Move 1 of/)).toBeVisible();
  await expect(chart).toContainText('the smoothest reach');
  const first = (await chart.textContent()) ?? '';
  await page.getByRole('button', { name: 'from this frame' }).click();
  await expect(page.getByText('Frames picked')).toBeVisible();
  await expect(chart).not.toHaveText(first);
  await page.getByRole('button', { name: 'from key to key' }).click();
  await expect(page.getByText(/^Move 1 of/)).toBeVisible();

  await page.getByRole('tab', { name: 'Faults' }).click();
  await page.getByRole('combobox', { name: 'Which poses are looked at' }).selectOption('every frame');
  const jumps = page.getByRole('tabpanel').getByRole('button', { name: /^Go to frame/ });
  await expect(jumps.or(page.getByText(/^None stands out/)).first()).toBeVisible();
});
