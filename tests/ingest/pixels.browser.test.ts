import { describe, expect, it } from 'vitest';
import { openTake } from '../../src/ingest/openTake.ts';
import type { PixelWay } from '../../src/ingest/picture.ts';
import { clipFile } from './corpus.ts';

/** Samples a clip's first upright picture at half its size. */
async function firstPicture(name: string, pixelWay: PixelWay) {
  const outcome = await openTake(await clipFile(name), { pixelWay });
  if (!outcome.ok) throw new Error(outcome.failure.sentence);
  const take = outcome.value;
  const { widthPx, heightPx } = take.footage;
  const width = widthPx / 2;
  const height = heightPx / 2;
  const out = new Uint8ClampedArray(4 * width * height);
  for await (const picture of take.pictures()) {
    await picture.sample({ x: 0, y: 0, width: widthPx, height: heightPx }, width, height, out);
    picture.close();
    break;
  }
  take.close();
  /** The colour at fractions of the picture's width and height. */
  return (x: number, y: number) => {
    const at = 4 * (Math.floor(y * height) * width + Math.floor(x * width));
    return [...out.slice(at, at + 3)];
  };
}

/** The patches painted into every clip: where (fractions of the upright picture) and in which colour. */
const patches: readonly (readonly [string, number, number, readonly number[]])[] = [
  ['white', 0.5625, 0.0625, [255, 255, 255]],
  ['yellow', 0.6875, 0.0625, [255, 255, 0]],
  ['cyan', 0.8125, 0.0625, [0, 255, 255]],
  ['green', 0.9375, 0.0625, [0, 255, 0]],
  ['magenta', 0.5625, 0.1875, [255, 0, 255]],
  ['red', 0.6875, 0.1875, [255, 0, 0]],
  ['blue', 0.8125, 0.1875, [0, 0, 255]],
  ['grey', 0.9375, 0.1875, [128, 128, 128]],
  ['orange', 0.03, 0.54, [240, 120, 30]],
];

describe.each([
  ['planes', 6],
  // The browser also converts BT.709's transfer curve to the screen's, which shifts dark values a little.
  ['canvas', 14],
] as const)('pixels read by %s', (way, tolerance) => {
  it.each([
    'color_bt601_pc.mp4',
    'color_bt601_tv.mp4',
    'color_bt709_pc.mp4',
    'color_bt709_tv.mp4',
    'color_untagged_709.mp4',
    'h264_hi422p10.mp4',
    'vp9.webm',
    'rot90.mov',
    'rot180.mp4',
    'rot270.mov',
    'sar4x3.mp4',
    'mjpeg.mov',
  ])('%s has its colours at their upright places', async (name) => {
    const colourAt = await firstPicture(name, way);
    for (const [colour, x, y, rgb] of patches) {
      const seen = colourAt(x, y);
      const worst = Math.max(...rgb.map((value, c) => Math.abs(value - seen[c]!)));
      expect(worst, `${colour}: ${seen}`).toBeLessThanOrEqual(tolerance);
    }
  });
});
