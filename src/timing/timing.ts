import type { FrameGrid } from '../base/frameGrid.ts';
import type { FrameRate } from '../base/frameRate.ts';
import type { Joint, Part } from '../base/joints.ts';
import type { HandContact } from '../track/handContact.ts';
import type { Motion } from '../track/motion.ts';
import type { Retiming, TimeMap } from './timeMap.ts';

/** Exposures that each last this many frames, except where a key falls between: ones, twos, threes or fours. */
export type OnFrames = 1 | 2 | 3 | 4;

/** A span that the animator exposes otherwise than the rest, by frames of the shot. */
export interface ExposureSpan {
  /** From 0. */
  readonly firstFrame: number;
  /** At least 1. */
  readonly frames: number;
  readonly onFrames: OnFrames;
}

/** How far poses are pushed away from the neutral one. */
export interface Exaggeration {
  /** 1 = as filmed, 1.2 = a fifth further from the neutral pose, 0.8 = nearer to it; 0.5 to 2. */
  readonly amount: number;
  /** The neutral pose: the take's at these take seconds; null = standing upright with hanging arms. */
  readonly neutralSec: number | null;
}

/** No more and no less than was filmed. */
export const asFilmed: Exaggeration = { amount: 1, neutralSec: null };

/** Parts that the animator wants to see one after another: who leads, who drags. From the leading end. */
export interface Chain {
  readonly id: string;
  readonly name: string;
  readonly parts: readonly Part[];
}

/** What the animator says about the sound. It stays at the shot's time: retiming poses never stretches it. */
export interface SoundChoices {
  /** Sound is heard this much later than it was recorded, seconds; negative = earlier. */
  readonly nudgeSec: number;
  /** Tempo; null = no beats are laid. */
  readonly beatsPerMinute: number | null;
  /** When a beat falls, seconds from the shot's start; the others follow from it. */
  readonly firstBeatSec: number;
}

/** Sound as recorded, without beats. */
export const soundAsRecorded: SoundChoices = { nudgeSec: 0, beatsPerMinute: null, firstBeatSec: 0 };

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
  /** What was done to the take's time; without knots the take's own timing. */
  readonly retiming: Retiming;
  readonly exaggeration: Exaggeration;
  /** Where hands keep their place, by when they begin to. */
  readonly handContacts: readonly HandContact[];
  /** So many exposures, spent where they are worth most; null = runs of `onFrames`. */
  readonly exposureBudget: number | null;
  /** Spans exposed by hand; where they overlap, the later in the list counts. */
  readonly exposureSpans: readonly ExposureSpan[];
  /** Frames that the animator wants exposed whatever is computed, rising. */
  readonly exposedFrames: readonly number[];
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
  /** The take's time that stands on the frame, and is moved with it when the key is given another time: where its hold begins, or `takeSec`. */
  readonly anchorSec: number;
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
  /** The take's times between which it rests; the same twice where the animator laid the hold into the movement. */
  readonly fromSec: number;
  readonly toSec: number;
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
  /** The shot's time laid over the take's. */
  readonly map: TimeMap;
  /** Take time shown at each frame, never falling. Shape [frame]. */
  readonly takeTimeSec: Float64Array;
  /** The performer at each frame. */
  readonly motion: Motion;
  /** Whole-body movement from the frame before, root mean square over the seen joints, body heights per frame; 0 at frame 0. Shape [frame]. */
  readonly activity: Float64Array;
  readonly keys: readonly Key[];
  readonly keyCurve: readonly KeyCurvePoint[];
  readonly holds: readonly Hold[];
  /** Frames at which another stretch of a cut shot begins, rising; none in a shot that is not cut. */
  readonly cutFrames: readonly number[];
  /** Frames that are exposed whatever is chosen: keys, and the first of each stretch of a cut shot. Rising. */
  readonly forcedFrames: readonly number[];
  readonly exposures: readonly Exposure[];
  /** Which offset of the twos/threes grid served the motion best: 0 .. onFrames − 1. */
  readonly phase: number;
  /** As the tracks have it: what stands in for it where nobody was seen. */
  readonly bodyHeightPx: number;
  /** Pixels → puppet millimetres; NaN where nothing tells how large things are. */
  readonly mmPerPx: number;
  /** Joints tracked in this shot, in `joints` order. */
  readonly joints: readonly Joint[];
}
