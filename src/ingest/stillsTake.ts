import { assert } from '../base/assert.ts';
import type { FrameTable } from './frameTable.ts';
import { pictureStamped } from './frameTable.ts';
import { orderStills, stillsAmong } from './numberedStills.ts';
import type { OpenOptions, OpenTake } from './openTake.ts';
import { type Picture, pixelsOf, RgbaPicture } from './picture.ts';
import type { Upright } from './pixels.ts';
import { refuseNothingDecoded, refuseTooShort } from './refusals.ts';
import { type FootageBase, promisedFootage, settledFootage } from './settle.ts';
import { type StillSize, sizeFromHead } from './stillSize.ts';
import { WorldFailure } from './worldFailure.ts';

/** Stills are shrunk to this when decoded: no model sees more, and a 24-megapixel still would cost 96 MB. */
const longestSidePx = 1920;

/** Opens numbered stills as a take. @throws WorldFailure `stills-mixed`, `not-a-video`, `take-too-short`. */
export async function openStills(chosen: readonly File[], options: OpenOptions): Promise<OpenTake> {
  const rate = options.stillsRate ?? 24;
  assert(Number.isFinite(rate) && rate > 0, `stills at ${rate} pictures a second`);
  const pictures = stillsAmong(chosen);
  if (pictures.length === 0)
    throw new WorldFailure(
      'not-a-video',
      'Among the chosen files there is no JPEG, PNG or WebP picture. Choose one video, or the numbered stills of one take.',
    );
  const order = orderStills(pictures);
  if (order.files.length < 2) throw refuseTooShort(order.files.length);
  const size = await commonSize(order.files);
  const table: FrameTable = {
    stampsSec: Float64Array.from(order.files, (_, i) => i / rate),
    durationsSec: Float64Array.from(order.files, () => 1 / rate),
  };
  const base: FootageBase = {
    name: order.files[0]!.name,
    widthPx: size.widthPx,
    heightPx: size.heightPx,
    codec: 'stills',
    turnedDeg: size.turnedDeg,
    tickSec: 1e-6,
    notes: order.notes,
  };
  const upright: Upright = { turnedDeg: 0, flipped: false, widthPx: size.widthPx, heightPx: size.heightPx };
  const log = { decoded: new Uint8Array(order.files.length), damagedFrom: new Uint8Array(order.files.length) };
  return {
    footage: promisedFootage(base, table),
    pictures: (from = 0) => stillPictures(order.files, upright, log, from),
    settle() {
      if (!log.decoded.includes(1)) throw refuseNothingDecoded();
      return settledFootage(base, table, log);
    },
    trustDecoded: (count) => void log.decoded.fill(1, 0, count),
    placeOfStamp: (sec) => pictureStamped(table.stampsSec, sec, 1e-4),
    pixelWay: () => 'canvas',
    close() {},
  };
}

async function* stillPictures(
  files: readonly File[],
  upright: Upright,
  log: { readonly decoded: Uint8Array; readonly damagedFrom: Uint8Array },
  from: number,
): AsyncGenerator<Picture, void, undefined> {
  for (let index = from; index < files.length; index++) {
    const bitmap = await decodeStill(files[index]!);
    if (!bitmap) {
      log.damagedFrom[index] = 1;
      continue;
    }
    log.decoded[index] = 1;
    yield new RgbaPicture(index, pixelsOf(bitmap, longestSidePx), upright);
  }
}

/** Null for a damaged still. The bitmap comes upright: browsers apply the EXIF orientation. */
async function decodeStill(file: File): Promise<ImageBitmap | null> {
  try {
    return await createImageBitmap(file);
  } catch (error) {
    if (error instanceof DOMException && error.name === 'InvalidStateError') return null;
    throw error;
  }
}

/** The size that all stills share. Damaged ones are left to decoding. */
async function commonSize(files: readonly File[]): Promise<StillSize> {
  let first: { size: StillSize; name: string } | null = null;
  for (const file of files) {
    const size = await sizeOf(file);
    if (!size) continue;
    first ??= { size, name: file.name };
    if (size.widthPx !== first.size.widthPx || size.heightPx !== first.size.heightPx)
      throw new WorldFailure(
        'stills-mixed',
        `These stills are of different sizes: "${first.name}" has ${first.size.widthPx}×${first.size.heightPx} pixels, "${file.name}" ${size.widthPx}×${size.heightPx}. Choose the stills of one take only.`,
      );
  }
  if (!first) throw refuseNothingDecoded();
  return first.size;
}

async function sizeOf(file: File): Promise<StillSize | null> {
  const head = new Uint8Array(await file.slice(0, 262_144).arrayBuffer());
  const told = sizeFromHead(head);
  if (told) return told;
  const bitmap = await decodeStill(file);
  if (!bitmap) return null;
  const size = { widthPx: bitmap.width, heightPx: bitmap.height, turnedDeg: 0 };
  bitmap.close();
  return size;
}
