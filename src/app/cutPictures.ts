import type { Footage } from '../base/footage.ts';
import { TakePictures } from '../ingest/pictures.ts';
import type { CutPart } from '../project/book.ts';
import { type ShownPictures, sourceOf, type TakeOnScreen } from './takeOnScreen.ts';
import { Thumbs } from './thumbs.svelte.ts';

/** Memory for the bitmaps of all takes of a cut shot together, bytes. */
const bytes = 240e6;

/** The pictures of a shot that is cut together: each from the take that it was cut from. */
class CutPictures implements ShownPictures {
  /** Shape [picture]: which part it belongs to. */
  readonly #partOf: readonly number[];
  readonly #takes: readonly TakePictures[];

  constructor(
    private readonly parts: readonly CutPart[],
    files: readonly (readonly File[])[],
    footage: Footage,
  ) {
    this.#partOf = parts.flatMap((part, k) => Array<number>(part.pictures).fill(k));
    this.#takes = parts.map((part, k) => {
      const end = part.firstPicture + part.pictures;
      const timesSec = footage.timesSec.slice(part.firstPicture, end).map((sec) => sec - part.startSec);
      // The stretch's first picture is the part's picture 0.
      const own = { ...footage, timesSec, firstStampSec: part.firstStampSec + part.fromSec };
      return new TakePictures(sourceOf(files[k]!), own, {
        longestSidePx: 1280,
        bytes: bytes / parts.length,
        stillsRate: stillsRateOf(files[k]!, footage),
      });
    });
  }

  atHand(index: number): ImageBitmap | null | undefined {
    const [take, own] = this.#find(index);
    return take.atHand(own);
  }

  picture(index: number): Promise<ImageBitmap | null> {
    const [take, own] = this.#find(index);
    return take.picture(own);
  }

  async thumbnails(
    indices: readonly number[],
    heightPx: number,
    onEach?: (place: number, bitmap: ImageBitmap | null) => void,
    signal?: AbortSignal,
  ): Promise<(ImageBitmap | null)[]> {
    const made: (ImageBitmap | null)[] = indices.map(() => null);
    await Promise.all(
      this.#takes.map(async (take, k) => {
        const places = [...indices.keys()].filter((place) => this.#partOf[indices[place]!] === k);
        if (places.length === 0) return;
        const own = places.map((place) => indices[place]! - this.parts[k]!.firstPicture);
        const keep = (i: number, bitmap: ImageBitmap | null) => {
          made[places[i]!] = bitmap;
          onEach?.(places[i]!, bitmap);
        };
        await take.thumbnails(own, heightPx, keep, signal);
      }),
    );
    return made;
  }

  close(): void {
    for (const take of this.#takes) take.close();
  }

  #find(index: number): [take: TakePictures, own: number] {
    const k = this.#partOf[index] ?? 0;
    return [this.#takes[k]!, index - this.parts[k]!.firstPicture];
  }
}

/** Stills are found by their number, so the rate at which they were read counts; for a video any rate serves. */
function stillsRateOf(files: readonly File[], footage: Footage): number {
  return files.length > 1 && footage.medianFps > 0 ? Number(footage.medianFps.toFixed(3)) : 24;
}

/**
 * Shows the pictures of a cut shot.
 * @param files of each part's take, in the order of `parts`.
 */
export function showCut(
  parts: readonly CutPart[],
  files: readonly (readonly File[])[],
  footage: Footage,
): TakeOnScreen {
  const pictures = new CutPictures(parts, files, footage);
  const thumbs = new Thumbs(pictures);
  return {
    files: [],
    stillsFps: 24,
    footage,
    pictures,
    thumbs,
    close() {
      thumbs.close();
      pictures.close();
    },
  };
}
