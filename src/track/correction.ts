import type { DetectedJoint } from '../base/joints.ts';

/** Which limbs a swap of sides exchanges: everything that has a side, or the arms or the legs alone. */
export type SwappedPart = 'all' | 'arms' | 'legs';

/**
 * What the animator says about a joint, laid over the sightings: these are never written into them, so that they survive
 * a new reading with any model.
 */
export type Correction =
  /** The joint is here at this time. Around it the path is moved as well, fading away (see `placements.ts`). */
  | {
      readonly kind: 'place';
      readonly joint: DetectedJoint;
      /** Take seconds; any time, also between pictures. */
      readonly takeSec: number;
      /** Upright pixels. */
      readonly xPx: number;
      readonly yPx: number;
      /** How far to each side the path is moved with it, seconds; 0 = only as far as the smoother bends by itself. */
      readonly reachSec: number;
    }
  /** The joint cannot be seen in this span: its sightings there are ignored. Take seconds, inclusive. */
  | { readonly kind: 'hide'; readonly joint: DetectedJoint; readonly startSec: number; readonly endSec: number }
  /** Left and right are exchanged in this span (on top of what was settled). Take seconds, inclusive. */
  | {
      readonly kind: 'swapSides';
      readonly startSec: number;
      readonly endSec: number;
      readonly part: SwappedPart;
    }
  /**
   * The performer is the person nearest to this point at this time (take seconds, upright pixels). The tracks cannot mend a
   * stranger's joints: it is heard by the next reading.
   */
  | { readonly kind: 'performer'; readonly takeSec: number; readonly xPx: number; readonly yPx: number };

/** A joint put right by hand. */
export type Placement = Extract<Correction, { kind: 'place' }>;

/** The reach of a new placement, seconds: eight frames at 24. A detector's slow error forgets itself in about this time. */
export const usualReachSec = 1 / 3;
/** The longest reach that can be chosen, seconds. */
export const longestReachSec = 2;
