import { cocoJoints } from '../base/joints.ts';
import type { Columns } from './columns.ts';
import { cell } from './sighting.ts';

/** A sighting below this confidence is usually of a hidden joint. */
export const hiddenBelow = 0.3;
/**
 * Mean confidence over the COCO joints (the first in a row) below which nobody is in the picture. Measured with Lightning and Thunder: an empty
 * room 0.15 to 0.27; a performer, also from behind or with the feet out of the picture, 0.4 and up.
 */
const presentFrom = 0.3;

/** Is anybody to be made out in this picture? */
export function isSomebodySeen(columns: Columns, picture: number): boolean {
  let sum = 0;
  for (let j = 0; j < cocoJoints.length; j++) sum += columns.confidence[cell(picture, j)]!;
  return sum >= presentFrom * cocoJoints.length;
}
