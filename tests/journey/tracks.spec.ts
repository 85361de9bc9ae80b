import AxeBuilder from '@axe-core/playwright';
import { expect, type Locator, type Page, test } from '@playwright/test';
import { evenTimes, makeSightings, pendulum } from '../make.ts';
import { goTo, openApp, openKept, openReading, readTake, settled } from './open.ts';
import { paced } from './pace.ts';

/** Opens a short take that was read, and goes to the Tracks screen with the right wrist in frame 10 looked at. */
async function openTracks(page: Page): Promise<void> {
  await openApp(page);
  await openKept(page, 'short');
  await goTo(page, 'Tracks');
  await page.getByLabel('Joint', { exact: true }).selectOption('rightWrist');
  await page.locator('body').press('Home');
  for (let i = 0; i < 9; i++) await page.keyboard.press('ArrowRight');
}

const handle = (page: Page, joint = 'rightWrist'): Locator => page.locator(`button[data-joint="${joint}"]`);

async function middle(at: Locator): Promise<{ x: number; y: number }> {
  const box = (await at.boundingBox())!;
  return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
}

/** The drawn path of the graph ("across"), as text. */
const drawnPath = (page: Page): Promise<string | null> =>
  page.locator('.graph path[data-id="path-x"]').getAttribute('d');

const corrections = (page: Page): Locator => page.getByRole('button', { name: /^Take back:/ });

