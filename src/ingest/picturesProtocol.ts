import type { TakeSource } from './openTake.ts';

/** Which take the worker shows pictures of. */
export interface ShowRequest {
  readonly source: TakeSource;
  readonly stillsRate: number;
  /** The file's own stamps of the footage's pictures, seconds. Shape [picture]. */
  readonly stampsSec: Float64Array;
}

/** Pictures to be made into bitmaps: `indices` rising. */
export interface BitmapsRequest {
  readonly indices: readonly number[];
  readonly widthPx: number;
  readonly heightPx: number;
}

/** One picture; null where the file is damaged there. */
export interface BitmapMade {
  readonly index: number;
  readonly bitmap: ImageBitmap | null;
}

/** The worker's calls: name → [request, reply, progress]. */
export type PictureCalls = {
  readonly show: readonly [ShowRequest, null, never];
  readonly bitmaps: readonly [BitmapsRequest, null, BitmapMade];
};
