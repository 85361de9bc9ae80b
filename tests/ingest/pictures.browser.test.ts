import { afterEach, describe, expect, it } from 'vitest';
import { openTake } from '../../src/ingest/openTake.ts';
import { TakePictures } from '../../src/ingest/pictures.ts';
import { clipFile, numberOfPatches } from './corpus.ts';

let shown: TakePictures | null = null;
afterEach(() => shown?.close());

async function show(name: string, bytes = 160e6): Promise<TakePictures> {
  const file = await clipFile(name);
  const outcome = await openTake(file);
  if (!outcome.ok) throw new Error(outcome.failure.sentence);
  for await (const picture of outcome.value.pictures()) picture.close();
  const { footage } = outcome.value.settle();
  outcome.value.close();
  shown = new TakePictures(file, footage, { longestSidePx: 320, bytes });
  return shown;
}

/** The number painted into a bitmap (see `numberIn`). */
function numberOn(bitmap: ImageBitmap | null): number {
  if (!bitmap) return -2;
  const canvas = new OffscreenCanvas(bitmap.width, bitmap.height);
  const context = canvas.getContext('2d');
  if (!context) throw new Error('no canvas');
  context.drawImage(bitmap, 0, 0);
  const at = (i: number) =>
    context.getImageData(((i % 4) + 0.5) * (bitmap.width / 8), (Math.floor(i / 4) + 0.5) * (bitmap.height / 8), 1, 1)
      .data[0]!;
  return numberOfPatches(Array.from({ length: 16 }, (_, i) => at(i)));
}

describe('TakePictures', () => {
  it('shows the exact picture, whichever way the user goes', async () => {
    const pictures = await show('h264_faststart_bf3.mp4');
    for (const index of [0, 1, 2, 45, 44, 43, 12, 89, 60, 61, 30, 0]) {
      const bitmap = await pictures.picture(index);
      expect(numberOn(bitmap), `picture ${index}`).toBe(index);
      expect([bitmap?.width, bitmap?.height]).toEqual([320, 180]);
    }
  });

  it('shows the exact picture where a packet holds none, and where stored times are wrong', async () => {
    const without = await show('nopicture_av1.webm');
    // From 15 on, the numbers painted are one ahead: number 15 was never stored.
    for (const index of [14, 15, 20, 40]) {
      expect(numberOn(await without.picture(index)), `picture ${index}`).toBe(index < 15 ? index : index + 1);
    }
    without.close();
    const swapped = await show('no_ctts_bframes.mp4');
    for (const index of [16, 17, 18, 47, 46]) expect(numberOn(await swapped.picture(index))).toBe(index);
  });

  it('shows nothing for damaged pictures, and the right ones after them', async () => {
    const pictures = await show('damaged_p.mp4');
    expect(await pictures.picture(15)).toBeNull();
    expect(numberOn(await pictures.picture(31))).toBe(31);
    expect(numberOn(await pictures.picture(5))).toBe(5);
  });

  it('keeps a few pictures only, all of them right', async () => {
    const pictures = await show('h264_cfr60.mp4', 10 * 4 * 320 * 180);
    for (let index = 0; index < 120; index += 7) expect(numberOn(await pictures.picture(index))).toBe(index);
    const atHand = Array.from({ length: 120 }, (_, i) => pictures.atHand(i)).filter((b) => b !== undefined);
    expect(atHand.length).toBeLessThanOrEqual(10);
  });

  it('fetches ahead of the user', async () => {
    const pictures = await show('h264_cfr30.mp4');
    const ahead = new Promise<void>((resolve) => {
      pictures.listen((index) => {
        if (index === 20) resolve();
      });
    });
    await pictures.picture(10);
    await ahead;
    expect(numberOn(pictures.atHand(20) ?? null)).toBe(20);
  });

  it('makes thumbnails in the order asked for', async () => {
    const pictures = await show('rot90.mov');
    const made = await pictures.thumbnails([20, 3, 11], 128);
    expect(made.map((b) => [b?.width, b?.height])).toEqual([
      [72, 128],
      [72, 128],
      [72, 128],
    ]);
    expect(made.map(numberOn)).toEqual([20, 3, 11]);
    for (const bitmap of made) bitmap?.close();
  });

  it('answers everyone when it is closed', async () => {
    const pictures = await show('h264_4k60.mp4');
    const waiting = pictures.picture(25);
    pictures.close();
    expect(await waiting).toBeNull();
  });
});
