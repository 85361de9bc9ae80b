import { expect, type Page, test } from '@playwright/test';
import { goTo, settled } from './open.ts';
import { layBeside, planShort, type Still, stillsOnTwos } from './stills.ts';

/** An empty picture of the same size and kind: nothing in it can be followed. */
async function emptied(page: Page, still: Still): Promise<Still> {
  const base64 = await page.evaluate(
    async (url) => {
      const image = new Image();
      image.src = url;
      await image.decode();
      const canvas = document.createElement('canvas');
      [canvas.width, canvas.height] = [image.width, image.height];
      const g = canvas.getContext('2d')!;
      g.fillStyle = '#777';
      g.fillRect(0, 0, image.width, image.height);
      return canvas.toDataURL('image/jpeg').replace(/^.*,/, '');
    },
    `data:image/jpeg;base64,${still.buffer.toString('base64')}`,
  );
  return { ...still, buffer: Buffer.from(base64, 'base64') };
}

/** Clicks a place of the picture that asks for one, in parts of its width and height. */
async function clickAt(page: Page, name: RegExp, x: number, y: number): Promise<void> {
  const cross = page.getByRole('button', { name });
  const box = (await cross.boundingBox())!;
  await cross.click({ position: { x: x * box.width, y: y * box.height } });
}

test('a marked point that is lost in the shot is asked about beside its plan, and set anew there; a reload keeps it', async ({
  page,
}) => {
  test.slow();
  await planShort(page);
  const whole = await stillsOnTwos(page, 15);
  const stills = await Promise.all(whole.map((still, i) => (i < 4 ? still : emptied(page, still))));
  await layBeside(page, stills);
  await page.getByLabel('Its pictures are').selectOption('exposures');
  const lost = page.getByRole('region', { name: 'A point of the shot was lost' });
  await expect(lost).toHaveCount(0);

  await page.locator('body').press('Home');
  await page.getByLabel('Mark one joint').selectOption('left wrist');
  await clickAt(page, /^Press the left wrist/, 0.5, 0.45);
  await settled(page);

  // Nobody was looked for: what is marked is enough. The fifth picture stands at the ninth frame.
  await expect(lost).toContainText('left wrist is lost in pictures 5–15, from frame 9 on: ');
  await lost.getByRole('button', { name: 'It is here…' }).click();
  await expect(page.getByLabel('Picture 5 of short, animated')).toBeVisible();
  await page.locator('body').press('Escape');
  await expect(page.getByRole('button', { name: /^Where left wrist is/ })).toHaveCount(0);
  // A few pictures on it can be told where it is.
  for (let i = 0; i < 2; i++) await page.locator('body').press('ArrowRight');
  await lost.getByRole('button', { name: 'It is here…' }).click();
  await expect(page.getByLabel('Picture 6 of short, animated')).toBeVisible();
  await clickAt(page, /^Where left wrist is/, 0.5, 0.5);
  await settled(page);
  await expect(lost).toContainText('left wrist is lost in pictures 7–15');

  await page.reload();
  await settled(page);
  // The plan is open, not the shot's own book.
  await expect(page.getByLabel('Name of the shot')).toHaveValue('short');
  await goTo(page, 'Check');
  await settled(page);
  await expect(lost).toContainText('left wrist is lost in picture');
  for (let left = 3; left > 0 && (await lost.count()) > 0; left--) {
    await lost.getByRole('button', { name: 'Not seen there' }).click();
    await settled(page);
  }
  await expect(lost).toHaveCount(0);
});
