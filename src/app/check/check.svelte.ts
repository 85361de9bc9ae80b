import { type Comparison, compareShot } from '../../compare/compareShot.ts';
import type { RegistrationChoice } from '../../compare/registration.ts';
import { readRuler } from '../../compare/ruler.ts';
import {
  framesOfPictures,
  type PictureOrder,
  type PlannedPictures,
  recognisePictures,
  shotOnPlan,
} from '../../compare/shotFrames.ts';
import type { Plan } from '../../plan/plan.ts';
import type { AnimatedShot } from '../../project/book.ts';
import type { AnimatedTake } from './animatedTake.svelte.ts';

/** What is held against each other. */
export interface CheckFrom {
  readonly plan: Plan | null;
  readonly choices: AnimatedShot | null;
  readonly animated: AnimatedTake;
}

/** The shot as animated beside its plan. */
export class Check {
  readonly #from: () => CheckFrom;

  /** @param from read anew whenever something of it changes. */
  constructor(from: () => CheckFrom) {
    this.#from = from;
  }

  readonly #planned = $derived.by<PlannedPictures | null>(() => {
    const { plan } = this.#from();
    return (
      plan && {
        frameCount: plan.timing.grid.frameCount,
        exposures: plan.timing.exposures,
        poseFrames: plan.poses.map((pose) => pose.firstFrame),
      }
    );
  });
  /** What the pictures are: as chosen, else as their number tells. */
  readonly pictures = $derived.by<PictureOrder>(() => {
    const { choices, animated } = this.#from();
    const planned = this.#planned;
    return choices?.pictures ?? (planned ? recognisePictures(animated.pictureCount, planned) : 'frames');
  });
  /** The frame at which each picture begins, from 0. Shape [picture]; without pictures beyond the plan. */
  readonly frames = $derived.by<readonly number[]>(() => {
    const { choices, animated } = this.#from();
    const planned = this.#planned;
    return planned && choices
      ? framesOfPictures(animated.pictureCount, this.pictures, planned, choices.firstFrame)
      : [];
  });

  readonly #registration = $derived.by<RegistrationChoice>(() => {
    const { choices } = this.#from();
    const laid = { joints: null, frames: null, mirror: choices?.mirrored ?? false };
    const ruler = choices?.ruler;
    const scale = ruler && readRuler({ fromPx: ruler.from, toPx: ruler.to, lengthMm: ruler.lengthMm });
    return scale ? { kind: 'ruler', mmPerPx: scale.mmPerPx, ...laid } : { kind: 'similarity', ...laid };
  });
  /** The shot held against its plan; null where too little is known of either. */
  readonly comparison = $derived.by<Comparison | null>(() => {
    const { plan, animated } = this.#from();
    const { motion, steps } = animated;
    const planned = this.#planned;
    if (!plan || !planned || !motion) return null;
    const shot = shotOnPlan(this.pictures, this.frames, planned, motion, steps);
    if (!shot) return null;
    const { rate } = plan.book;
    const { keys, holds, exposures } = plan.timing;
    return compareShot(
      { motion: plan.puppet, rate, keys, holds, exposures },
      { ...shot, marked: animated.marked },
      this.#registration,
    );
  });

  /** The picture that stands at a frame; −1 before the first, or where there is none. */
  pictureAt(frame: number): number {
    return this.frames.findLastIndex((first) => first <= frame);
  }
}