async function seriousFaults(page: Page): Promise<string[]> {
  const { violations } = await new AxeBuilder({ page }).analyze();
  return violations
    .filter((v) => v.impact === 'serious' || v.impact === 'critical')
    .map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(' ')).join(', ')}`);
}

test('a joint is dragged: the path follows while it moves, and one undo takes the whole drag back', async ({
  page,
}) => {
  await openTracks(page);
  const from = await middle(handle(page));
  const before = await drawnPath(page);
  await page.mouse.move(from.x, from.y);
  await page.mouse.down();
  await page.mouse.move(from.x + 30, from.y - 20, { steps: 3 });
  await expect.poll(() => drawnPath(page)).not.toBe(before);
  const underway = await drawnPath(page);
  await page.mouse.move(from.x + 60, from.y - 40, { steps: 3 });
  await expect.poll(() => drawnPath(page)).not.toBe(underway);
  // Nothing is decided before it is let go.
  await expect(corrections(page)).toHaveCount(0);
  await page.mouse.up();
  await settled(page);
  await expect(corrections(page)).toHaveCount(1);
  await expect(page.getByText('placed', { exact: true })).toBeVisible();
  const to = await middle(handle(page));
  expect(Math.hypot(to.x - from.x - 60, to.y - from.y + 40)).toBeLessThan(4);

  // Reach: shown, and changed by key and slider.
  const reach = page.getByLabel('Moves the frames around it');
  await expect(reach).toHaveValue('8');
  await page.keyboard.press(']');
  await expect(reach).toHaveValue('9');
  await expect(page.locator('.graph path[data-id="reach-x-0"]')).toHaveCount(1);
  expect(await seriousFaults(page)).toEqual([]);

  await page.keyboard.press('Control+z');
  await expect(reach).toHaveValue('8');
  await page.keyboard.press('Control+z');
  await expect(corrections(page)).toHaveCount(0);
  await expect.poll(() => drawnPath(page)).toBe(before);
});

test('from the keyboard alone: hold, nudge, next joint, confirm, hide, swap, take back', async ({ page }) => {
  await openTracks(page);
  const from = await middle(handle(page));
  await page.keyboard.press('m');
  await expect(handle(page)).toBeFocused();
  for (let i = 0; i < 4; i++) await page.keyboard.press('Shift+ArrowDown');
  await settled(page);
  await expect(corrections(page)).toHaveCount(1);
  const nudged = await middle(handle(page));
  expect(nudged.y - from.y).toBeGreaterThan(15);
  // Four nudges of one hold are one step.
  await page.keyboard.press('Control+z');
  await expect(corrections(page)).toHaveCount(0);
  await page.keyboard.press('Control+Shift+z');
  await expect(corrections(page)).toHaveCount(1);
  await page.keyboard.press('Delete');
  await expect(corrections(page)).toHaveCount(0);

  await page.keyboard.press('PageDown');
  await expect(page.locator('.where .frame')).toHaveText('11');
  await page.keyboard.press('j');
  await expect(page.getByLabel('Joint', { exact: true })).toHaveValue('leftHip');
  await expect(handle(page, 'leftHip')).toBeFocused();
  await page.keyboard.press('Escape');
  await page.keyboard.press('p');
  await expect(page.getByRole('button', { name: 'placed, frame 11', exact: true })).toBeVisible();

  await page.keyboard.press('h');
  for (let i = 0; i < 4; i++) await page.keyboard.press('ArrowRight');
  await page.keyboard.press('h');
  await expect(page.getByRole('button', { name: 'hidden, frames 11–15', exact: true })).toBeVisible();
  await expect(page.locator('.graph path[data-id="hidden-0"]')).toHaveCount(1);

  // From frame 12 to the last, looked at in frame 20.
  const toFrame20 = async () => {
    await page.keyboard.press('Home');
    await page.keyboard.press('Shift+ArrowRight');
    for (let i = 0; i < 9; i++) await page.keyboard.press('ArrowRight');
  };
  await page.getByLabel('What is swapped').selectOption('arms');
  await page.locator('body').press('Home');
  await toFrame20();
  const left = await middle(handle(page, 'leftShoulder'));
  const leftKnee = await middle(handle(page, 'leftKnee'));
  const right = await middle(handle(page, 'rightShoulder'));
  for (let i = 0; i < 8; i++) await page.keyboard.press('ArrowLeft');
  await page.keyboard.press('x');
  await page.keyboard.press('End');
  await page.keyboard.press('x');
  await expect(page.getByRole('button', { name: /^arms swapped, frames 12–\d+$/ })).toBeVisible();
  await toFrame20();
  await settled(page);
  const now = await middle(handle(page, 'leftShoulder'));
  expect(Math.hypot(now.x - right.x, now.y - right.y)).toBeLessThan(0.2 * Math.hypot(now.x - left.x, now.y - left.y));
  const knee = await middle(handle(page, 'leftKnee'));
  expect(Math.hypot(knee.x - leftKnee.x, knee.y - leftKnee.y)).toBeLessThan(2);

  await page.getByRole('button', { name: /^Take back: left hip hidden/ }).click();
  await expect(corrections(page)).toHaveCount(2);
});

test('a doubt is jumped to by key and marked', async ({ page }) => {
  await openApp(page);
  await openKept(page, 'no_feet');
  await goTo(page, 'Tracks');
  await page.locator('body').press('d');
  const chosen = page.locator('li button[aria-pressed="true"]');
  await expect(chosen).toHaveCount(1);
  await expect(page.getByLabel('Joint', { exact: true })).toHaveValue(/Ankle$/);
  await expect(page.locator('.graph path[data-id="chosen"]')).toHaveCount(1);
  const first = await chosen.getAttribute('aria-label');
  await page.keyboard.press('d');
  await expect(chosen).not.toHaveAttribute('aria-label', first!);
  await page.keyboard.press('Shift+D');
  await expect(chosen).toHaveAttribute('aria-label', first!);
  expect(await seriousFaults(page)).toEqual([]);
});

test('corrections outlive a reading with another model', async ({ page }) => {
  // It was looked at finely. The other way round they outlive it in the journey of reading.
  await openTracks(page);
  await expect(corrections(page)).toHaveCount(0);
  await page.getByLabel('Joint', { exact: true }).selectOption('nose');
  await page.locator('body').press('m');
  for (let i = 0; i < 8; i++) await page.keyboard.press('Shift+ArrowUp');
  await settled(page);
  const placed = await middle(handle(page, 'nose'));
  await goTo(page, 'Take');
  const detector = page.getByText(/^movenet-/);
  await expect(detector).toHaveText(/thunder/);
  await readTake(page, 'quick');
  await expect(detector).toHaveText(/lightning/);
  await goTo(page, 'Tracks');
  await expect(corrections(page)).toHaveCount(1);
  const after = await middle(handle(page, 'nose'));
  expect(Math.hypot(after.x - placed.x, after.y - placed.y)).toBeLessThan(3);
});

test('a drag on a take of twenty seconds is followed within a tenth of a second', async ({ page }) => {
  const sightings = makeSightings({
    timesSec: evenTimes(600, 30),
    noisePx: 1.5,
    joints: { rightWrist: pendulum(430, 300, 60, 1.6), leftWrist: pendulum(530, 290, 40, 2.3) },
  });
  await openApp(page);
  await openReading(page, 'long', sightings);
  await goTo(page, 'Tracks');
  await page.getByLabel('Joint', { exact: true }).selectOption('rightWrist');
  const from = await middle(handle(page));
  await page.mouse.move(from.x, from.y);
  await page.mouse.down();
  await page.mouse.move(from.x + 10, from.y);
  const before = await drawnPath(page);
  const { ms, words } = await paced(page, 12, (i) =>
    page.evaluate(
      ([x, y]) => {
        const held = document.querySelector<HTMLElement>('button[data-joint="rightWrist"]')!;
        const start = performance.now();
        held.dispatchEvent(new PointerEvent('pointermove', { clientX: x!, clientY: y!, pointerId: 1, bubbles: true }));
        // Everything that follows from a move is computed and drawn before the next microtask.
        return new Promise<number>((resolve) => queueMicrotask(() => resolve(performance.now() - start)));
      },
      [from.x + 12 + i, from.y - i],
    ),
  );
  expect(await drawnPath(page)).not.toBe(before);
  await page.mouse.up();
  console.log(`a move of the hand: ${words}`);
  expect(ms).toBeLessThan(100);
});

test('whom to follow is pointed out on the picture', async ({ page }) => {
  await openApp(page);
  await openKept(page, 'two_people');
  await goTo(page, 'Tracks');
  await page.getByRole('button', { name: 'Point out whom to follow…' }).click();
  const pointer = page.getByRole('button', { name: /^Point out whom to follow: click/ });
  await expect(pointer).toBeFocused();
  await page.keyboard.press('Shift+ArrowLeft');
  await page.keyboard.press('Enter');
  await expect(pointer).toHaveCount(0);
  await expect(page.getByRole('button', { name: /^performer pointed out, frame \d+$/ })).toBeVisible();
  await page.getByRole('button', { name: 'Read again to follow them' }).click();
  await expect(page.getByRole('button', { name: 'Read again' })).toBeVisible();
});
