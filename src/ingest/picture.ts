import type { VideoSample } from 'mediabunny';
import { present } from '../base/assert.ts';
import {
  type Plane,
  type Region,
  type StoredPlanes,
  sampleLuma,
  sampleRegion,
  type Upright,
  type YcbcrMatrix,
} from './pixels.ts';

/** One picture of a take, to be closed by whoever got it. */
export interface Picture {
  /** Its place in the frame table, from 0. */
  readonly index: number;
  /**
   * Samples a region of the upright picture into RGBA (see `sampleRegion`).
   * @param out at least width × height × 4 bytes.
   */
  sample(region: Region, width: number, height: number, out: Uint8ClampedArray): Promise<void>;
  /**
   * Samples a region's luma, 0..255 (see `sampleLuma`).
   * @param out at least width × height bytes.
   */
  sampleLuma(region: Region, width: number, height: number, out: Uint8Array): Promise<void>;
  /** Gives the decoder's memory back. The picture cannot be sampled afterwards. */
  close(): void;
}

/** Pictures read before timing counts: the sampling code is slow until the browser has compiled it. */
const warmUp = 3;

/** How pixels are got out of a decoded picture. */
export type PixelWay = 'planes' | 'canvas';

/**
 * Decides between two ways to get at pixels: copying the decoder's planes and sampling them ourselves (fast where
 * pictures live in main memory), or drawing to a canvas (fast where they live on a graphics card). The first pictures
 * are read both ways and timed.
 */
export class PixelWayChooser {
  #chosen: PixelWay | null;
  readonly #spent: Record<PixelWay, number[]> = { planes: [], canvas: [] };
  readonly buffers = new BufferPool();

  /** @param forced use this way and time nothing. */
  constructor(forced: PixelWay | null = null) {
    this.#chosen = forced;
  }

  /** The way in use; null while still timing. */
  get chosen(): PixelWay | null {
    return this.#chosen;
  }

  /** Tells how long a whole read took one way, in milliseconds. The first three of each way are warm-up. */
  record(way: PixelWay, milliseconds: number): void {
    this.#spent[way].push(milliseconds);
    const { planes, canvas } = this.#spent;
    if (this.#chosen || planes.length < warmUp + 3 || canvas.length < warmUp + 3) return;
    // Our own sampling averages every pixel; a canvas's is up to the browser. So the canvas must be clearly faster.
    this.#chosen = Math.min(...canvas.slice(warmUp)) < 0.6 * Math.min(...planes.slice(warmUp)) ? 'canvas' : 'planes';
  }

  /** A way that cannot read this video at all drops out. */
  give(way: PixelWay): void {
    this.#chosen = way;
  }
}

/** Buffers for decoded planes, used again from picture to picture. */
class BufferPool {
  readonly #free: ArrayBuffer[] = [];

  take(bytes: number): ArrayBuffer {
    const at = this.#free.findIndex((b) => b.byteLength >= bytes);
    return at < 0 ? new ArrayBuffer(bytes) : this.#free.splice(at, 1)[0]!;
  }

  giveBack(buffer: ArrayBuffer): void {
    if (this.#free.length < 4) this.#free.push(buffer);
  }
}

/** A decoded video picture. `sample.close()` is called by `close()`. */
export class VideoPicture implements Picture {
  readonly index: number;
  readonly #sample: VideoSample;
  readonly #upright: Upright;
  readonly #chooser: PixelWayChooser;
  #planes: Promise<StoredPlanes> | null = null;
  #buffer: ArrayBuffer | null = null;
  #closed = false;

  constructor(index: number, sample: VideoSample, upright: Upright, chooser: PixelWayChooser) {
    this.index = index;
    this.#sample = sample;
    this.#upright = upright;
    this.#chooser = chooser;
    if (formatOf(sample.format) === null) chooser.give('canvas');
    // Copying starts now, so that it overlaps with work on the picture before.
    if (chooser.chosen === 'planes') this.#copy().catch(() => {});
  }

