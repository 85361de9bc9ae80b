import { expect, type Page, test } from '@playwright/test';
import { exposure, luminance, openOnSet, shotCount } from './onSetShot.ts';
import { goTo, settled } from './open.ts';

/** A key at a moment of one's own clock, so long after the page was there, milliseconds: presses need not wait for one another. */
async function pressAt(page: Page, key: string, afterMs: number): Promise<void> {
  await page.evaluate(
    ([pressed, atMs]) => {
      const event = new KeyboardEvent('keydown', { key: pressed, bubbles: true, cancelable: true });
      Object.defineProperty(event, 'timeStamp', { value: 1e7 + atMs });
      document.body.dispatchEvent(event);
    },
    [key, afterMs] as const,
  );
}

/** Presses a key and takes the page away in the same breath, before anything that waits its turn is done. */
async function pressAndReload(page: Page, key: string): Promise<void> {
  const loaded = page.waitForEvent('load');
  await page.evaluate((pressed) => {
    document.body.dispatchEvent(new KeyboardEvent('keydown', { key: pressed, bubbles: true, cancelable: true }));
    location.reload();
  }, key);
  await loaded;
  await settled(page);
}

test('a reload in the middle of anything loses nothing, and a day later the place is the same', async ({ page }) => {
  await openOnSet(page);
  const state = async () => [await exposure(page).textContent(), (await shotCount(page).textContent())!.split(' ')[0]];
  for (const key of [' ', 'PageDown', 'Enter', 'ArrowRight']) await pressAndReload(page, key);
  expect(await state()).toEqual(['5', '4']);
  // Looking back changes no mark, and going on again marks nothing anew.
  await pressAndReload(page, 'PageUp');
  await pressAndReload(page, 'ArrowLeft');
  expect(await state()).toEqual(['3', '4']);
  await expect(page.getByText(/✓ shot/)).toBeVisible();
  await pressAndReload(page, ' ');
  expect(await state()).toEqual(['4', '4']);
  // The last mark is taken away, wherever one looks.
  await pressAndReload(page, 'Backspace');
  expect(await state()).toEqual(['4', '3']);

  const loaded = page.waitForEvent('load');
  await page.evaluate(() => {
    const field = document.querySelector<HTMLInputElement>('#jump-to-exposure')!;
    field.value = '17';
    field.form!.requestSubmit();
    location.reload();
  });
  await loaded;
  await settled(page);
  expect(await state()).toEqual(['17', '3']);

  const pressed = (name: string) => page.getByRole('button', { name, exact: true, pressed: true });
  await pressAndReload(page, 's');
  await expect(pressed('Speak')).toBeVisible();
  await pressAndReload(page, 'r');
  await expect(pressed('Rehearse')).toBeVisible();
  await page.getByRole('button', { name: 'every frame' }).click();
  await pressAndReload(page, ' ');
  await expect(pressed('every frame')).toBeVisible();
  // In a rehearsal the one key plays, and marks nothing.
  await pressAndReload(page, 'r');
  await pressAndReload(page, 's');
  await expect(pressed('Speak')).toHaveCount(0);
  expect(await state()).toEqual(['17', '3']);

  // A key that is held down is pressed once, and a remote's other buttons change nothing.
  await page.evaluate(() => {
    for (const [key, repeat] of [
      [' ', false],
      [' ', true],
      [' ', true],
      ['.', false],
      [',', false],
      ['k', false],
      ['Delete', false],
    ] as const)
      document.body.dispatchEvent(new KeyboardEvent('keydown', { key, repeat, bubbles: true, cancelable: true }));
  });
  expect(await state()).toEqual(['18', '4']);

  await settled(page);
  const { context, url } = { context: page.context(), url: page.url() };
  await page.close();
  const later = await context.newPage();
  await later.goto(url);
  await settled(later);
  await expect(exposure(later)).toHaveText('18');
  await expect(shotCount(later)).toHaveText(/^4 of/);
  await later.locator('main').press('Escape');
  await expect(later.getByRole('button', { name: 'Undo', exact: true })).toBeDisabled();
  await later.reload();
  await settled(later);
  // Left on purpose: the app begins elsewhere, with the place kept.
  await expect(later.getByRole('navigation', { name: 'Screens' })).toBeVisible();
  await goTo(later, 'On set');
  await expect(exposure(later)).toHaveText('18');
});

