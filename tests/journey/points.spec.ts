import { readFileSync } from 'node:fs';
import { expect, type Page, test } from '@playwright/test';
import { goTo, openTake, settled } from './open.ts';

interface Truth {
  readonly pose: readonly { readonly joints: Record<string, readonly [number, number, number]> }[];
}

const truthOf = (name: string): Truth => JSON.parse(readFileSync(`fixtures/takes/${name}.truth.json`, 'utf8'));

/** Clicks a place of the picture, upright video pixels, with the marking cross. */
async function clickPicture(page: Page, widthPx: number, heightPx: number, xPx: number, yPx: number): Promise<void> {
  const cross = page.getByRole('button', { name: /^Mark a point: click it/ });
  const box = (await cross.boundingBox())!;
  const scale = Math.min(box.width / widthPx, box.height / heightPx);
  const x = (box.width - widthPx * scale) / 2 + xPx * scale;
  const y = (box.height - heightPx * scale) / 2 + yPx * scale;
  await cross.click({ position: { x, y } });
}

test('a ball is marked once, followed through its bounces, and weighed; a reload loses nothing', async ({ page }) => {
  await page.goto('/');
  await settled(page);
  await openTake(page, 'fixtures/takes/toys.mp4');
  await goTo(page, 'Tracks');
  await page.keyboard.press('a');
  const [x, y] = truthOf('toys').pose[0]!.joints.light!;
  await clickPicture(page, 640, 480, x, y);
  await settled(page);
  const name = page.getByLabel('Name of point 1');
  await name.fill('beach ball');
  await name.press('Enter');
  await settled(page);
  await expect(page.getByLabel('Name of beach ball')).toBeVisible();

  await goTo(page, 'Arcs');
  await page.getByRole('tab', { name: 'Weight and waves' }).click();
  const bounces = page.getByRole('table', { name: 'Bounces' });
  await expect(bounces.getByRole('row')).toHaveCount(4);
  // 0.8343 s after the take's beginning: frame 21.0 at 24 a second.
  await expect(bounces.getByRole('row').nth(1)).toContainText('21.0');
  await expect(bounces.getByRole('row').nth(1)).toContainText('78 %');
  await expect(page.getByText(/px per metre/).first()).toContainText(/18[0-7]\.\d/);
  await page.getByRole('button', { name: 'As a table' }).click();
  await expect(page.getByRole('columnheader', { name: 'beach ball' })).toBeVisible();

  await page.reload();
  await settled(page);
  await goTo(page, 'Tracks');
  await expect(page.getByLabel('Name of beach ball')).toBeVisible();
  await expect(page.getByText(/^± \d\.\d px$|^marked here$/)).toBeVisible();
  await page.getByRole('button', { name: 'Remove beach ball' }).click();
  await expect(page.getByText('click it once')).toBeVisible();
  await page.keyboard.press('Control+z');
  await expect(page.getByLabel('Name of beach ball')).toBeVisible();
});

test('a ball that nobody holds is planned from its bounces to the sheet', async ({ page }) => {
  await page.goto('/');
  await settled(page);
  await openTake(page, 'fixtures/takes/toys.mp4');
  await goTo(page, 'Tracks');
  await page.keyboard.press('a');
  const [x, y] = truthOf('toys').pose[0]!.joints.light!;
  await clickPicture(page, 640, 480, x, y);
  await settled(page);
  // The timeline has taken room from the picture: it is drawn anew, not pressed together.
  const shapes = await page.getByLabel('Picture of the take').evaluate((canvas: HTMLCanvasElement) => {
    const { width, height } = canvas.getBoundingClientRect();
    return [canvas.width / canvas.height, width / height];
  });
  expect(shapes[0]).toBeCloseTo(shapes[1]!, 2);

  await goTo(page, 'Timing');
  // The light ball meets the floor 0.834, 1.668, 2.318 and 2.825 s after the take's beginning; what follows the last is too short
  // to be called a flight, but the key is there.
  const keyOf = (words: string) => page.getByRole('listitem').filter({ has: page.getByPlaceholder(words) });
  const bounces = keyOf('point 1 bounces');
  await expect(bounces).toHaveCount(3);
  for (const [i, frame] of [21, 41, 57].entries()) await expect(bounces.nth(i)).toContainText(`${frame}`);
  await expect(keyOf('point 1 turns')).toContainText(/69|68/);

  await goTo(page, 'Arcs');
  await page.getByRole('tab', { name: 'Spacing' }).click();
  await expect(page.getByLabel('Spacing of')).toHaveValue('prop:point 1');
  await expect(page.getByRole('heading', { name: 'Steps, point 1' })).toBeVisible();
  await goTo(page, 'Puppet');
  await page.getByRole('tab', { name: 'Can it?' }).click();
  await expect(page.getByRole('heading', { name: 'Nobody to follow' })).toHaveCount(2);
  await goTo(page, 'Sheet');
  await expect(page.getByRole('columnheader', { name: 'point 1' })).toBeVisible();
  await expect(page.getByText('Moves: millimetres toward')).toBeVisible();
  await page.getByRole('tab', { name: 'Pop-through' }).click();
  await settled(page);
  await expect(page.getByText('point 1 bounces').first()).toBeVisible();
});

test('where a point is lost the app asks, and takes "not seen" for an answer', async ({ page }) => {
  await page.goto('/');
  await settled(page);
  await openTake(page, 'fixtures/takes/passed_by.mp4');
  await goTo(page, 'Tracks');
  await page.getByRole('button', { name: 'Mark a point…' }).click();
  const [x, y] = truthOf('passed_by').pose[0]!.joints.chest!;
  await clickPicture(page, 960, 540, x, y);
  await settled(page);
  const ask = page.getByRole('region', { name: 'A point was lost' });
  await expect(ask).toContainText('Lost here:');
  await ask.getByRole('button', { name: 'Show' }).click();
  await expect(page.getByText('lost here', { exact: true })).toBeVisible();
  const asked = await ask.textContent();
  await ask.getByRole('button', { name: 'Not seen there' }).click();
  await settled(page);
  await expect(page.getByText('not seen here', { exact: true })).toBeVisible();
  await expect(page.getByText(asked ?? '', { exact: true })).toHaveCount(0);
});
