import type { Job } from '../ingest/calls.ts';
import type { OpenTake } from '../ingest/openTake.ts';
import type { Picture } from '../ingest/picture.ts';
import type { Region } from '../ingest/pixels.ts';

/** A run of pictures to be worked through, by their places in the take's table; `to` is the first one left out. */
export interface PictureRun {
  readonly from: number;
  readonly to: number;
}

/**
 * Works through the pictures of a run in order, with the next one already asked for, so that decoding overlaps with work;
 * closes every picture, whatever happens. Waits where the job is paused. Decoding begins at the key picture before.
 * @returns how long it waited, milliseconds.
 * @throws WorldFailure; an AbortError when the job is cancelled.
 */
export async function walkPictures(
  take: OpenTake,
  run: PictureRun,
  job: Pick<Job<never>, 'goOn'>,
  work: (picture: Picture) => Promise<void>,
): Promise<number> {
  let waited = 0;
  if (run.from >= run.to) return waited;
  const pictures = take.pictures(run.from);
  let next = pictures.next();
  try {
    for (;;) {
      const here = await next;
      if (here.done) return waited;
      if (here.value.index >= run.to) {
        here.value.close();
        return waited;
      }
      next = pictures.next();
      // Seen by nobody until the next turn: it must not count as unhandled meanwhile.
      next.catch(() => {});
      try {
        const before = performance.now();
        await job.goOn();
        waited += performance.now() - before;
        await work(here.value);
      } finally {
        here.value.close();
      }
    }
  } catch (error) {
    const ahead = await next.catch(() => null);
    if (ahead && !ahead.done) ahead.value.close();
    throw error;
  } finally {
    await pictures.return();
  }
}

/**
 * Works through the pictures of a run as grey values of a region: the luma, 0..255, of `width` × `height` samples.
 * @param work is given the same array each time: copy what is to be kept.
 */
export function walkLuma(
  take: OpenTake,
  run: PictureRun,
  region: Region,
  width: number,
  height: number,
  job: Pick<Job<never>, 'goOn'>,
  work: (place: number, luma: Uint8Array) => Promise<void> | void,
): Promise<number> {
  const luma = new Uint8Array(width * height);
  return walkPictures(take, run, job, async (picture) => {
    await picture.sampleLuma(region, width, height, luma);
    await work(picture.index, luma);
  });
}