test('whoever comes back presses no key in vain: nothing is idle before the shelf was looked at', async ({ page }) => {
  await openOnSet(page);
  await page.addInitScript(() => {
    let idle: Window['whenIdle'];
    Object.defineProperty(window, 'whenIdle', {
      get: () => idle,
      set: (whenIdle: () => Promise<void>) => {
        idle = whenIdle;
        // Asked as early as can be: once the program has begun.
        setTimeout(async () => {
          await whenIdle();
          const shown = document.querySelector('[data-testid=exposure]')?.textContent;
          document.documentElement.dataset.shownWhenIdle = shown ?? 'nothing';
        });
      },
    });
  });
  await page.reload();
  await expect(page.locator('html')).toHaveAttribute('data-shown-when-idle', '1');
});

test('a pedal that bounces marks one exposure, and the screen can be made darker for good', async ({ page }) => {
  await openOnSet(page);
  const state = async () => [await exposure(page).textContent(), (await shotCount(page).textContent())!.split(' ')[0]];
  for (const [key, ms] of [
    [' ', 0],
    [' ', 15],
    // Some send two keys for one press.
    ['PageDown', 60],
    [' ', 180],
  ] as const)
    await pressAt(page, key, ms);
  expect(await state()).toEqual(['2', '1']);
  await pressAt(page, ' ', 400);
  expect(await state()).toEqual(['3', '2']);
  // Nor does it take away two marks.
  await pressAt(page, 'Backspace', 900);
  await pressAt(page, 'Backspace', 950);
  expect(await state()).toEqual(['2', '1']);

  const darker = page.getByRole('button', { name: 'Darker' });
  const brighter = page.getByRole('button', { name: 'Brighter' });
  await expect(brighter).toBeDisabled();
  const bright = await luminance(page);
  await page.locator('main').press('-');
  const dim = await luminance(page);
  expect(dim.code).toBeLessThan(0.92 * bright.code);
  for (let i = 0; i < 2; i++) await darker.click();
  await expect(darker).toBeDisabled();
  const darkest = await luminance(page);
  expect(darkest.code).toBeLessThan(0.7 * bright.code);
  await page.reload();
  await settled(page);
  await expect(darker).toBeDisabled();
  expect((await luminance(page)).code).toBeCloseTo(darkest.code, 3);
  // Never brighter than the brightest, which is below 5 %.
  for (let i = 0; i < 5; i++) await page.locator('main').press('+');
  expect((await luminance(page)).code).toBeCloseTo(bright.code, 3);
  expect(bright.code).toBeLessThan(0.05);
});

test('what was shot before the shot was retimed does not count as shot, and says so', async ({ page }) => {
  await openOnSet(page);
  const all = (await shotCount(page).textContent())!.match(/of (\d+)/)![1]!;
  for (let i = 0; i < Number(all); i++) {
    await expect(exposure(page)).toHaveText(`${i + 1}`);
    await pressAt(page, ' ', 1000 * i);
  }
  await expect(page.getByText('All exposures are shot.')).toBeVisible();
  await page.locator('main').press('Escape');
  await goTo(page, 'Timing');
  // The second key falls two frames later, and everything behind it with it.
  await page.locator('body').press('Home');
  await page.locator('body').press('ArrowDown');
  for (let i = 0; i < 2; i++) await page.locator('body').press('.');
  await settled(page);
  await goTo(page, 'On set');
  const differing = page.getByRole('button', { name: /not as planned any more/ });
  await expect(differing).toBeVisible();
  const shotNow = Number((await shotCount(page).textContent())!.split(' ')[0]);
  expect(shotNow).toBeGreaterThan(0);
  expect(shotNow).toBeLessThan(Number(all));
  await differing.click();
  await expect(page.getByText('! another pose stands here now').first()).toBeVisible();
  await page.locator('main').press('l');
  // Undone, everything fits again: the log itself was never changed.
  await page.locator('main').press('Escape');
  for (let i = 0; i < 2; i++) await page.locator('body').press('Control+z');
  await settled(page);
  await goTo(page, 'On set');
  await expect(shotCount(page)).toHaveText(`${all} of ${all} shot`);
  await expect(differing).toHaveCount(0);
});

