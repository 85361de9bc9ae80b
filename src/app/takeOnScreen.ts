import { good, type Outcome } from '../base/failure.ts';
import type { Footage } from '../base/footage.ts';
import { openTake } from '../ingest/openTake.ts';
import { TakePictures } from '../ingest/pictures.ts';
import { Thumbs } from './thumbs.svelte.ts';

/** Pictures by index, as `TakePictures` shows them. */
export type ShownPictures = Pick<TakePictures, 'atHand' | 'picture' | 'thumbnails' | 'close'>;

/** A take whose pictures can be shown: the exact ones of the file, never a player's guess. */
export interface TakeOnScreen {
  /** Empty for a shot that is cut together: its pictures are other takes'. */
  readonly files: readonly File[];
  readonly stillsFps: number;
  readonly footage: Footage;
  /** For the viewer. */
  readonly pictures: ShownPictures;
  /** For key strips and lists. */
  readonly thumbs: Thumbs;
  close(): void;
}

/** Opens a video or numbered stills for showing. Fails as `openTake` of the ingest room does. */
export async function showTake(files: readonly File[], stillsFps: number): Promise<Outcome<TakeOnScreen>> {
  const opened = await openTake(sourceOf(files), { stillsRate: stillsFps });
  if (!opened.ok) return opened;
  const { footage } = opened.value;
  opened.value.close();
  return good(showFootage(files, stillsFps, footage));
}

/** Shows the pictures of footage that is known already, as decoding settled it. */
export function showFootage(files: readonly File[], stillsFps: number, footage: Footage): TakeOnScreen {
  const pictures = new TakePictures(sourceOf(files), footage, { stillsRate: stillsFps, longestSidePx: 1280 });
  const thumbs = new Thumbs(pictures);
  return {
    files,
    stillsFps,
    footage,
    pictures,
    thumbs,
    close() {
      thumbs.close();
      pictures.close();
    },
  };
}

/** One file is a video (or a single still); several are stills. */
export function sourceOf(files: readonly File[]): File | readonly File[] {
  return files.length === 1 && files[0] ? files[0] : files;
}
