import { expect, type Page } from '@playwright/test';

declare global {
  interface Window {
    whenIdle?: () => Promise<void>;
  }
}

/** Settles when the app has nothing left to open, read or keep. */
export async function settled(page: Page): Promise<void> {
  await page.waitForFunction(() => window.whenIdle !== undefined);
  await page.evaluate(() => window.whenIdle?.());
}

/** Opens the app as a newcomer finds it: the demo take, ready to be read. */
export async function openApp(page: Page): Promise<void> {
  await page.goto('/');
  await settled(page);
  await expect(page.getByRole('button', { name: 'Read the take' })).toBeVisible();
}

/** Opens a take of one's own through the file chooser behind the Book menu. */
export async function openTake(page: Page, path: string | readonly string[]): Promise<void> {
  const stills = typeof path !== 'string';
  await page.getByTestId(stills ? 'stills' : 'take-file').setInputFiles(stills ? [...path] : path);
  await settled(page);
}

/** Reads the open take with the model named on the screen. */
export async function readTake(page: Page, model: 'fine' | 'quick'): Promise<void> {
  await page.getByRole('radio', { name: new RegExp(`^${model}`) }).check();
  await page.getByRole('button', { name: /^(Read|Go on)/ }).click();
  await settled(page);
}

/** Goes to a screen by its name in the bar. */
export async function goTo(
  page: Page,
  screen: 'Take' | 'Tracks' | 'Timing' | 'Arcs' | 'Puppet' | 'Sheet' | 'On set' | 'Check',
): Promise<void> {
  await page.getByRole('navigation', { name: 'Screens' }).getByRole('button', { name: screen }).click();
}
