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
