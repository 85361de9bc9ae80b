import type { FrameGrid } from '../base/frameGrid.ts';
import type { FrameRate } from '../base/frameRate.ts';
import type { Joint } from '../base/joints.ts';
import type { Motion } from '../track/motion.ts';

/** Exposures that each last this many frames, except where a key falls between: ones, twos, threes or fours. */
export type OnFrames = 1 | 2 | 3 | 4;

/** What the animator has decided about the timing. Everything else is computed. */
export interface TimingChoices {
  readonly rate: FrameRate;
  /** The part of the take that becomes the shot, take seconds. */
  readonly startSec: number;
  readonly endSec: number;
  readonly onFrames: OnFrames;
  /** How many keys; null = the computed number. */
  readonly keyCount: number | null;
  /** Keys the animator put there (added, moved or locked): always kept. */
  readonly pinnedKeys: readonly PinnedKey[];
  /** Take seconds of computed keys that the animator took away: no key is computed within half a pose of them. */
  readonly removedKeysSec: readonly number[];
  /** Puppet height (sole to top of the head), millimetres. */
  readonly puppetHeightMm: number;
  /** Steps per exposure below this cannot be placed by hand: a hold. Millimetres; common practice, no source: 0.3. */
  readonly smallestStepMm: number;
}

/** A key that the animator owns. */
export interface PinnedKey {
  readonly id: string;
  readonly takeSec: number;
  readonly kind: 'key' | 'breakdown';
  readonly name: string;
}

/** A pose needed to tell the shot. */
export interface Key {
  /** Stable while the same pose is meant: the pinned key's id, or "k" + take time in milliseconds. */
  readonly id: string;
  readonly frameIndex: number;
  /**
   * The take's time at which the body reaches the pose, found between pictures. The frame begins up to half a frame beside it,
   * or up to one after it where a hold begins when the last limb has settled.
   */
  readonly takeSec: number;
  readonly kind: 'key' | 'breakdown';
  /** Why it is a key, each a short phrase ("holds here for 12 frames", "left wrist turns"). Never empty. */
  readonly reasons: readonly string[];
  /** True when it is the animator's. */
  readonly locked: boolean;
  /** The animator's name for it, or "". */
  readonly name: string;
}

/** A span in which nothing moves more than a hand can place (hold), or hardly more (moving hold). */
export interface Hold {
  readonly firstFrame: number;
  readonly frames: number;
  readonly kind: 'hold' | 'movingHold';
  /** Set where the trade's rules of thumb speak against its length (under 6 frames, over 24 dead); else "". */
  readonly warning: string;
}

/**
 * One picture to shoot, and how many frames it stays on screen. Runs tile the shot. Holds are laid in the same runs: `Hold` says
 * that the puppet stays untouched over them.
 */
export interface Exposure {
  readonly firstFrame: number;
  readonly frames: number;
}

/** One point of the curve "this many keys leave this error". */
export interface KeyCurvePoint {
  readonly keyCount: number;
  /** Root mean square distance between the real and the interpolated pose over all joints, body heights. */
  readonly error: number;
}

/** Everything computed about the shot's timing. */
export interface Timing {
  readonly choices: TimingChoices;
  readonly grid: FrameGrid;
  /** Take time shown at each frame. Shape [frame]. */
  readonly takeTimeSec: Float64Array;
  /** The performer at each frame. */
  readonly motion: Motion;
  /** Whole-body movement from the frame before, root mean square over the seen joints, body heights per frame; 0 at frame 0. Shape [frame]. */
  readonly activity: Float64Array;
  readonly keys: readonly Key[];
  readonly keyCurve: readonly KeyCurvePoint[];
  readonly holds: readonly Hold[];
  readonly exposures: readonly Exposure[];
  /** Which offset of the twos/threes grid served the motion best: 0 .. onFrames − 1. */
  readonly phase: number;
  /** Body heights → puppet millimetres. */
  readonly bodyHeightPx: number;
  readonly mmPerPx: number;
  /** Joints tracked in this shot, in `joints` order. */
  readonly joints: readonly Joint[];
}
