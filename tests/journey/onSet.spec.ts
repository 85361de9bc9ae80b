import AxeBuilder from '@axe-core/playwright';
import { expect, type Page, test } from '@playwright/test';
import type { Joint } from '../../src/base/joints.ts';
import { bigHeadedPuppet } from '../../src/puppet/builtIn.ts';
import { evenTimes, hold, type MadeMovement, makeSightings, minimumJerk, standing } from '../make.ts';
import { keptSightings } from '../track/keptSightings.ts';
import { goTo, openApp, openReading, settled } from './open.ts';

/** A joint that goes over by so many pixels and comes back, without pictures. */
function overAndBack(joint: keyof typeof standing, dx: number, dy: number): MadeMovement {
  const [x0, y0] = standing[joint];
  const over = minimumJerk([0, 0], [1, 0], 0.5, 1.1);
  const back = minimumJerk([0, 0], [1, 0], 1.6, 2.2);
  return (sec) => {
    const [a, b] = [over(sec), back(sec)];
    const [u, v] = [a.x - b.x, a.vx - b.vx];
    return { x: 400 + x0 + dx * u, y: 280 + y0 + dy * u, vx: dx * v, vy: dy * v };
  };
}

const moving = {
  nose: overAndBack('nose', 30, 4),
  leftElbow: overAndBack('leftElbow', 40, -20),
  leftWrist: overAndBack('leftWrist', 50, -90),
  rightElbow: overAndBack('rightElbow', -30, -26),
  rightWrist: overAndBack('rightWrist', -44, -104),
  leftShoulder: overAndBack('leftShoulder', 16, 5),
  rightShoulder: overAndBack('rightShoulder', 16, 7),
};
const parts: readonly Joint[] = [...(Object.keys(moving) as (keyof typeof moving)[]), 'pelvis'];

/** Somebody who reaches up and comes back, beside a set, on twos; the book is on the screen at the set afterwards. */
async function openOnSet(page: Page): Promise<void> {
  await openApp(page);
  const timesSec = evenTimes(90, 30);
  const sightings = makeSightings({ timesSec, body: hold(400, 280), joints: moving, noisePx: 0.3 });
  await openReading(page, 'reach', sightings, { sheetJoints: parts });
  await goTo(page, 'On set');
  await expect(page.getByTestId('exposure')).toHaveText('1');
}

const exposure = (page: Page) => page.getByTestId('exposure');
const shotCount = (page: Page) => page.getByTestId('shot-count');

/** Mean luminance of what is on the screen, 0..1: of light (sRGB, IEC 61966-2-1; WCAG's weights), and of the code values. */
async function luminance(page: Page): Promise<{ light: number; code: number }> {
  const png = (await page.screenshot()).toString('base64');
  // Beside the app, whose policy would not let it be read: an empty page of the browser's own.
  const beside = await page.context().newPage();
  const mean = await beside.evaluate(async (base64) => {
    const bytes = Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
    const bitmap = await createImageBitmap(new Blob([bytes], { type: 'image/png' }));
    const canvas = new OffscreenCanvas(bitmap.width, bitmap.height);
    const ctx = canvas.getContext('2d')!;
    ctx.drawImage(bitmap, 0, 0);
    const { data } = ctx.getImageData(0, 0, bitmap.width, bitmap.height);
    const linear = (v: number) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    const weights = [0.2126, 0.7152, 0.0722];
    let [light, code] = [0, 0];
    for (let i = 0; i < data.length; i += 4) {
      for (const [c, w] of weights.entries()) {
        const value = data[i + c]! / 255;
        light += w * linear(value);
        code += w * value;
      }
    }
    return { light: (4 * light) / data.length, code: (4 * code) / data.length };
  }, png);
  await beside.close();
  return mean;
}

/** Height of the digits of every number that matters, by what it is, CSS pixels: from the font's own shapes, the lowest digit. */
async function digitHeightsPx(page: Page): Promise<Record<string, number>> {
  await page.evaluate(() => document.fonts.ready);
  return page.evaluate(() => {
    const ctx = new OffscreenCanvas(1, 1).getContext('2d')!;
    const found = [...document.querySelectorAll<HTMLElement>('[data-testid]')].filter((e) =>
      ['exposure', 'frames', 'stays', 'held', 'ahead', 'mm', 'deg'].includes(e.dataset.testid!),
    );
    return Object.fromEntries(
      found.map((element) => {
        const { fontWeight, fontSize, fontFamily } = getComputedStyle(element);
        // Measured large, since the canvas gives whole pixels.
        ctx.font = `${fontWeight} 2000px ${fontFamily}`;
        const heights = [...'0123456789'].map((digit) => ctx.measureText(digit).actualBoundingBoxAscent);
        return [element.dataset.testid!, (Math.min(...heights) * Number.parseFloat(fontSize)) / 2000];
      }),
    );
  });
}

