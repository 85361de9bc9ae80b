import { readFileSync } from 'node:fs';
import AxeBuilder from '@axe-core/playwright';
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

/** The question for a joint, which is pressed where it is. */
const question = (page: Page, joint: string) =>
  page.getByRole('button', { name: new RegExp(`^Press the ${joint}[.:]`) });

/**
 * Presses the joint that is asked for where it lies in the take's first picture, or higher by so many of its pixels.
 * @param byKey where the cross stands.
 */
async function press(page: Page, joint: string, { higherPx = 0, byKey = false } = {}): Promise<void> {
  const box = (await question(page, joint).boundingBox())!;
  const [xPx, yPx] = truth.pose[0]!.joints[joint.replace(' ', '_')]!;
  const scale = Math.min(box.width / truth.width, box.height / truth.height);
  const x = box.width / 2 + (xPx - truth.width / 2) * scale;
  const y = box.height / 2 + (yPx - higherPx - truth.height / 2) * scale;
  if (!byKey) return question(page, joint).click({ position: { x, y } });
  await question(page, joint).hover({ position: { x, y } });
  await page.keyboard.press('Enter');
}

test('joints of the shot are named one after the other, pressed in its picture and followed; a reload in between loses none', async ({
  page,
}) => {
  test.slow();
  await planShort(page);
  const stills = await stillsOnTwos(page, 9);
  await goTo(page, 'Check');
  await page.getByTestId('shot-pictures').setInputFiles(stills);
  await settled(page);
  await page.locator('body').press('Home');
  await page.getByRole('button', { name: 'Mark 13 joints…' }).click();
  for (const joint of ['left hip', 'right hip', 'left shoulder', 'right shoulder']) await press(page, joint);
  await page.reload();
  await settled(page);
  await expect(page.getByLabel('Name of the shot')).toHaveValue('short');
  await goTo(page, 'Check');
  await settled(page);
  await expect(page.getByText('4 joints are marked')).toBeVisible();

  // It goes on where it was: one is not seen, one is pressed once more, one taken back, and one pressed by the key where the cross stands.
  await expect(question(page, 'nose')).toContainText('5 of 13');
  const { violations } = await new AxeBuilder({ page }).analyze();
  expect(violations.filter((v) => v.impact === 'serious' || v.impact === 'critical').map((v) => v.id)).toEqual([]);
  await page.keyboard.press('n');
  await press(page, 'left elbow', { higherPx: 40 });
  await page.keyboard.press('Backspace');
  await press(page, 'left elbow');
  await expect(question(page, 'right elbow')).toBeFocused();
  await press(page, 'right elbow', { higherPx: 40 });
  await expect(question(page, 'left wrist')).toBeVisible();
  await page.keyboard.press('ControlOrMeta+z');
  await expect(question(page, 'right elbow')).toContainText('7 of 13');
  await expect(page.getByText('5 joints are marked')).toBeVisible();
  await press(page, 'right elbow');
  await press(page, 'left wrist', { byKey: true });
  await expect(question(page, 'right wrist')).toContainText('9 of 13');
  await page.keyboard.press('Escape');
  await settled(page);
  // What opened for the marking closes after it.
  await page.getByText('Its pictures, and where the puppet is').click();
  await expect(page.getByText('7 joints are marked')).toBeVisible();

  // Marks and what is decided about the plan are taken back in the order in which they were done, and done again.
  const mirrored = page.getByLabel('the camera sees it mirrored');
  await mirrored.check();
  await page.getByText('7 joints are marked').click();
  await page.getByRole('button', { name: 'Take the mark of the left elbow away' }).click();
  await expect(page.getByText('6 joints are marked')).toBeVisible();
  await page.locator('body').press('ControlOrMeta+z');
  await expect(page.getByText('7 joints are marked')).toBeVisible();
  await expect(mirrored).toBeChecked();
  await page.locator('body').press('ControlOrMeta+z');
  await expect(mirrored).not.toBeChecked();
  await page.locator('body').press('ControlOrMeta+z');
  await expect(page.getByText('6 joints are marked')).toBeVisible();
  for (let k = 0; k < 2; k++) await page.locator('body').press('ControlOrMeta+Shift+z');
  await expect(page.getByText('7 joints are marked')).toBeVisible();
  await expect(mirrored).toBeChecked();
  await page.locator('body').press('ControlOrMeta+z');
  await settled(page);
  await expect(page.getByText(/^The left elbow drifts/)).toHaveCount(0);

  // Pressed elsewhere further on, it leaves the plan there; taken back, it does not.
  for (let k = 0; k < 8; k++) await page.keyboard.press('ArrowRight');
  await page.getByRole('button', { name: 'Mark the left elbow anew in this picture' }).click();
  await press(page, 'left elbow', { higherPx: 30 });
  await settled(page);
  await expect(page.getByText(/^The left elbow drifts \d+ mm over frames 5 to 8/)).toBeVisible();
  await page.getByLabel('Mark one joint').selectOption('left elbow, marked');
  await page.getByRole('button', { name: 'Not seen here' }).click();
  await settled(page);
  await expect(page.getByText(/^The left elbow drifts/)).toHaveCount(0);
  await page.getByRole('button', { name: 'Take the mark of the left elbow away' }).click();
  await expect(page.getByText('6 joints are marked')).toBeVisible();

  // A point that jumped to something else as the arm was flung up: it is asked about, and nothing is judged there, until a hand says that it is right.
  await page.getByRole('button', { name: 'Take the mark of the right elbow away' }).click();
  const asked = page.getByLabel('A point may have left its joint');
  await expect(asked).toContainText('Is the point still on the left wrist?');
  await expect(page.locator('.told').getByText(/^The left wrist/)).toHaveCount(0);
  await asked.getByRole('button', { name: 'Look there' }).click();
  await asked.getByRole('button', { name: 'It is right' }).click();
  await settled(page);
  await expect(asked.getByText('left wrist')).toHaveCount(0);
  await expect(page.getByText('5 joints are marked')).toBeVisible();
  await page.locator('body').press('ControlOrMeta+z');
  await expect(asked).toContainText('Is the point still on the left wrist?');
  await page.locator('body').press('ControlOrMeta+Shift+z');
  await settled(page);
  await expect(asked.getByText('left wrist')).toHaveCount(0);

  // A run that is over is over after a reload, too.
  await page.reload();
  await settled(page);
  await goTo(page, 'Check');
  await settled(page);
  await expect(page.getByRole('button', { name: 'Done' })).toHaveCount(0);
});
