import { expect, type Locator, type Page, test } from '@playwright/test';
import { evenTimes, hold, makeSightings, minimumJerk } from '../make.ts';
import { goTo, openApp, openKept, openReading, settled } from './open.ts';

const length = (page: Page) => page.locator('.where').getByText(/^of \d+$/);
const begins = (page: Page, pick: number) => page.getByLabel(`Pick ${pick} begins with frame`);
const ends = (page: Page, pick: number) => page.getByLabel(`Pick ${pick} ends with frame`);

async function type(page: Page, pick: number, first: number, last: number) {
  await ends(page, pick).fill(String(last));
  await ends(page, pick).press('Tab');
  await begins(page, pick).fill(String(first));
  await begins(page, pick).press('Tab');
}

/** A picture on screen as numbers, of one size whatever its size there. */
const numbersOf = (canvas: Locator) =>
  canvas.evaluate((drawn) => {
    const g = new OffscreenCanvas(64, 36).getContext('2d')!;
    g.drawImage(drawn as HTMLCanvasElement, 0, 0, 64, 36);
    return [...g.getImageData(0, 0, 64, 36).data].filter((_, i) => i % 4 === 0);
  });

/** How much a picture differs from another one, levels of 0..255 on average. */
async function difference(canvas: Locator, from: readonly number[]): Promise<number> {
  const now = await numbersOf(canvas);
  return now.reduce((sum, v, k) => sum + Math.abs(v - from[k]!), 0) / now.length;
}

async function openMade(page: Page, name: string, x: number) {
  const timesSec = evenTimes(60, 30);
  const rightWrist = minimumJerk([x - 48, 297], [x - 180, 120], 0.4, 0.8);
  const sightings = makeSightings({ timesSec, body: hold(x, 280), joints: { rightWrist }, noisePx: 1 });
  await openReading(page, name, sightings);
}

test('stretches of two takes are picked, put in order and cut together; the jump is told; timing and sheet follow', async ({
  page,
}) => {
  await openApp(page);
  await openMade(page, 'first go', 400);
  const pick = page.getByRole('button', { name: 'Pick from this take' });
  await pick.click();
  await type(page, 1, 1, 24);
  await openMade(page, 'second go', 500);
  await pick.click();
  await type(page, 2, 13, 36);
  await page.getByRole('button', { name: 'Pick 2 earlier' }).press('Enter');
  await expect(begins(page, 1)).toHaveValue('13');
  await page.getByRole('button', { name: 'Pick 2 earlier' }).press('Enter');
  expect(await page.getByRole('complementary').evaluate((panel) => panel.scrollTop)).toBeGreaterThan(50);
  await page.getByRole('button', { name: 'Cut together' }).press('Enter');
  await expect(page.getByLabel('Name of the shot')).toHaveValue('Cut together');
  await settled(page);
  await expect(length(page)).toHaveText('of 48');
  // The panel was far down, at the picks: the new shot is read from its top.
  await expect(page.getByRole('heading', { name: 'Cut together' })).toBeInViewport();
  expect(await page.getByRole('complementary').evaluate((panel) => panel.scrollTop)).toBe(0);
  await expect(page.getByRole('button', { name: /^first go frames 1–24$/ })).toBeVisible();
  await expect(page.getByRole('button', { name: /^second go frames 25–48$/ })).toBeVisible();
  // Everything stands 100 pixels further right in the second take, of a performer 400 pixels tall: 62.5 mm on 250, and the arm besides.
  const told = await page.getByText(/the pose jumps by/).textContent();
  const mm = Number(told!.match(/([\d.]+) mm/)![1]);
  expect(mm).toBeGreaterThan(55);
  expect(mm).toBeLessThan(80);

  await goTo(page, 'Tracks');
  await expect(page.getByRole('button', { name: /^the pose jumps at a cut/ }).first()).toBeVisible();
  await goTo(page, 'Timing');
  await expect(page.getByRole('button', { name: /^Move the key at frame/ }).first()).toBeVisible();
  await goTo(page, 'Sheet');
  await expect(page.getByRole('rowheader')).toHaveCount(48);

  // The stretches stay open to change: each change is one step, what follows goes along, and a reload keeps them.
  await goTo(page, 'Take');
  const stretchEnds = (k: number) => page.getByLabel(`Stretch ${k} ends with the take’s frame`);
  const endStretch = async (k: number, frame: number) => {
    await stretchEnds(k).fill(String(frame));
    await stretchEnds(k).press('Tab');
  };
  const rows = page.getByRole('button', { name: /go frames \d+–\d+$/ });
  await endStretch(1, 36);
  await expect(length(page)).toHaveText('of 60');
  await expect(rows).toHaveText([/^first go\s*frames 1–36$/, /^second go\s*frames 37–60$/]);
  await page.locator('body').press('Control+z');
  await expect(length(page)).toHaveText('of 48');
  await endStretch(1, 12);
  await expect(length(page)).toHaveText('of 36');
  await settled(page);
  await page.reload();
  await settled(page);
  await expect(length(page)).toHaveText('of 36');
  await expect(stretchEnds(1)).toHaveValue('12');
  await endStretch(1, 24);
  await expect(length(page)).toHaveText('of 48');
  await page.getByRole('button', { name: 'Stretch 2 earlier' }).press('Enter');
  await expect(rows).toHaveText([/^second go\s*frames 1–24$/, /^first go\s*frames 25–48$/]);
  await page.getByRole('button', { name: 'Leave stretch 1 out' }).press('Enter');
  await expect(rows).toHaveText([/^first go\s*frames 1–24$/]);
  await expect(page.getByText(/the pose jumps by/)).toHaveCount(0);
  await page.getByLabel('Add a take to the shot').selectOption({ label: 'second go' });
  await expect(rows).toHaveText([/^first go\s*frames 1–24$/, /^second go\s*frames 25–72$/]);
  await settled(page);
  await goTo(page, 'Timing');
  await expect(page.getByRole('button', { name: /^Move the key at frame/ }).first()).toBeVisible();

  // The takes are as they were, each in its own book.
  await page.getByRole('button', { name: /^Book/ }).click();
  await page.getByRole('button', { name: /^first go/ }).click();
  await settled(page);
  await goTo(page, 'Take');
  await expect(page.getByLabel('Name of the shot')).toHaveValue('first go');
  await expect(length(page)).toHaveText('of 48');
  await expect(page.getByText(/the pose jumps by/)).toHaveCount(0);
});