/** Numbers and words that stick out of the part of the screen they are in, or lie over another number. */
async function misplaced(page: Page): Promise<string[]> {
  return page.evaluate(() => {
    const boxes = [...document.querySelectorAll<HTMLElement>('main p, main strong, main button')]
      .filter((e) => e.textContent?.trim())
      .map((element) => {
        const range = document.createRange();
        range.selectNodeContents(element);
        const { left, right, top, bottom, height } = range.getBoundingClientRect();
        // Lines of digits are laid closer than their boxes: above and below the digits a fifth is empty.
        const trim = element.matches('[data-testid], .still') ? height / 5 : 0;
        return { words: element.textContent!.trim(), left, right, top: top + trim, bottom: bottom - trim, element };
      });
    const out = boxes.flatMap(({ words, element, ...is }) => {
      const part = element.closest('section, footer, main')!.getBoundingClientRect();
      const fits =
        is.left >= part.left && is.right <= part.right + 1 && is.top >= part.top - 1 && is.bottom <= part.bottom + 1;
      return fits ? [] : [`sticks out: ${words}`];
    });
    const numbers = boxes.filter((b) => b.element.dataset.testid);
    const over = numbers.flatMap((a, i) =>
      numbers.slice(i + 1).flatMap((b) => {
        const meet = a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
        return meet && !a.element.contains(b.element) ? [`${a.words} over ${b.words}`] : [];
      }),
    );
    return [...out, ...over];
  });
}

test('the screen at the set is dark, never bright for a moment, and its digits are 15 mm high', async ({ page }) => {
  await openOnSet(page);
  const count = Number((await shotCount(page).textContent())!.match(/of (\d+)/)![1]);
  const most = { light: 0, code: 0 };
  const kinds = new Set<string>();
  const moves: number[] = [];
  const look = async () => {
    const now = await luminance(page);
    most.light = Math.max(most.light, now.light);
    most.code = Math.max(most.code, now.code);
    expect(await misplaced(page), `${await page.evaluate(() => innerWidth)} wide`).toEqual([]);
  };
  // A screen of 13 inches, 280 × 175 mm, and one of 24 inches, 518 × 324 mm.
  const screens = [
    { width: 1440, height: 900, widthMm: 280 },
    { width: 1920, height: 1200, widthMm: 518 },
    { width: 1024, height: 768, widthMm: null },
  ] as const;
  for (const { width, height, widthMm } of screens) {
    await page.setViewportSize({ width, height });
    for (let number = 1; number <= count; number += number === 1 ? 2 : 5) {
      await page.locator('main').press('j');
      await page.keyboard.type(`${number}`);
      await page.keyboard.press('Enter');
      await expect(exposure(page)).toHaveText(`${number}`);
      await look();
      moves.push(await page.getByTestId('mm').count());
      for (const [kind, px] of Object.entries(await digitHeightsPx(page))) {
        kinds.add(kind);
        if (widthMm === null) continue;
        const mm = px * (widthMm / width);
        expect(mm, `${kind} at ${width}`).toBeGreaterThanOrEqual(15);
      }
    }
  }
  // The fullest screen there is was among them.
  expect(Math.max(...moves)).toBe(6);
  expect([...kinds].sort()).toEqual(['ahead', 'deg', 'exposure', 'frames', 'held', 'mm', 'stays']);
  await page.locator('main').press('r');
  await look();
  await page.locator('main').press('r');
  await page.locator('main').press('l');
  await look();
  await page.locator('main').press('?');
  await look();
  await page.keyboard.press('Escape');
  expect(most.light).toBeLessThan(0.05);
  expect(most.code).toBeLessThan(0.05);
  // Nothing moves by itself.
  expect(await page.evaluate(() => document.getAnimations().length)).toBe(0);
  const { violations } = await new AxeBuilder({ page }).analyze();
  expect(violations.filter((v) => v.impact === 'serious' || v.impact === 'critical').map((v) => v.id)).toEqual([]);

  // Coming back after a crash: dark before any of the program is there, although the desk is light.
  await page.emulateMedia({ colorScheme: 'light' });
  await page.route(/\.js$/, (route) => route.abort());
  await page.reload();
  expect((await luminance(page)).light).toBeLessThan(0.05);
  await page.unroute(/\.js$/);
  await page.reload();
  await settled(page);
  expect((await luminance(page)).light).toBeLessThan(0.05);
  // Whoever leaves is not met by a white screen either.
  await page.locator('main').press('Escape');
  await page.locator('main').press('Escape');
  await expect(page.getByRole('navigation', { name: 'Screens' })).toBeVisible();
  expect((await luminance(page)).light).toBeLessThan(0.2);
});

