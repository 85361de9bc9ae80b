import {
  framesOfPictures,
  type PlannedShot,
  recogniseShotPictures,
  type ShotPictures,
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

  readonly #planned = $derived.by<PlannedShot | null>(() => {
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
  readonly pictures = $derived.by<ShotPictures>(() => {
    const { choices, animated } = this.#from();
    const planned = this.#planned;
    return choices?.pictures ?? (planned ? recogniseShotPictures(animated.pictureCount, planned) : 'frames');
  });
  /** The frame at which each picture begins, from 0. Shape [picture]; without pictures beyond the plan. */
  readonly frames = $derived.by<readonly number[]>(() => {
    const { choices, animated } = this.#from();
    const planned = this.#planned;
    return planned && choices
      ? framesOfPictures(animated.pictureCount, this.pictures, planned, choices.firstFrame)
      : [];
  });

  /** The picture that stands at a frame; −1 before the first, or where there is none. */
  pictureAt(frame: number): number {
    return this.frames.findLastIndex((first) => first <= frame);
  }
}
