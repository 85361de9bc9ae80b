import { join } from 'node:path';
import type { Page } from 'playwright';
import { goTo, pictureFolder, settled, shoot, withDemoRead } from './takePicture.ts';

/** The first page of the pop-through list and of the exposure sheet, side by side as they come out of the printer. */
async function shootPaper(page: Page): Promise<void> {
  // High enough that no page is cut off by the window.
  await page.setViewportSize({ width: 1400, height: 1100 });
  await page.getByRole('tab', { name: 'As printed' }).click();
  await page.locator('.page image').first().waitFor();
  await settled(page);
  await page.locator('.pages').evaluate((pages) => {
    for (const extra of [...pages.children].slice(2)) extra.remove();
  });
  await page.locator('.pages').screenshot({ path: join(pictureFolder, 'paper.jpg'), type: 'jpeg', quality: 88 });
  console.log('fixtures/pictures/paper.jpg');
}

/** A pose in the middle of being dragged to a later frame. */
async function shootRetiming(page: Page): Promise<void> {
  await page.getByRole('tab', { name: 'Retime' }).click();
  const grip = page.getByRole('button', { name: /^Move the key at frame/ }).nth(4);
  const box = await grip.boundingBox();
  if (!box) throw new Error('no key to drag');
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.mouse.move(x + 70, y, { steps: 7 });
  await settled(page);
  await shoot(page, 'retime');
  await page.mouse.up();
  await page.keyboard.press('Control+z');
  await settled(page);
}

/** A puppet of other proportions beside the performer, where the shot asks most of it. */
async function shootPuppet(page: Page): Promise<void> {
  await page.getByLabel('Begin with proportions').selectOption({ label: 'Big head, short legs' });
  await page.getByRole('tab', { name: 'Can it?' }).click();
  await settled(page);
  const first = page
    .getByRole('tabpanel')
    .getByRole('button', { name: /^Go to frame/ })
    .first();
  if (await first.isVisible()) await first.click();
  await settled(page);
  await shoot(page, 'puppet');
  await page.locator('body').press('Control+z');
  await settled(page);
}

/** The pictures of the README, taken from the built app with the demo take. */
async function takePictures(page: Page): Promise<void> {
  await goTo(page, 'Timing');
  const keys = page.getByRole('button', { name: /^Go to frame/ });
  const middle = keys.nth(Math.floor((await keys.count()) / 2));
  await middle.waitFor();
  await middle.click();
  for (const screen of ['Take', 'Tracks', 'Timing', 'Arcs', 'Sheet']) {
    await goTo(page, screen);
    await shoot(page, screen.toLowerCase());
  }
  await goTo(page, 'Puppet');
  await shootPuppet(page);
  await goTo(page, 'Timing');
  await shootRetiming(page);
  await goTo(page, 'Sheet');
  await shootPaper(page);
}

withDemoRead(takePictures).catch((error: unknown) => {
  console.error(error instanceof Error ? error.message : String(error));
  process.exitCode = 1;
});
