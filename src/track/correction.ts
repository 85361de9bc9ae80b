import type { DetectedJoint } from '../base/joints.ts';

/**
 * What the animator says about a joint, laid over the sightings: these are never written into them, so that they survive
 * a new reading.
 */
export type Correction =
  /** The joint is here at this time (take seconds, upright pixels). */
  | {
      readonly kind: 'place';
      readonly joint: DetectedJoint;
      readonly takeSec: number;
      readonly xPx: number;
      readonly yPx: number;
    }
  /** The joint cannot be seen in this span: its sightings there are ignored. */
  | { readonly kind: 'hide'; readonly joint: DetectedJoint; readonly startSec: number; readonly endSec: number }
  /** Left and right are exchanged in this span, for all joints. */
  | { readonly kind: 'swapSides'; readonly startSec: number; readonly endSec: number };
