import { framesOfPictures, type PictureOrder, type PlannedPictures } from './shotFrames.ts';

/**
 * What the pictures of a shot are while it is being shot: as chosen, else one for each exposure. There may be as many of them, for a
 * moment, as there are key poses; that says nothing yet.
 */
export function picturesWhileShot(
  chosen: PictureOrder | null,
  pictureCount: number,
  { exposures }: Pick<PlannedPictures, 'exposures'>,
): PictureOrder {
  return chosen ?? (pictureCount > exposures.length ? 'frames' : 'exposures');
}

/**
 * The exposures, from 0, that are shot by some of the pictures: one picture is enough where there is one for each exposure, and where
 * there is one for each frame it is the last of its frames that says so. Pictures of key poses say nothing of exposures.
 * @param from,to the pictures that came in, by their place among all, `to` not included.
 * @param firstFrame the frame of the first picture, from 0.
 */
export function arrivedExposures(
  from: number,
  to: number,
  order: PictureOrder,
  plan: PlannedPictures,
  firstFrame: number,
): number[] {
  if (order === 'poses') return [];
  const frames = new Set(framesOfPictures(to, order, plan, firstFrame).slice(from));
  return plan.exposures.flatMap((exposure, i) => {
    const telling = order === 'frames' ? exposure.firstFrame + exposure.frames - 1 : exposure.firstFrame;
    return frames.has(telling) ? [i] : [];
  });
}
