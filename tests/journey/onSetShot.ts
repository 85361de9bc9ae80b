import { expect, type Page } from '@playwright/test';
import type { Joint } from '../../src/base/joints.ts';
import { evenTimes, hold, type MadeMovement, makeSightings, minimumJerk, standing } from '../make.ts';
import { goTo, openApp, openReading } from './open.ts';

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
/** Its parts that move, and the pelvis. */
export const parts: readonly Joint[] = [...(Object.keys(moving) as (keyof typeof moving)[]), 'pelvis'];

/** Somebody who reaches up and comes back, beside a set, on twos; the book is on the screen at the set afterwards. */
export async function openOnSet(page: Page): Promise<void> {
  await openApp(page);
  const timesSec = evenTimes(90, 30);
  const sightings = makeSightings({ timesSec, body: hold(400, 280), joints: moving, noisePx: 0.3 });
  await openReading(page, 'reach', sightings, { sheetJoints: parts });
  await goTo(page, 'On set');
  await expect(page.getByTestId('exposure')).toHaveText('1');
}

/** The number of the exposure that is to be shot, and how many are. */
export const exposure = (page: Page) => page.getByTestId('exposure');
export const shotCount = (page: Page) => page.getByTestId('shot-count');

/** Mean luminance of what is on the screen, 0..1: of light (sRGB, IEC 61966-2-1; WCAG's weights), and of the code values. */
export async function luminance(page: Page): Promise<{ light: number; code: number }> {
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
