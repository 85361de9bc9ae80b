import { expect, test } from '@playwright/test';
import { goTo, openApp, openKept, settled } from './open.ts';

test('sound is seen under the frames, gives a beat, words are typed along it, and keys are put on the beat', async ({
  page,
}) => {
  await openApp(page);
  await openKept(page, 'keeper');
  await goTo(page, 'Timing');
  await page.getByRole('tab', { name: 'Sound' }).click();
  const strip = page.getByRole('img', { name: /Sound along the shot/ });
  await expect(page.getByRole('heading', { name: '7 sounds begin' })).toBeVisible();
  await expect(strip).toHaveCount(1);

  // The bell of the take is struck every 18 frames.
  await page.getByRole('button', { name: 'Use', exact: true }).click();
  await expect(page.getByRole('spinbutton', { name: /a minute/ })).toHaveValue(/^(80|79\.9\d|80\.0\d)$/);

  // What is said: from the playhead, frame by frame, without leaving the keyboard.
  await page.getByRole('button', { name: /^72 / }).click();
  await page.keyboard.press('n');
  const said = page.getByRole('textbox', { name: 'from frame 72' });
  await expect(said).toBeFocused();
  await page.keyboard.type('b');
  await page.keyboard.press('Enter');
  await page.keyboard.type('o');
  await page.keyboard.press('PageUp');
  await expect(said).toHaveValue('b');
  await page.keyboard.press('Escape');

  // Keys go to their beats in one step, and back in one.
  const keys = page.getByRole('button', { name: /^Move the key at frame/ });
  const frames = async () => (await keys.evaluateAll((all) => all.map((k) => k.getAttribute('aria-label')))).join();
  const before = await frames();
  const offers = await page.getByRole('button', { name: 'Put', exact: true }).count();
  expect(offers).toBeGreaterThan(0);
  await page.getByRole('button', { name: offers > 1 ? `Put all ${offers}` : 'Put', exact: true }).click();
  await settled(page);
  await expect(page.getByText('No key would move')).toBeVisible();
  expect(await frames()).not.toBe(before);
  // The words stay with the sound.
  await expect(said).toHaveValue('b');
  await page.keyboard.press('Control+z');
  await settled(page);
  expect(await frames()).toBe(before);

  // Tapped while it plays: the beats follow from the third tap on.
  await page.keyboard.press('Space');
  for (let i = 0; i < 4; i++) {
    const atMs = await page.evaluate(() => performance.now());
    await page.keyboard.press('t');
    await page.waitForFunction((ms) => performance.now() >= ms, atMs + 500);
  }
  await page.keyboard.press('Space');
  // How fast, on a busy machine, is for the unit tests.
  await expect(page.getByText(/^4 taps: \d+\.\d ± \d+\.\d a minute/)).toBeVisible();

  await goTo(page, 'Sheet');
  await expect(page.getByLabel('dialogue at frame 72', { exact: true })).toHaveValue('b');
  await expect(page.getByLabel('dialogue at frame 73', { exact: true })).toHaveValue('o');
  await expect(page.getByRole('columnheader', { name: 'Beat' })).toBeVisible();

  // Opened again, the sound is there without the take being listened to anew.
  await page.reload();
  await settled(page);
  await goTo(page, 'Timing');
  await page.getByRole('tab', { name: 'Sound' }).click();
  await expect(page.getByRole('heading', { name: '7 sounds begin' })).toBeVisible();
});

test('a take without sound says so in a line, and can have beats and words all the same', async ({ page }) => {
  await openApp(page);
  await openKept(page, 'short');
  await goTo(page, 'Timing');
  await expect(page.getByRole('img', { name: /Sound along the shot/ })).toHaveCount(0);
  await page.getByRole('tab', { name: 'Sound' }).click();
  await expect(page.getByText('This take has no sound.')).toBeVisible();
  await page.keyboard.press('b');
  await expect(page.getByRole('img', { name: /Sound along the shot/ })).toHaveCount(1);
});
