import { assert } from '../../base/assert.ts';
import type { PictureStep } from '../../compare/cameraEvents.ts';
import { measurePictureSteps, type PuppetBox, puppetBox, type SmallPicture } from '../../compare/pictureSteps.ts';
import type { Motion } from '../../track/motion.ts';
import type { TakeOnScreen } from '../takeOnScreen.ts';

/** Pictures are looked at this high: a hundredth of a pixel of it is well below what a bump is. */
const heightPx = 200;
/** So many are fetched in one go. */
const atOnce = 24;

/**
 * How each picture of a shot differs from the one before as a whole, or from the last one that could be opened: camera and light. NaN where
 * it could not be opened itself. The page stays awake between pictures.
 * @param motion where the puppet is in each picture; null = not known.
 * @param known what the first pictures are known to differ by already; empty = nothing.
 * @param signal stops it: then what was measured so far is thrown away and null returned.
 */
export async function measureSteps(
  { pictures, footage }: TakeOnScreen,
  motion: Motion | null,
  known: readonly PictureStep[],
  signal: AbortSignal,
): Promise<readonly PictureStep[] | null> {
  const n = footage.timesSec.length;
  // The last known one that could be opened is looked at again: the next is held against it.
  const begin = Math.max(0, known.findLastIndex(isOpened));
  const scale = footage.heightPx / heightPx;
  const steps: PictureStep[] = [...known];
  let before: SmallPicture | null = null;
  for (let from = begin; from < n; from += atOnce) {
    const indices = Array.from({ length: Math.min(atOnce, n - from) }, (_, i) => from + i);
    const bitmaps = await pictures.thumbnails(indices, heightPx);
    for (const [i, bitmap] of bitmaps.entries()) {
      if (signal.aborted) return null;
      const now = bitmap && smallPicture(bitmap, motion && puppetBox(motion, from + i, scale));
      bitmap?.close();
      if (from + i >= known.length)
        steps.push(stepTo(before, now, scale, steps.findLast(isOpened)?.brightness ?? Number.NaN));
      before = now ?? before;
      // Each takes some milliseconds: input goes before.
      await new Promise((resolve) => setTimeout(resolve));
    }
  }
  return steps;
}

/** A picture that is damaged has no brightness. */
function isOpened({ brightness }: PictureStep): boolean {
  return !Number.isNaN(brightness);
}

function stepTo(before: SmallPicture | null, now: SmallPicture | null, scale: number, brightness: number): PictureStep {
  if (!now) return { shiftXPx: Number.NaN, shiftYPx: Number.NaN, brightness: Number.NaN };
  if (!before) return measurePictureSteps([now], scale)[0]!;
  const [first, second] = measurePictureSteps([before, now], scale);
  // The brightness is carried on by ratios, as if all had been measured in a row.
  return {
    ...second!,
    brightness: Number.isNaN(brightness) ? second!.brightness : (brightness * second!.brightness) / first!.brightness,
  };
}

function smallPicture(bitmap: ImageBitmap, puppet: PuppetBox | null): SmallPicture {
  const { width, height } = bitmap;
  const g = new OffscreenCanvas(width, height).getContext('2d', { willReadFrequently: true });
  assert(g, 'no canvas');
  g.drawImage(bitmap, 0, 0);
  const { data } = g.getImageData(0, 0, width, height);
  const luma = new Float32Array(width * height);
  // Rec. 709, as video has it.
  for (let i = 0; i < luma.length; i++)
    luma[i] = 0.2126 * data[4 * i]! + 0.7152 * data[4 * i + 1]! + 0.0722 * data[4 * i + 2]!;
  return { luma, widthPx: width, heightPx: height, puppet };
}
