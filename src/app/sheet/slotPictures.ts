import type { TakeOnScreen } from '../takeOnScreen.ts';

/** Height of a printed picture, pixels: about 200 dpi at the size of a pop-through slot. */
const heightPx = 360;

/**
 * The take's pictures at these take seconds as data addresses, for the slots of printed pages. Where a picture cannot be
 * had its time is missing from the map.
 */
export async function slotPictures(
  take: TakeOnScreen,
  pictureAt: (sec: number) => number,
  timesSec: readonly number[],
): Promise<ReadonlyMap<number, string>> {
  const times = [...new Set(timesSec)];
  const indices = [...new Set(times.map(pictureAt))];
  const bitmaps = await take.pictures.thumbnails(indices, heightPx);
  const byIndex = new Map(indices.map((index, i) => [index, bitmaps[i] ? asAddress(bitmaps[i]) : null]));
  for (const bitmap of bitmaps) bitmap?.close();
  return new Map(
    times.flatMap((sec) => {
      const address = byIndex.get(pictureAt(sec));
      return address ? [[sec, address] as const] : [];
    }),
  );
}

function asAddress(bitmap: ImageBitmap): string {
  const canvas = document.createElement('canvas');
  canvas.width = bitmap.width;
  canvas.height = bitmap.height;
  canvas.getContext('2d')?.drawImage(bitmap, 0, 0);
  return canvas.toDataURL('image/jpeg', 0.85);
}