test('a cut shot shows the pictures of the right take; a take stands beside, in step, lined up by frames', async ({
  page,
}) => {
  await openApp(page);
  await openKept(page, 'keeper', 'Keeper');
  const pick = page.getByRole('button', { name: 'Pick from this take' });
  // He stands still until frame 15 or so.
  await page.locator('body').press('Home');
  const picture = page.getByLabel('Picture of the take', { exact: true });
  const keyAt = (frame: number) => page.getByRole('button', { name: new RegExp(`^key at frame ${frame}:`) });
  const isDrawn = (canvas: Locator) =>
    expect.poll(async () => Math.max(...(await numbersOf(canvas)))).toBeGreaterThan(0);
  await isDrawn(picture);
  await isDrawn(keyAt(1).locator('canvas'));
  const standing = await numbersOf(picture);
  const standingSmall = await numbersOf(keyAt(1).locator('canvas'));
  await pick.click();
  await type(page, 1, 41, 60);
  await pick.click();
  await type(page, 2, 5, 20);
  await page.getByRole('button', { name: 'Cut together' }).click();
  await expect(page.getByLabel('Name of the shot')).toHaveValue('Cut together');
  await settled(page);
  await expect(length(page)).toHaveText('of 36');
  // Frame 21 is the second stretch's first: the take's frame 5.
  await page.getByRole('button', { name: /frames 21–36$/ }).click();
  await expect(page.locator('.where .frame')).toHaveText('21');
  await expect.poll(() => difference(picture, standing)).toBeLessThan(2);
  // The key there is shown by its frame's picture, though its pose is reached a little before.
  await expect.poll(() => difference(keyAt(21).locator('canvas'), standingSmall)).toBeLessThan(2);
  await page.locator('body').press('ArrowLeft');
  await expect.poll(() => difference(picture, standing)).toBeGreaterThan(2);
  await page.getByLabel('Another take beside it').selectOption({ label: 'Keeper' });
  const beside = page.getByRole('region', { name: /^The take beside/ });
  await expect(beside).toBeVisible();
  const besideIs = () => beside.locator('canvas').getAttribute('aria-label');
  await expect.poll(besideIs).toContain('Picture');
  const before = await besideIs();
  await beside.getByRole('spinbutton').fill('6');
  await expect.poll(besideIs).not.toBe(before);
  const lined = await besideIs();
  await page.getByRole('button', { name: /frames 1–20$/ }).click();
  await expect.poll(besideIs).not.toBe(lined);
  await beside.getByRole('button', { name: 'Take away' }).click();
  await expect(beside).toHaveCount(0);
});
