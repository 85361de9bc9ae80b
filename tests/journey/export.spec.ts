import { readFileSync } from 'node:fs';
import AxeBuilder from '@axe-core/playwright';
import { expect, test } from '@playwright/test';
import { strFromU8, unzipSync } from 'fflate';
import { goTo, openApp, openKept } from './open.ts';

test('a zip of all is made from the keyboard, and no request leaves the machine', async ({ page, baseURL }) => {
  const hosts = new Set<string>();
  page.context().on('request', (request) => {
    const url = new URL(request.url());
    if (url.protocol !== 'blob:' && url.protocol !== 'data:') hosts.add(url.origin);
  });
  const problems: string[] = [];
  page.on('pageerror', (error) => problems.push(error.message));
  page.on('console', (message) => {
    if (message.type() === 'error') problems.push(message.text());
  });
  await openApp(page);
  await openKept(page, 'keeper');
  await goTo(page, 'Sheet');
  await page.getByRole('button', { name: 'Export', exact: true }).focus();
  await page.keyboard.press('Enter');
  const dialog = page.getByRole('dialog', { name: 'Export the shot' });
  await dialog.getByLabel('Overlays').focus();
  await page.keyboard.press('Space');
  await dialog.getByLabel('Pop-through movie').focus();
  await page.keyboard.press('Space');
  await dialog.getByLabel('Width, pixels').fill('640');
  await dialog.getByLabel('Height, pixels').fill('360');
  await page.keyboard.press('Tab');
  await expect(dialog.getByText(/about [\d.]+ (kB|MB)/)).toBeVisible();
  await expect(dialog.getByText('168 frames')).toBeVisible();
  const { violations } = await new AxeBuilder({ page }).include('dialog').analyze();
  expect(violations.filter((v) => v.impact === 'serious' || v.impact === 'critical').map((v) => v.id)).toEqual([]);

  await dialog.getByRole('button', { name: 'Export', exact: true }).focus();
  const [zip] = await Promise.all([page.waitForEvent('download'), page.keyboard.press('Enter')]);
  await expect(dialog.getByText(/^Made .*\.zip, [\d.]+ (kB|MB), \d+ files\.$/)).toBeVisible();
  const files = unzipSync(readFileSync(await zip.path()));
  const names = Object.keys(files);
  for (const name of ['sheet.csv', 'plan.json', 'pop-through.mp4', 'pages/page-01.svg', 'charts/timeline.svg'])
    expect(names).toContain(name);
  expect(names.some((n) => n.endsWith('.nudgebook'))).toBe(true);
  expect(names).toContain('overlays/shot_0001.png');
  // The PNG's own head: 640 × 360, 8 bits, colour with alpha (PNG specification, IHDR).
  const head = new DataView(files['overlays/shot_0001.png']!.slice(16, 26).buffer);
  expect([head.getUint32(0), head.getUint32(4), head.getUint8(8), head.getUint8(9)]).toEqual([640, 360, 8, 6]);
  // The pop-through pages bring their photos along.
  const pages = names.filter((n) => n.startsWith('pages/')).map((n) => strFromU8(files[n]!));
  expect(pages.some((svg) => svg.includes('href="data:image/jpeg;base64,'))).toBe(true);

  await page.keyboard.press('Escape');
  await expect(dialog).toBeHidden();
  expect([...hosts]).toEqual([new URL(baseURL!).origin]);
  expect(problems).toEqual([]);
});
