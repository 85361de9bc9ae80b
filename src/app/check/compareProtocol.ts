import type { Comparison } from '../../compare/compareShot.ts';
import type { PictureScale } from '../../compare/jointScale.ts';
import type { RegistrationChoice } from '../../compare/registration.ts';
import type { PlannedShot, ShotPictures } from '../../compare/shot.ts';

/** What is held against each other, and how. */
export interface CompareRequest {
  readonly plan: PlannedShot;
  readonly shot: ShotPictures;
  readonly choice: RegistrationChoice;
}

/** What crosses back: all deviations are many thousand objects, which the page lists itself if it is asked for them. */
export interface CompareReply {
  readonly comparison: Omit<Comparison, 'deviations'> | null;
  /** What the joints themselves say of the scale where a ruler gave it; else null. */
  readonly byJoints: PictureScale | null;
}

/** The worker's calls: name → [request, reply, progress (none)]. */
export type CompareCalls = {
  readonly compare: readonly [CompareRequest, CompareReply, never];
};
