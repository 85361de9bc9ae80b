import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { chromium, type Page } from 'playwright';
import { ensureBuild, projectRoot, serveBuiltApp } from './builtApp.ts';
import { chromiumLaunch } from './chromium.ts';

const folder = join(projectRoot, 'fixtures/pictures');

/** Waits until the app has nothing left to open, read or keep, and what it shows has been drawn. */
async function settled(page: Page): Promise<void> {
  await page.waitForFunction(() => 'whenIdle' in window);
  await page.evaluate(async () => {
    await (window as unknown as { whenIdle: () => Promise<void> }).whenIdle();
    await document.fonts.ready;
    // Drawn in the next frame, on the screen in the one after.
    for (let i = 0; i < 2; i++) await new Promise((resolve) => requestAnimationFrame(resolve));
  });
  await page.waitForLoadState('networkidle');
}

async function goTo(page: Page, screen: string): Promise<void> {
  await page.getByRole('navigation', { name: 'Screens' }).getByRole('button', { name: screen }).click();
  await settled(page);
}

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
  await page.locator('.pages').screenshot({ path: join(folder, 'paper.jpg'), type: 'jpeg', quality: 88 });
  console.log('fixtures/pictures/paper.jpg');
}

/** A pose in the middle of being dragged to a later frame. */
async function shootRetiming(page: Page, shoot: (name: string) => Promise<void>): Promise<void> {
  await page.getByRole('tab', { name: 'Retime' }).click();
  const grip = page.getByRole('button', { name: /^Move the key at frame/ }).nth(4);
  const box = await grip.boundingBox();
  if (!box) throw new Error('no key to drag');
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.mouse.move(x + 70, y, { steps: 7 });
  await settled(page);
  await shoot('retime');
  await page.mouse.up();
  await page.keyboard.press('Control+z');
  await settled(page);
}

/** A puppet of other proportions beside the performer, where the shot asks most of it. */
async function shootPuppet(page: Page, shoot: (name: string) => Promise<void>): Promise<void> {
  await page.getByLabel('Begin with proportions').selectOption({ label: 'Big head, short legs' });
  await page.getByRole('tab', { name: 'Can it?' }).click();
  await settled(page);
  const first = page
    .getByRole('tabpanel')
    .getByRole('button', { name: /^Go to frame/ })
    .first();
  if (await first.isVisible()) await first.click();
  await settled(page);
  await shoot('puppet');
  await page.locator('body').press('Control+z');
  await settled(page);
}

/** `npm run pictures`: the pictures of the README, taken from the built app with the demo take. */
async function takePictures(): Promise<void> {
  ensureBuild((line) => console.log(line));
  mkdirSync(folder, { recursive: true });
  const server = await serveBuiltApp(5850);
  const browser = await chromium.launch(chromiumLaunch());
  try {
    const page = await browser.newPage({ viewport: { width: 1280, height: 800 }, colorScheme: 'light' });
    const shoot = async (name: string) => {
      await page.screenshot({ path: join(folder, `${name}.jpg`), type: 'jpeg', quality: 88 });
      console.log(`fixtures/pictures/${name}.jpg`);
    };
    await page.goto(server.url);
    await settled(page);
    await page.getByRole('button', { name: 'Read the take' }).click();
    await settled(page);
    await goTo(page, 'Timing');
    const keys = page.getByRole('button', { name: /^Go to frame/ });
    const middle = keys.nth(Math.floor((await keys.count()) / 2));
    await middle.waitFor();
    await middle.click();
    for (const screen of ['Take', 'Tracks', 'Timing', 'Arcs', 'Sheet']) {
      await goTo(page, screen);
      await shoot(screen.toLowerCase());
    }
    await goTo(page, 'Puppet');
    await shootPuppet(page, shoot);
    await goTo(page, 'Timing');
    await shootRetiming(page, shoot);
    await goTo(page, 'Sheet');
    await shootPaper(page);
  } finally {
    await browser.close();
    await server.close();
  }
}

takePictures().catch((error: unknown) => {
  console.error(error instanceof Error ? error.message : String(error));
  process.exitCode = 1;
});
