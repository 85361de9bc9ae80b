import { readFileSync } from 'node:fs';
import { expect, test } from '@playwright/test';
import { goTo, openApp, readTake, settled } from './open.ts';

const shortTake = () => ({
  name: 'short.mp4',
  mimeType: 'video/mp4',
  buffer: readFileSync(new URL('../../fixtures/takes/short.mp4', import.meta.url)),
});

test('a shot is laid beside its plan, the puppet is found in it, and what differs is told with its frames; a reload keeps it', async ({
  page,
}) => {
  test.slow();
  await openApp(page);
  await page.getByTestId('take-file').setInputFiles(shortTake());
  await settled(page);
  await page.getByRole('radio', { name: /^quick/ }).check();
  await page.getByRole('button', { name: 'Read the take' }).click();
  await settled(page);
  await goTo(page, 'Check');
  // The same movement, but at the take's own 30 pictures a second shown at the plan's 24 frames: all comes late.
  await page.getByTestId('shot-pictures').setInputFiles(shortTake());
  await expect(page.getByText('“short, animated”, 36 pictures')).toBeVisible();
  await settled(page);
  await expect(page.getByLabel('Its pictures are')).toHaveValue('');
  await expect(page.getByLabel('Picture 1 of short, animated')).toBeVisible();
  await page.getByRole('button', { name: 'Look for the puppet' }).click();
  await settled(page);
  const late = page.getByText(/^Key \d+, planned for frame 21, is met \d(\.5)? frames late\.$/);
  await expect(late).toBeVisible();
  await page.getByRole('button', { name: 'Go to frame 21' }).click();
  await settled(page);
  await expect(page.getByLabel('Picture 21 of short, animated')).toBeVisible();

  await page.reload();
  await settled(page);
  await goTo(page, 'Check');
  await settled(page);
  await expect(late).toBeVisible();
  await page.locator('body').press('Control+z');
  await page.getByRole('button', { name: 'Another…' }).click();
  await expect(page.getByRole('button', { name: 'Stills or a video…' })).toBeVisible();
});

test('the next moves are laid anew from the shot pose, accepted, told at the set, kept over a reload, and undone', async ({
  page,
}) => {
  test.slow();
  await openApp(page);
  await page.getByTestId('take-file').setInputFiles(shortTake());
  await settled(page);
  await readTake(page, 'quick');
  await goTo(page, 'Check');
  await page.getByTestId('shot-pictures').setInputFiles(shortTake());
  await settled(page);
  await page.getByRole('button', { name: 'Look for the puppet' }).click();
  await settled(page);

  const movesAtSet = async (exposure: number) => {
    await page.locator('main').press('j');
    await page.keyboard.type(`${exposure}`);
    await page.keyboard.press('Enter');
    await expect(page.getByTestId('exposure')).toHaveText(`${exposure}`);
    return page.getByTestId('mm').allTextContents();
  };
  await goTo(page, 'On set');
  const planned = await movesAtSet(7);
  await page.locator('main').press('Escape');
  await goTo(page, 'Check');

  await page.getByRole('button', { name: 'Lay the next moves anew…' }).click();
  await page.getByLabel('After exposure').fill('6');
  await page.getByLabel('After exposure').blur();
  await expect(page.getByText(/^It is [\d.]+ frames? (late|early),/)).toBeVisible();
  const table = page.getByRole('table', { name: 'Moves laid anew' });
  await expect(table.getByRole('row').nth(1)).toBeVisible();
  await page.getByRole('button', { name: 'Accept', exact: true }).click();
  await expect(page.getByText('It is in the plan.')).toBeVisible();
  await expect(page.getByText(/^After exposure 6\s+the moves go on/)).toBeVisible();

  // One press further, the set shows the move that leads on from there.
  const anew = page.getByText('from where it stands, after exposure 6');
  await page.getByRole('list', { name: 'Moves laid anew' }).getByRole('button', { name: 'On set' }).click();
  await expect(page.getByTestId('exposure')).toHaveText('7');
  await expect(anew).toBeVisible();
  const told = await page.getByTestId('mm').allTextContents();
  expect(told).not.toEqual(planned);
  await settled(page);
  await page.reload();
  await settled(page);
  await expect(page.getByTestId('exposure')).toHaveText('7');
  await expect(anew).toBeVisible();
  expect(await page.getByTestId('mm').allTextContents()).toEqual(told);

  // Taken away, the moves are the plan's own; undone, they are laid anew again.
  await page.locator('main').press('Escape');
  await goTo(page, 'Check');
  await settled(page);
  await page.getByRole('button', { name: 'Take it away' }).click();
  await goTo(page, 'On set');
  await expect(page.getByTestId('exposure')).toHaveText('7');
  expect(await page.getByTestId('mm').allTextContents()).toEqual(planned);
  await page.locator('main').press('Escape');
  await page.locator('body').press('Control+z');
  await goTo(page, 'On set');
  await expect(anew).toBeVisible();
  expect(await page.getByTestId('mm').allTextContents()).toEqual(told);
});
