import { readFileSync } from 'node:fs';
import { expect, type Page, test } from '@playwright/test';
import { csvParse } from 'd3-dsv';
import { strFromU8, unzipSync } from 'fflate';
import { goTo } from './open.ts';
import { planShortBesideItself } from './stills.ts';

declare global {
  interface Window {
    printed?: number;
  }
}

async function handedOut(page: Page, button: string): Promise<{ name: string; text: string }> {
  const [file] = await Promise.all([page.waitForEvent('download'), page.getByRole('button', { name: button }).click()]);
  return { name: file.suggestedFilename(), text: readFileSync(await file.path(), 'utf8') };
}

test('what differs is printed on one page with pictures, handed out as tables, and comes along in the export', async ({
  page,
}) => {
  test.slow();
  // A headless browser has no print dialogue.
  await page.addInitScript(() => {
    window.print = () => {
      window.printed = (window.printed ?? 0) + 1;
    };
  });
  // At 30 pictures a second shown at 24 frames all comes late.
  await planShortBesideItself(page);
  await expect(page.getByRole('heading', { name: 'Review sheet' })).toBeVisible();

  await page.getByRole('button', { name: 'Print or PDF' }).click();
  await expect.poll(() => page.evaluate(() => window.printed)).toBe(1);
  const sheet = page.locator('.review-paper');
  await expect(sheet).toHaveCount(1);
  await expect(sheet).toBeHidden();
  await page.emulateMedia({ media: 'print' });
  await expect(sheet).toBeVisible();
  await expect(page.getByRole('button', { name: 'Print or PDF' })).toBeHidden();
  await expect(sheet.getByText(/^“short, animated” · .* exposures looked at, frames 1 to \d+$/)).toBeVisible();
  await expect(sheet.getByText(/^Laid over the plan by its joints: \d\.\d{3} mm to a pixel/)).toBeVisible();
  expect(await sheet.locator('image').count()).toBeGreaterThan(0);
  const pdf = (await page.pdf({ preferCSSPageSize: true })).toString('latin1');
  expect(pdf.match(/\/Type\s*\/Page\b(?!s)/g)).toHaveLength(1);
  await page.emulateMedia({ media: null });
  await page.evaluate(() => window.dispatchEvent(new Event('afterprint')));
  await expect(sheet).toHaveCount(0);

  const findings = await handedOut(page, 'Findings CSV');
  expect(findings.name).toMatch(/ findings\.csv$/);
  const rows = csvParse(findings.text);
  expect(rows.find((r) => r.kind === 'keyTiming')?.sentence).toMatch(/^Keys? \d+/);
  const deviations = await handedOut(page, 'Deviations CSV');
  expect(csvParse(deviations.text).some((r) => r.joint === 'left wrist' && r['x mm'] !== '')).toBe(true);
  const json = JSON.parse((await handedOut(page, 'JSON')).text);
  expect([json.format, json.version]).toEqual(['nudgebook-review', 1]);
  expect(json.findings).toHaveLength(rows.length);

  await goTo(page, 'Sheet');
  await page.getByRole('button', { name: 'Export', exact: true }).click();
  const dialog = page.getByRole('dialog', { name: 'Export the shot' });
  await expect(dialog.getByLabel('Review of the shot as animated')).toBeChecked();
  for (const other of ['Every page and chart', 'Book and puppet']) await dialog.getByLabel(other).uncheck();
  const [zip] = await Promise.all([
    page.waitForEvent('download'),
    dialog.getByRole('button', { name: 'Export', exact: true }).click(),
  ]);
  const files = unzipSync(readFileSync(await zip.path()));
  expect(Object.keys(files)).toEqual(
    expect.arrayContaining(['review/page.svg', 'review/findings.csv', 'review/deviations.csv', 'review/review.json']),
  );
  expect(strFromU8(files['review/page.svg']!)).toContain('href="data:image/jpeg;base64,');
});
