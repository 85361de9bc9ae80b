import AxeBuilder from '@axe-core/playwright';
import { expect, type Page, test } from '@playwright/test';
import type { Joint } from '../../src/base/joints.ts';
import { bigHeadedPuppet } from '../../src/puppet/builtIn.ts';
import { keptSightings } from '../track/keptSightings.ts';
import { exposure, luminance, openOnSet, parts, shotCount } from './onSetShot.ts';
import { goTo, openApp, openReading, settled } from './open.ts';
import { watchesLampShot } from './stills.ts';

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

test('nothing is shown before its letters are there, so that no number moves when they come', async ({ page }) => {
  await page.addInitScript(() => {
    new MutationObserver((_, watcher) => {
      if (!document.querySelector('#app')?.hasChildNodes()) return;
      watcher.disconnect();
      const faces = ['300 20px "Atkinson Hyperlegible Next"', '600 20px "Atkinson Hyperlegible Mono"'];
      document.documentElement.dataset.letters = `${faces.filter((face) => document.fonts.check(face)).length}`;
    }).observe(document, { childList: true, subtree: true });
  });
  const lettersAtFirst = () => page.evaluate(() => document.documentElement.dataset.letters);
  await openApp(page);
  expect(await lettersAtFirst()).toBe('2');
  // Where a font cannot be had, the app comes all the same.
  await page.route(/\.woff2?$/, (route) => route.abort());
  await page.reload();
  await settled(page);
  await expect(page.getByRole('button', { name: 'Read the take' })).toBeVisible();
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
  await watchesLampShot(page);
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
  const { light, code } = await luminance(page);
  expect(light).toBeLessThan(0.03);
  expect(code).toBeLessThan(0.05);
  await page.locator('main').press('n');
  await expect(all).toHaveCount(0);
  // Of two lists the one that was asked for last is shown.
  await page.locator('main').press('l');
  await page.locator('main').press('n');
  await expect(all).toBeVisible();
  await page.locator('main').press('Escape');
  await expect(all).toHaveCount(0);
  await expect(page.getByTestId('exposure')).toHaveText('1');
});