/** Where everything stands, in every exposure of the shot: by what it is, all the places it was found at, CSS pixels. */
async function placesInAllExposures(page: Page): Promise<Record<string, number[]>> {
  return page.evaluate(async () => {
    const found: Record<string, Set<number>> = {};
    const note = (what: string, px: number) => {
      found[what] ??= new Set();
      found[what].add(Math.round(px));
    };
    const field = document.querySelector<HTMLInputElement>('#jump-to-exposure')!;
    for (let number = 1; number <= Number(field.max); number++) {
      field.value = `${number}`;
      field.form!.requestSubmit();
      await new Promise(requestAnimationFrame);
      const ids = ['exposure', 'frames', 'stays', 'held', 'ahead'].map((id) => `[data-testid=${id}]`);
      for (const what of [...ids, '.mark', '.notes', '.rest', '.state', '.buttons'])
        for (const element of document.querySelectorAll(`main ${what}`)) {
          const { left, top } = element.getBoundingClientRect();
          note(`${what} left`, left);
          note(`${what} top`, top);
        }
      for (const [i, line] of document.querySelectorAll('main .notes .words').entries())
        note(`line ${i} of the notes`, line.getBoundingClientRect().top);
      for (const [i, move] of document.querySelectorAll('main ol li:not(.kept, .none)').entries()) {
        note(`move ${i}`, move.getBoundingClientRect().top);
        for (const [k, part] of [...move.children].entries()) {
          // Digits end where they always do, all else begins there.
          const { left, right } = part.getBoundingClientRect();
          note(`part ${k} of a move`, part.matches('.digits') ? right : left);
        }
      }
    }
    return Object.fromEntries(Object.entries(found).map(([what, px]) => [what, [...px]]));
  });
}

test('what comes on and goes again moves nothing, and the fullest screen, stepping on by pictures, is dark, too', async ({
  page,
}) => {
  await page.addInitScript(() => {
    Object.assign(window, {
      showDirectoryPicker: async () =>
        (await navigator.storage.getDirectory()).getDirectoryHandle('lamp shot', { create: true }),
    });
  });
  await openApp(page);
  const sheetJoints: readonly Joint[] = [...parts, 'neck', 'leftKnee', 'rightKnee', 'leftAnkle', 'rightAnkle'];
  const action = 'eyes first, then the head; the can stays level, the coat hangs, and nobody leans on the table again';
  const frameNotes = new Map(
    Array.from({ length: 34 }, (_, i) => [5 * i, { action, dialogue: '', camera: '' }] as const),
  );
  await openReading(page, 'keeper', keptSightings('keeper'), { sheetJoints, puppet: bigHeadedPuppet, frameNotes });
  await goTo(page, 'On set');
  const tops = () =>
    page.evaluate(() =>
      ['[data-testid=exposure]', '[data-testid=frames]', '[data-testid=stays]', '.state', '.buttons'].map((what) =>
        Math.round(document.querySelector(what)!.getBoundingClientRect().top),
      ),
    );
  for (const [width, height] of [
    [1440, 900],
    [1024, 768],
  ] as const) {
    await page.setViewportSize({ width, height });
    const places = await placesInAllExposures(page);
    expect(Object.keys(places)).toEqual(expect.arrayContaining(['move 5', 'part 5 of a move', 'line 3 of the notes']));
    expect(Object.entries(places).filter(([, px]) => px.length > 1)).toEqual([]);
    const before = await tops();
    await page.locator('main').press('p');
    // An amber button comes into the line of what stands.
    const watch = page.getByRole('button', { name: 'Watch the camera’s folder…' });
    if (width === 1440) await expect(watch).toBeVisible();
    expect(await tops()).toEqual(before);
    if (width === 1440) await watch.click();
    const cautions = new Set<boolean>();
    let fullest = 0;
    // Beside it a tie-down is named, or not yet.
    for (let number = 55; number <= 73; number += 3) {
      await page.locator('main').press('j');
      await page.keyboard.type(`${number}`);
      await page.keyboard.press('Enter');
      await expect(exposure(page)).toHaveText(`${number}`);
      expect(await tops(), `exposure ${number}, ${width} wide`).toEqual(before);
      expect(await misplaced(page)).toEqual([]);
      cautions.add(await page.getByText(/^Rigs and wires hang under load/).isVisible());
      fullest = Math.max(fullest, await page.getByTestId('mm').count());
      const { light, code } = await luminance(page);
      expect(light).toBeLessThan(0.03);
      expect(code).toBeLessThan(0.05);
    }
    expect([fullest, cautions.size]).toEqual([6, 2]);
    await page.locator('main').press('p');
    expect(await tops()).toEqual(before);
  }
  // What finds no room is counted, and is there in full.
  await page.locator('main').press('j');
  await page.keyboard.type('1');
  await page.keyboard.press('Enter');
  await expect(page.locator('.notes').getByText(action)).toHaveCount(0);
  await page.getByRole('button', { name: /^and 1 more/ }).click();
  const all = page.getByRole('region', { name: 'Every note of this exposure' });
  await expect(all.getByText(action)).toBeVisible();
  await page.locator('main').press('n');
  await expect(all).toHaveCount(0);
  await page.locator('main').press('n');
  await page.locator('main').press('Escape');
  await expect(all).toHaveCount(0);
  await expect(page.getByTestId('exposure')).toHaveText('1');
});

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
