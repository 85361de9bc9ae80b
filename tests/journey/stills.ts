import { fileURLToPath } from 'node:url';
import { expect, type Page } from '@playwright/test';
import { goTo, openApp, openKept, settled } from './open.ts';

/** A still of the shot, as a file to be chosen or photographed. */
export interface Still {
  readonly name: string;
  readonly mimeType: string;
  readonly buffer: Buffer;
}

/** From now on the folder that is chosen to be watched is one of the browser's own. To be called before the app is opened. */
export const watchesLampShot = (page: Page) =>
  page.addInitScript(() => {
    Object.assign(window, {
      showDirectoryPicker: async () =>
        (await navigator.storage.getDirectory()).getDirectoryHandle('lamp shot', { create: true }),
    });
  });

/** A take of 36 pictures. */
export const shortTakePath = fileURLToPath(new URL('../../fixtures/takes/short.mp4', import.meta.url));

/** Opens a short take that was read before: the plan of a shot. */
export async function planShort(page: Page): Promise<void> {
  await openApp(page);
  await openKept(page, 'short');
}

/** The same beside its own pictures as the shot that was animated, in which the puppet was looked for before; on the Check screen. */
export async function planShortBesideItself(page: Page): Promise<void> {
  await openApp(page);
  await openKept(page, 'short', 'short, animated');
  await openKept(page, 'short');
  await goTo(page, 'Check');
  await page.getByLabel('or one from the shelf').selectOption({ label: 'short, animated' });
  await expect(page.getByText('“short, animated”, 36 pictures')).toBeVisible();
  await settled(page);
}

/** Chooses files as the shot that was animated after the plan, on the Check screen. */
export async function layBeside(page: Page, files: Still | readonly Still[]): Promise<void> {
  await goTo(page, 'Check');
  await page.getByTestId('shot-pictures').setInputFiles(files as Still | Still[]);
  await settled(page);
}

/** Looks for the puppet in all pictures of the shot. */
export async function lookForPuppet(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Look for the puppet' }).click();
  await settled(page);
}

/**
 * Pictures of the open take as JPEG stills of a shot on twos: of every other frame. All are of one size: what was taken before the lanes below
 * the picture had come, and left it less room, is taken again.
 */
export async function stillsOnTwos(page: Page, count: number): Promise<Still[]> {
  const stills: Still[] = [];
  let size = '';
  await page.locator('body').press('Home');
  while (stills.length < count) {
    const k = stills.length;
    await settled(page);
    await expect(page.locator('.where .frame')).toHaveText(String(2 * k + 1));
    const drawn = await page.getByLabel('Picture of the take', { exact: true }).evaluate((element) => {
      const canvas = element as HTMLCanvasElement;
      return {
        size: `${canvas.width} × ${canvas.height}`,
        jpeg: canvas.toDataURL('image/jpeg', 0.9).replace(/^.*,/, ''),
      };
    });
    if (k > 0 && drawn.size !== size) {
      stills.length = 0;
      await page.locator('body').press('Home');
      continue;
    }
    size = drawn.size;
    stills.push({ name: `lamp_${100 + k}.jpg`, mimeType: 'image/jpeg', buffer: Buffer.from(drawn.jpeg, 'base64') });
    await page.keyboard.press('ArrowRight');
    await page.keyboard.press('ArrowRight');
  }
  return stills;
}

/** Puts a still where the camera would. The folder is one of the browser's own, since nobody is there to choose another. */
export const photograph = (page: Page, { name, buffer }: Still) =>
  page.evaluate(
    async ([file, base64]) => {
      const root = await navigator.storage.getDirectory();
      const folder = await root.getDirectoryHandle('lamp shot', { create: true });
      const writing = await (await folder.getFileHandle(file!, { create: true })).createWritable();
      await writing.write(Uint8Array.from(atob(base64!), (c) => c.charCodeAt(0)));
      await writing.close();
    },
    [name, buffer.toString('base64')],
  );

/** Takes a still out of that folder again. */
export const throwAway = (page: Page, { name }: Still) =>
  page.evaluate(async (file) => {
    const root = await navigator.storage.getDirectory();
    await (await root.getDirectoryHandle('lamp shot')).removeEntry(file);
  }, name);
