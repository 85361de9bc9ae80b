import type { Comparison } from './compareShot.ts';
import { mapPlaces } from './places.ts';
import { type RegistrationChoice, register } from './registration.ts';
import { applySimilarity, invertSimilarity } from './similarity.ts';

/** A scale of a picture. */
export interface PictureScale {
  readonly mmPerPx: number;
  /** Standard deviation, as a share of it. */
  readonly sdShare: number;
}

/**
 * How large a pixel is by the joints themselves, whatever scale was given: as large as makes the puppet fit its plan.
 * @param choice by which the comparison was made.
 * @returns null where bodies hang on their own hips, or too few joints are known.
 */
export function jointScale(comparison: Comparison, choice: RegistrationChoice): PictureScale | null {
  const { registration, planFrame, exposures } = comparison;
  if (choice.kind === 'none' || registration.kind === 'none') return null;
  const backs = registration.toMm.map(invertSimilarity);
  const pixels = mapPlaces(registration.places, (i, x, y, sd) => {
    const back = backs[i]!;
    return [...applySimilarity(back, x, y), sd * back.scale];
  });
  const { joints, frames, mirror } = choice;
  const firsts = exposures.map((e) => e.firstFrame);
  const by = register(pixels, registration.planned, planFrame, firsts, { kind: 'similarity', joints, frames, mirror });
  return by?.fit ? { mmPerPx: by.mmPerPx, sdShare: by.fit.scaleSdShare } : null;
}

/** A ruler that differs from the joints by less is right: as a share, and in standard deviations of both. */
const leastShare = 0.01;
const surely = 3;

/** By how much the first is larger than the second, as a share; null where that is not notable. */
export function notablyLarger(a: PictureScale, b: PictureScale): number | null {
  const share = a.mmPerPx / b.mmPerPx - 1;
  return Math.abs(share) > leastShare && Math.abs(share) > surely * Math.hypot(a.sdShare, b.sdShare) ? share : null;
}
