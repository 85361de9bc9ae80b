import { compareShot } from '../../src/compare/compareShot.ts';
import type { Review } from '../../src/compare/review.ts';
import type { PlannedShot } from '../../src/compare/shot.ts';
import type { Fault } from './madeFaults.ts';
import { type MadeShot, madeShot, type Seeing } from './madeShots.ts';

/** A made shot held against its plan, with the shot that it was made of. */
export function madeReview(
  planned: PlannedShot,
  fault: Fault | null,
  seeing: Seeing,
  given: Partial<Review> = {},
): { readonly review: Review; readonly made: MadeShot } {
  const made = madeShot(planned, fault, seeing);
  const comparison = compareShot(planned, made.shot)!;
  return {
    made,
    review: {
      shotName: 'Keeper 04, animated',
      days: ['2026-03-12', '2026-03-14'],
      pictures: 'exposures',
      planned,
      pictureOf: made.shot.exposures.map((_, i) => i),
      isCameraMeasured: true,
      comparison,
      ...given,
    },
  };
}
