import { fileURLToPath } from 'node:url';
import { expect, type Page } from '@playwright/test';
import type { Footage } from '../../src/base/footage.ts';
import { type Book, newBook } from '../../src/project/book.ts';
import { packBookFile } from '../../src/project/bookFile.ts';
import { median } from '../../src/track/quantile.ts';
import type { Sightings } from '../../src/track/sighting.ts';
import { evenTimes } from '../make.ts';
import { keptSightings } from '../track/keptSightings.ts';

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

/** Opens what was seen in a take, without its pictures, from a book file. @param book decisions other than a new book's. */
export async function openReading(
  page: Page,
  name: string,
  sightings: Sightings,
  book: Partial<Book> = {},
): Promise<void> {
  const { timesSec, widthPx, heightPx } = sightings;
  const intervalSec = median(timesSec.slice(1).map((t, i) => t - timesSec[i]!));
  const footage: Footage = {
    ...{ name: `${name}.mp4`, widthPx, heightPx, timesSec, endSec: timesSec.at(-1)! + intervalSec, firstStampSec: 0 },
    ...{ medianFps: 1 / intervalSec, variableFrameRate: false, codec: 'none', turnedDeg: 0, notes: [] },
  };
  await page.getByTestId('book-file').setInputFiles({
    name: `${name}.nudgebook`,
    mimeType: 'application/zip',
    buffer: Buffer.from(packBookFile({ book: { ...newBook(name), ...book }, reading: { footage, sightings } })),
  });
  await expect(page.getByLabel('Name of the shot')).toHaveValue(name);
  await settled(page);
}

/** Our takes of 30 pictures a second of which it is kept what the accurate detector saw (fixtures/README.md). */
type KeptTake = 'keeper' | 'no_feet' | 'short' | 'two_people';

/**
 * Opens one of our takes as the accurate detector saw it, with its pictures: a book that comes in without its video, which is found again.
 * For whatever is not about reading, which takes a quarter of a minute here.
 * @param name of the shot.
 */
export async function openKept(page: Page, take: KeptTake, name: string = take): Promise<void> {
  const seen = keptSightings(take);
  // Kept to the microsecond; pictures are found by the file's own time stamps.
  const timesSec = evenTimes(seen.timesSec.length, 30);
  await openReading(page, name, { ...seen, timesSec });
  await goTo(page, 'Take');
  const video = fileURLToPath(new URL(`../../fixtures/takes/${take}.mp4`, import.meta.url));
  await page.getByLabel('Find the video…').setInputFiles(video);
  await expect(page.getByRole('button', { name: 'Read again' })).toBeVisible();
  await settled(page);
}

/** Opens the demo take as the accurate detector saw it, without its pictures: reading it takes a quarter of a minute. */
export async function openDemoRead(page: Page): Promise<void> {
  await openApp(page);
  await openReading(page, 'keeper', keptSightings('keeper'));
}