  async sample(region: Region, width: number, height: number, out: Uint8ClampedArray): Promise<void> {
    const chosen = this.#chooser.chosen;
    if (chosen === null) {
      const before = performance.now();
      this.#draw(region, width, height, out);
      const between = performance.now();
      this.#chooser.record('canvas', between - before);
      this.#planes = null;
      sampleRegion(await this.#copy(), this.#upright, region, width, height, out);
      this.#chooser.record('planes', performance.now() - between);
    } else if (chosen === 'canvas') this.#draw(region, width, height, out);
    else sampleRegion(await this.#copy(), this.#upright, region, width, height, out);
  }

  async sampleLuma(region: Region, width: number, height: number, out: Uint8Array): Promise<void> {
    if (formatOf(this.#sample.format) !== null)
      return sampleLuma(await this.#copy(), this.#upright, region, width, height, out);
    const rgba = new Uint8ClampedArray(4 * width * height);
    this.#draw(region, width, height, rgba);
    for (let i = 0; i < width * height; i++)
      out[i] = Math.round(0.299 * rgba[4 * i]! + 0.587 * rgba[4 * i + 1]! + 0.114 * rgba[4 * i + 2]!);
  }

  close(): void {
    if (this.#closed) return;
    this.#closed = true;
    const finish = () => {
      this.#sample.close();
      if (this.#buffer) this.#chooser.buffers.giveBack(this.#buffer);
      this.#buffer = null;
    };
    // A copy under way still writes into the buffer: wait for it before anyone else gets it.
    if (this.#planes) this.#planes.then(finish, finish);
    else finish();
  }

  #copy(): Promise<StoredPlanes> {
    this.#planes ??= this.#copyPlanes();
    return this.#planes;
  }

  async #copyPlanes(): Promise<StoredPlanes> {
    const bytes = this.#sample.allocationSize();
    const buffer = this.#buffer ?? this.#chooser.buffers.take(bytes);
    this.#buffer = buffer;
    const layout = await this.#sample.copyTo(new Uint8Array(buffer, 0, bytes));
    return storedPlanes(this.#sample, buffer, layout);
  }

  #draw(region: Region, width: number, height: number, out: Uint8ClampedArray): void {
    const canvas = new OffscreenCanvas(width, height);
    const context = present(canvas.getContext('2d', { willReadFrequently: false, alpha: false }), 'a canvas context');
    context.imageSmoothingQuality = 'high';
    context.fillStyle = 'black';
    context.fillRect(0, 0, width, height);
    const scaleX = width / region.width;
    const scaleY = height / region.height;
    this.#sample.draw(
      context,
      -region.x * scaleX,
      -region.y * scaleY,
      this.#upright.widthPx * scaleX,
      this.#upright.heightPx * scaleY,
    );
    out.set(context.getImageData(0, 0, width, height).data);
  }
}

/** A still or a motion-JPEG picture, already decoded to RGBA (upright). */
export class RgbaPicture implements Picture {
  readonly index: number;
  readonly #image: ImageData;
  readonly #upright: Upright;

  /** @param upright the size in which regions are told; the image may be smaller (large stills are shrunk when decoded). */
  constructor(index: number, image: ImageData, upright: Upright) {
    this.index = index;
    this.#image = image;
    this.#upright = { ...upright, turnedDeg: 0, flipped: false };
  }

  async sample(region: Region, width: number, height: number, out: Uint8ClampedArray): Promise<void> {
    sampleRegion(this.#stored(), this.#upright, region, width, height, out);
  }

  async sampleLuma(region: Region, width: number, height: number, out: Uint8Array): Promise<void> {
    sampleLuma(this.#stored(), this.#upright, region, width, height, out);
  }

  close(): void {}

  #stored(): StoredPlanes {
    const { data, width: w, height: h } = this.#image;
    const bytes = new Uint8Array(data.buffer, data.byteOffset, data.length);
    const plane = (offset: number): Plane => ({ data: bytes, offset, rowStep: 4 * w, step: 4, width: w, height: h });
    return { planes: [plane(0), plane(1), plane(2)], bits: 8, ycbcr: null };
  }
}

/** Draws a bitmap into plain pixels, shrunk so that its longer side is at most `longest`; closes the bitmap. */
export function pixelsOf(bitmap: ImageBitmap, longest: number): ImageData {
  const scale = Math.min(1, longest / Math.max(bitmap.width, bitmap.height));
  const width = Math.max(1, Math.round(bitmap.width * scale));
  const height = Math.max(1, Math.round(bitmap.height * scale));
  const canvas = new OffscreenCanvas(width, height);
  const context = present(canvas.getContext('2d', { willReadFrequently: true }), 'a canvas context');
  context.imageSmoothingQuality = 'high';
  context.drawImage(bitmap, 0, 0, width, height);
  bitmap.close();
  return context.getImageData(0, 0, width, height);
}

interface Format {
  readonly kind: 'planar' | 'nv12' | 'rgb';
  readonly bits: number;
  /** Chroma planes are smaller by these factors. */
  readonly acrossBy: number;
  readonly downBy: number;
  /** For packed RGB: where red, green and blue stand in a pixel. */
  readonly order: readonly [number, number, number];
}

/** Pixel formats of WebCodecs (w3.org/TR/webcodecs §9.2); null for one we do not know how to read. */
function formatOf(name: string | null): Format | null {
  const rgb: readonly [number, number, number] = [0, 1, 2];
  if (name === 'NV12') return { kind: 'nv12', bits: 8, acrossBy: 2, downBy: 2, order: rgb };
  if (name === 'RGBA' || name === 'RGBX') return { kind: 'rgb', bits: 8, acrossBy: 1, downBy: 1, order: rgb };
  if (name === 'BGRA' || name === 'BGRX') return { kind: 'rgb', bits: 8, acrossBy: 1, downBy: 1, order: [2, 1, 0] };
  const planar = /^I4(20|22|44)A?(?:P(10|12))?$/.exec(name ?? '');
  if (!planar) return null;
  return {
    kind: 'planar',
    bits: Number(planar[2] ?? 8),
    acrossBy: planar[1] === '44' ? 1 : 2,
    downBy: planar[1] === '20' ? 2 : 1,
    order: rgb,
  };
}

function storedPlanes(sample: VideoSample, buffer: ArrayBuffer, layout: readonly PlaneLayout[]): StoredPlanes {
  const format = present(formatOf(sample.format), 'a readable pixel format');
  const { width, height } = sample.visibleRect;
  const wide = format.bits > 8;
  const data = wide ? new Uint16Array(buffer, 0, buffer.byteLength >> 1) : new Uint8Array(buffer);
  const unit = wide ? 2 : 1;
  const at = (i: number) => present(layout[i], `plane ${i}`);
  const plane = (i: number, step: number, shift: number, w: number, h: number): Plane => ({
    data,
    offset: at(i).offset / unit + shift,
    rowStep: at(i).stride / unit,
    step,
    width: w,
    height: h,
  });
  if (format.kind === 'rgb') {
    const [r, g, b] = format.order.map((shift) => plane(0, 4, shift, width, height)) as [Plane, Plane, Plane];
    return { planes: [r, g, b], bits: 8, ycbcr: null };
  }
  const w = Math.ceil(width / format.acrossBy);
  const h = Math.ceil(height / format.downBy);
  const nv12 = format.kind === 'nv12';
  return {
    planes: [
      plane(0, 1, 0, width, height),
      nv12 ? plane(1, 2, 0, w, h) : plane(1, 1, 0, w, h),
      nv12 ? plane(1, 2, 1, w, h) : plane(2, 1, 0, w, h),
    ],
    bits: format.bits,
    ycbcr: { matrix: matrixNamed(sample.colorSpace.matrix), fullRange: sample.colorSpace.fullRange === true },
  };
}

/** Files that name no matrix are read as BT.709, which is what cameras and phones write today. */
function matrixNamed(name: string | null): YcbcrMatrix {
  return name === 'bt470bg' || name === 'smpte170m' || name === 'bt2020-ncl' ? name : 'bt709';
}
