import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { chromium, type Page } from 'playwright';
import { ensureBuild, projectRoot, serveBuiltApp } from './builtApp.ts';
import { chromiumLaunch } from './chromium.ts';

/** Where the pictures of the README are. */
export const pictureFolder = join(projectRoot, 'fixtures/pictures');

/** Waits until the app has nothing left to open, read or keep, and what it shows has been drawn. */
export async function settled(page: Page): Promise<void> {
  await page.waitForFunction(() => 'whenIdle' in window);
  await page.evaluate(async () => {
    await (window as unknown as { whenIdle: () => Promise<void> }).whenIdle();
    await document.fonts.ready;
    // Drawn in the next frame, on the screen in the one after.
    for (let i = 0; i < 2; i++) await new Promise((resolve) => requestAnimationFrame(resolve));
  });
  await page.waitForLoadState('networkidle');
}

/** Goes to a screen by its name in the bar. */
export async function goTo(page: Page, screen: string): Promise<void> {
  await page.getByRole('navigation', { name: 'Screens' }).getByRole('button', { name: screen }).click();
  await settled(page);
}

/** Takes a picture of the whole window. */
export async function shoot(page: Page, name: string): Promise<void> {
  await page.screenshot({ path: join(pictureFolder, `${name}.jpg`), type: 'jpeg', quality: 88 });
  console.log(`fixtures/pictures/${name}.jpg`);
}

/** Opens the built app with the demo take read, in a window as large as the pictures are, and closes it after the work. */
export async function withDemoRead(work: (page: Page) => Promise<void>): Promise<void> {
  ensureBuild((line) => console.log(line));
  mkdirSync(pictureFolder, { recursive: true });
  const server = await serveBuiltApp(5850);
  const browser = await chromium.launch(chromiumLaunch());
  try {
    const page = await browser.newPage({ viewport: { width: 1280, height: 800 }, colorScheme: 'light' });
    await page.goto(server.url);
    await settled(page);
    await page.getByRole('button', { name: 'Read the take' }).click();
    await settled(page);
    await work(page);
  } finally {
    await browser.close();
    await server.close();
  }
}
