/** Size of an upright still, and how it had to be turned. */
export interface StillSize {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly turnedDeg: number;
}

/**
 * Reads a still's size from the head of its file, without decoding it: PNG (IHDR), JPEG (frame header and EXIF
 * orientation), WebP (VP8, VP8L, VP8X). Null when the head does not tell.
 * @param head the file's beginning; 256 KB hold every header that cameras write.
 */
export function sizeFromHead(head: Uint8Array): StillSize | null {
  const view = new DataView(head.buffer, head.byteOffset, head.byteLength);
  try {
    if (view.getUint32(0) === 0x89504e47)
      return { widthPx: view.getUint32(16), heightPx: view.getUint32(20), turnedDeg: 0 };
    if (view.getUint16(0) === 0xffd8) return jpegSize(view);
    if (view.getUint32(0) === 0x52494646 && view.getUint32(8) === 0x57454250) return webpSize(view);
  } catch (error) {
    // A head that ends in the middle of a field tells nothing.
    if (!(error instanceof RangeError)) throw error;
  }
  return null;
}

/** JPEG (ITU-T T.81 annex B): markers with lengths; the frame headers SOF0–SOF15 but DHT, JPG, DAC hold the size. */
function jpegSize(view: DataView): StillSize | null {
  let orientation = 1;
  let at = 2;
  while (at + 9 < view.byteLength) {
    if (view.getUint8(at) !== 0xff) return null;
    const marker = view.getUint8(at + 1);
    if (marker === 0xff) {
      at++;
      continue;
    }
    const length = view.getUint16(at + 2);
    if (marker === 0xe1 && view.getUint32(at + 4) === 0x45786966) orientation = exifOrientation(view, at + 10);
    const isFrame = marker >= 0xc0 && marker <= 0xcf && marker !== 0xc4 && marker !== 0xc8 && marker !== 0xcc;
    if (isFrame) {
      const stored = { height: view.getUint16(at + 5), width: view.getUint16(at + 7) };
      const aside = orientation >= 5;
      return {
        widthPx: aside ? stored.height : stored.width,
        heightPx: aside ? stored.width : stored.height,
        turnedDeg: [0, 0, 0, 180, 180, 90, 90, 270, 270][orientation] ?? 0,
      };
    }
    at += 2 + length;
  }
  return null;
}

/** EXIF 2.3 §4.6.4: tag 0x0112 of the first directory, 1..8. */
function exifOrientation(view: DataView, tiff: number): number {
  const little = view.getUint16(tiff) === 0x4949;
  const directory = tiff + view.getUint32(tiff + 4, little);
  const entries = view.getUint16(directory, little);
  for (let i = 0; i < entries; i++) {
    const entry = directory + 2 + 12 * i;
    if (view.getUint16(entry, little) === 0x0112) return view.getUint16(entry + 8, little);
  }
  return 1;
}

/** WebP (RFC 9649 §2.5–2.7). */
function webpSize(view: DataView): StillSize | null {
  const chunk = view.getUint32(12);
  const three = (at: number) => view.getUint16(at, true) + (view.getUint8(at + 2) << 16);
  if (chunk === 0x56503858) return { widthPx: three(24) + 1, heightPx: three(27) + 1, turnedDeg: 0 };
  if (chunk === 0x5650384c) {
    const bits = view.getUint32(21, true);
    return { widthPx: (bits & 0x3fff) + 1, heightPx: ((bits >> 14) & 0x3fff) + 1, turnedDeg: 0 };
  }
  if (chunk === 0x56503820)
    return { widthPx: view.getUint16(26, true) & 0x3fff, heightPx: view.getUint16(28, true) & 0x3fff, turnedDeg: 0 };
  return null;
}
