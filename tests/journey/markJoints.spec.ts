import { readFileSync } from 'node:fs';
import { expect, type Page, test } from '@playwright/test';
import { goTo, settled } from './open.ts';
import { planShort, stillsOnTwos } from './stills.ts';

interface Truth {
  readonly width: number;
  readonly height: number;
  readonly pose: readonly { readonly joints: Record<string, readonly [number, number, number]> }[];
}

const truth: Truth = JSON.parse(
  readFileSync(new URL('../../fixtures/takes/short.truth.json', import.meta.url), 'utf8'),
);

/** The place where the joint that is asked for lies in the first picture, shifted by so much, pixels of the take. */
async function pressWhere(page: Page, joint: string, shiftX = 0, shiftY = 0): Promise<void> {
  const cross = page.getByRole('button', { name: new RegExp(`^Press the ${joint}[.:]`) });
  const box = (await cross.boundingBox())!;
  const [xPx, yPx] = truth.pose[0]!.joints[joint.replace(' ', '_')]!;
  const scale = Math.min(box.width / truth.width, box.height / truth.height);
  await cross.click({
    position: {
      x: box.width / 2 + (xPx + shiftX - truth.width / 2) * scale,
      y: box.height / 2 + (yPx + shiftY - truth.height / 2) * scale,
    },
  });
}

test('joints of the shot are named one after the other, pressed in its picture and followed; a reload in between loses none', async ({
  page,
}) => {
  test.slow();
  await planShort(page);
  const stills = await stillsOnTwos(page, 15);
  await goTo(page, 'Check');
  await page.getByTestId('shot-pictures').setInputFiles(stills);
  await settled(page);
  await page.getByLabel('Its pictures are').selectOption('exposures');
  await page.evaluate(() => (document.activeElement as HTMLElement | null)?.blur());
  await page.locator('body').press('Home');

  await page.getByRole('button', { name: 'Mark 13 joints…' }).click();
  for (const joint of ['left hip', 'right hip', 'left shoulder', 'right shoulder']) await pressWhere(page, joint);
  await expect(page.getByRole('button', { name: /^Press the nose: 5 of 13/ })).toBeVisible();
  await page.reload();
  await settled(page);
  await expect(page.getByLabel('Name of the shot')).toHaveValue('short');
  await goTo(page, 'Check');
  await settled(page);
  await page.getByText('Its pictures, and where the puppet is').click();
  await expect(page.getByText('4 joints are marked')).toBeVisible();
  await page.screenshot({ path: '/tmp/jA-3.png' });

  await page.locator('body').press('m');
  await page.keyboard.press('n');
  await pressWhere(page, 'left elbow');
  await expect(page.getByRole('button', { name: /^Press the right elbow: 3 of 9/ })).toBeVisible();
  await page.keyboard.press('Backspace');
  await pressWhere(page, 'left elbow');
  await pressWhere(page, 'right elbow');
  await pressWhere(page, 'left wrist');
  // The cross stands where it was pressed last.
  await expect(page.getByRole('button', { name: /^Press the right wrist: 5 of 9/ })).toBeFocused();
  await page.screenshot({ path: '/tmp/jA-4.png' });
  await pressWhere(page, 'right wrist');
  await page.keyboard.press('Escape');
  await settled(page);
  await page.screenshot({ path: '/tmp/jA-5.png' });
  console.log(
    await page.getByText(/joints are marked/).allTextContents(),
    await page.getByRole('listitem').allTextContents(),
  );
});
