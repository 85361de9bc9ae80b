import { expect, type Page, test } from '@playwright/test';
import { goTo, settled } from './open.ts';
import { photograph, planShort, stillsOnTwos, throwAway, watchesLampShot } from './stills.ts';

/** The exposure that is to be shot, and how many are. */
const isAt = async (page: Page, exposure: number, shot: number) => {
  await expect(page.getByTestId('exposure')).toHaveText(`${exposure}`);
  await expect(page.getByTestId('shot-count')).toHaveText(new RegExp(`^${shot} of`));
};

test('a picture that comes into the watched folder marks its exposure and steps on, once; a reload at any time loses none', async ({
  page,
}) => {
  test.slow();
  await watchesLampShot(page);
  await planShort(page);
  const stills = await stillsOnTwos(page, 12);
  await goTo(page, 'On set');
  await isAt(page, 1, 0);
  const byPicture = page.getByRole('button', { name: 'By picture' });
  await expect(byPicture).toHaveAttribute('aria-pressed', 'false');
  await page.locator('main').press('p');
  await expect(byPicture).toHaveAttribute('aria-pressed', 'true');
  await page.getByRole('button', { name: 'Watch the camera’s folder…' }).click();
  const watches = page.getByText('steps on with each picture in “lamp shot”');
  await expect(watches).toBeVisible();

  // The very first still is no take yet, but it is shot.
  await photograph(page, stills[0]!);
  await isAt(page, 2, 1);
  await settled(page);
  await page.reload();
  await settled(page);
  await expect(watches).toBeVisible();
  await isAt(page, 2, 1);
  await photograph(page, stills[1]!);
  await isAt(page, 3, 2);
  await settled(page);

  // Written anew, a still is no other exposure. Marked by the key, one is not marked again by its picture.
  await photograph(page, { ...stills[0]!, buffer: stills[5]!.buffer });
  await page.locator('main').press('Space');
  await isAt(page, 4, 3);
  await photograph(page, stills[2]!);
  await photograph(page, stills[3]!);
  await isAt(page, 5, 4);
  await settled(page);

  // The page is taken away in the moment in which the camera writes; and more than one came meanwhile.
  await photograph(page, stills[4]!);
  await page.reload();
  await isAt(page, 6, 5);
  await settled(page);
  await photograph(page, stills[5]!);
  await photograph(page, stills[6]!);
  // Taken for whole at the very first look, which is before the plan is there again.
  await page.addInitScript(() => Object.defineProperty(File.prototype, 'lastModified', { get: () => 1 }));
  await page.reload();
  await isAt(page, 8, 7);
  await settled(page);

  // A bad one is thrown away and shot again: its exposure is shot once.
  await throwAway(page, stills[6]!);
  await toCheck(page);
  await expect(page.getByText('“short, animated”, 6 pictures')).toBeVisible();
  await goTo(page, 'On set');
  await photograph(page, stills[7]!);
  await photograph(page, stills[8]!);
  await isAt(page, 9, 8);
  await settled(page);
  const log = page.getByRole('region', { name: 'What was shot when' });
  await page.locator('main').press('l');
  await expect(log.getByRole('row')).toHaveCount(9);
  await page.locator('main').press('l');

  // Only the key again; what has a picture then is told when pictures count again.
  await page.locator('main').press('p');
  await photograph(page, stills[9]!);
  await toCheck(page);
  await expect(page.getByText('“short, animated”, 9 pictures')).toBeVisible();
  await settled(page);
  await goTo(page, 'On set');
  await isAt(page, 9, 8);
  await page.locator('main').press('p');
  await page.getByRole('button', { name: '! exposure 9 has a picture, but no mark' }).click();
  await isAt(page, 10, 9);

  // By hand, too, from whatever screen.
  await toCheck(page);
  await page.getByRole('button', { name: 'Watch no more' }).click();
  await page.getByTestId('more-pictures').setInputFiles(stills.slice(10, 12));
  await expect(page.getByText('“short, animated”, 11 pictures')).toBeVisible();
  await settled(page);
  await goTo(page, 'On set');
  await isAt(page, 12, 11);
});

/** From the set to where the shot is held against its plan. */
async function toCheck(page: Page): Promise<void> {
  await page.locator('main').press('8');
}