interface Heard {
  said: string[];
  clicks: { atSec: number; hertz: number }[];
  locks: number;
  let: () => void;
}
declare global {
  interface Window {
    heard: Heard;
  }
}

test('the next move is spoken by this machine’s own voice, the rehearsal clicks in time, and the screen stays on', async ({
  page,
}) => {
  await page.addInitScript(() => {
    const heard: Heard = { said: [], clicks: [], locks: 0, let: () => {} };
    window.heard = heard;
    class Words {
      voice: { name: string } | null = null;
      lang = '';
      constructor(readonly text: string) {}
    }
    Object.assign(window, { SpeechSynthesisUtterance: Words });
    Object.defineProperty(window, 'speechSynthesis', {
      value: {
        // A voice that would send the words away comes first.
        getVoices: () => [
          { name: 'far', lang: 'en-GB', localService: false },
          { name: 'own', lang: 'en-GB', localService: true },
        ],
        speak: (words: Words) => heard.said.push(`${words.voice?.name}: ${words.text}`),
        cancel: () => {},
      },
    });
    const { start } = OscillatorNode.prototype;
    OscillatorNode.prototype.start = function (atSec = 0) {
      heard.clicks.push({ atSec, hertz: this.frequency.value });
      start.call(this, atSec);
    };
    Object.defineProperty(navigator, 'wakeLock', {
      value: {
        request: async () => {
          heard.locks++;
          const lock = new EventTarget();
          heard.let = () => lock.dispatchEvent(new Event('release'));
          return Object.assign(lock, { release: async () => {} });
        },
      },
    });
  });
  await openOnSet(page);
  await expect.poll(() => page.evaluate(() => window.heard.locks)).toBe(1);
  await expect(page.getByText('screen may go dark')).toHaveCount(0);
  // Another window was in front: the lock is gone, and is asked for again on coming back.
  await page.evaluate(() => window.heard.let());
  await expect(page.getByText('screen may go dark')).toBeVisible();
  await page.evaluate(() => document.dispatchEvent(new Event('visibilitychange')));
  await expect(page.getByText('screen may go dark')).toHaveCount(0);
  expect(await page.evaluate(() => window.heard.locks)).toBe(2);

  await page.locator('main').press('Space');
  expect(await page.evaluate(() => window.heard.said)).toEqual([]);
  await page.locator('main').press('s');
  await expect.poll(() => page.evaluate(() => window.heard.said.length)).toBe(1);
  for (let i = 0; i < 7; i++) await pressAt(page, ' ', 1000 * i);
  await expect.poll(() => page.evaluate(() => window.heard.said.length)).toBe(8);
  const said = await page.evaluate(() => window.heard.said);
  expect(said.every((s) => s.startsWith('own: Exposure '))).toBe(true);
  expect(said.at(-1)).toMatch(/^own: Exposure 9\..*(millimetres? to \d+ o'clock|Touch nothing)/);

  await page.locator('main').press('r');
  const poses = Number((await page.getByText(/^Pose \d+ of \d+$/).textContent())!.match(/of (\d+)/)![1]);
  await page.locator('main').press('Space');
  await expect.poll(() => page.evaluate(() => window.heard.clicks.length)).toBe(poses);
  const clicks = await page.evaluate(() => window.heard.clicks);
  // Every pose at the beginning of its frame at 24 frames a second, on the sound's clock; the first may be late.
  for (const [i, { atSec }] of clicks.entries()) {
    if (i < 2) continue;
    const frames = (atSec - clicks[1]!.atSec) * 24;
    expect(Math.abs(frames - Math.round(frames))).toBeLessThan(1e-6);
  }
  expect(new Set(clicks.map((c) => c.hertz)).size).toBe(1);
});
