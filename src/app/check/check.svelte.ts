import { untrack } from 'svelte';
import type { Failure } from '../../base/failure.ts';
import type { Joint } from '../../base/joints.ts';
import { type ComparedArc, comparedArc } from '../../compare/comparedArc.ts';
import { type Comparison, compareShot } from '../../compare/compareShot.ts';
import type { Finding } from '../../compare/finding.ts';
import type { PictureScale } from '../../compare/jointScale.ts';
import { registrationOf } from '../../compare/laying.ts';
import { type NumberedRow, type NumberGaps, readNumbers } from '../../compare/pictureNumbers.ts';
import { type RegistrationChoice, usualJoints, usualRegistration } from '../../compare/registration.ts';
import type { Ruler } from '../../compare/ruler.ts';
import type { PlannedShot, ShotPictures } from '../../compare/shot.ts';
import {
  framesOfPictures,
  type PictureOrder,
  type PlannedPictures,
  recogniseGrowing,
  shotOnPlan,
} from '../../compare/shotFrames.ts';
import type { Plan } from '../../plan/plan.ts';
import type { AnimatedShot } from '../../project/book.ts';
import type { TakenExposure } from '../../project/shooting.ts';
import type { PuppetMotion } from '../../puppet/puppetMotion.ts';
import type { AnimatedTake } from './animatedTake.svelte.ts';
import type { CompareRequest } from './compareProtocol.ts';
import { Comparing } from './comparing.svelte.ts';

/** What is held against each other. */
export interface CheckFrom {
  readonly plan: Plan | null;
  readonly choices: AnimatedShot | null;
  readonly animated: AnimatedTake;
  /** What is marked as shot at the set, in any order. */
  readonly taken: readonly TakenExposure[];
  /** The finding that is looked at, by its `findingKey`; null = none. */
  readonly finding: string | null;
}

/** A finding's name in a list that is made anew with every comparison. */
export function findingKey({ kind, joint, atFrame }: Finding): string {
  return `${kind} ${joint} ${atFrame}`;
}

/** The shot as animated beside its plan. */
export class Check {
  readonly #from: () => CheckFrom;
  readonly #onfail: (failure: Failure) => void;
  readonly #comparing = new Comparing((failure) => this.#onfail(failure));

  /**
   * @param from read anew whenever something of it changes.
   * @param onfail is told when the comparison could not be made.
   */
  constructor(from: () => CheckFrom, onfail: (failure: Failure) => void) {
    this.#from = from;
    this.#onfail = onfail;
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
  /** What the numbers of its stills leave out; null = nothing. */
  readonly numbered = $derived.by<NumberedRow | null>(() => {
    const { choices, animated } = this.#from();
    const planned = this.#planned;
    const numbers = animated.numbers.slice(0, animated.pictureCount);
    return planned && choices && numbers.length > 1 ? readNumbers(numbers, planned, choices.firstFrame) : null;
  });
  /** What that means: as chosen, else as the numbers tell. */
  readonly gaps = $derived.by<NumberGaps>(() => this.#from().choices?.gaps ?? this.numbered?.likely ?? 'jumps');
  /** The place of each picture in the row, from 0, missing ones counted. Shape [picture]. */
  readonly #places = $derived.by<readonly number[]>(() => {
    if (this.numbered && this.gaps === 'missing') return this.numbered.places;
    return Array.from({ length: this.#from().animated.pictureCount }, (_, i) => i);
  });
  readonly #rowCount = $derived((this.#places.at(-1) ?? -1) + 1);
  /** What the pictures are: as chosen, else as their number tells, or told while they came in. */
  readonly pictures = $derived.by<PictureOrder>(() => {
    const planned = this.#planned;
    const { choices, animated, taken } = this.#from();
    if (choices?.pictures || !planned) return choices?.pictures ?? 'frames';
    const marked = new Set(taken.map((exposure) => exposure.firstFrame)).size;
    return recogniseGrowing(this.#rowCount, planned, { fromCount: animated.grewFrom, marked });
  });
  /** The frame at which each picture begins, those that are missing included, from 0; without what is beyond the plan. */
  readonly #frames = $derived.by<readonly number[]>(() => {
    const { choices } = this.#from();
    const planned = this.#planned;
    return planned && choices ? framesOfPictures(this.#rowCount, this.pictures, planned, choices.firstFrame) : [];
  });

  /** How the shot is asked to be laid over the plan. */
  readonly registration = $derived.by<RegistrationChoice>(() => {
    const { choices } = this.#from();
    return choices ? registrationOf({ ...choices, ruler: rulerOf(choices) }) : usualRegistration;
  });
  /** The joints that may count when it is laid over: those known to both, of those that are placed well. */
  readonly layingJoints = $derived.by<readonly Joint[]>(() => {
    const { plan, animated } = this.#from();
    return usualJoints.filter((joint) => plan?.puppet.paths.has(joint) && animated.motion?.paths.has(joint));
  });
  readonly #shot = $derived.by<ShotPictures | null>(() => {
    const { motion, steps, marked } = this.#from().animated;
    const planned = this.#planned;
    const shot =
      planned && motion ? shotOnPlan(this.pictures, this.#frames, planned, motion, steps, this.#places) : null;
    return shot && { ...shot, marked };
  });
  readonly #request = $derived.by<CompareRequest | null>(() => {
    const { plan } = this.#from();
    return plan && this.#shot && { plan: plannedShot(plan, plan.asked), shot: this.#shot, choice: this.registration };
  });
  /** The shot held against its plan, that of before while a newer one is made; null where too little is known of either. */
  readonly comparison = $derived<Comparison | null>(this.#comparing.made?.comparison ?? null);
  /** What the joints themselves say of the scale where a ruler gives it; else null. */
  readonly byJoints = $derived<PictureScale | null>(this.#comparing.made?.byJoints ?? null);
  /** The shot held against what was asked of the puppet some other way, as before its moves were laid anew; made at once. */
  against(motion: PuppetMotion): Comparison | null {
    const { plan } = this.#from();
    return plan && this.#shot && compareShot(plannedShot(plan, motion), this.#shot, this.registration);
  }
  /** A newer comparison is being made. */
  readonly busy = $derived(this.#comparing.busy);

  /** Compares what is to be compared now, behind everything else. To be called in an effect, where it is looked at. */
  catchUp(): void {
    const request = this.#request;
    untrack(() => this.#comparing.ask(request));
  }

  /** Another book: nothing of this one is shown any more. */
  forget(): void {
    this.#comparing.ask(null);
  }

  /** The finding that is looked at; null = none is, or what was is none any more. */
  readonly finding = $derived.by<Finding | null>(() => {
    const { finding } = this.#from();
    return this.comparison?.findings.find((f) => findingKey(f) === finding) ?? null;
  });
  /** Both ways around it; null where it has none. */
  readonly arc = $derived.by<ComparedArc | null>(() =>
    this.comparison && this.finding ? comparedArc(this.comparison, this.finding) : null,
  );

  /** The exposure that is on screen at a frame, as the comparison counts them; −1 = none. */
  exposureAt(frame: number): number {
    return this.comparison?.exposures.findLastIndex((e) => e.firstFrame <= frame) ?? -1;
  }

  /** The frame at which a picture begins, from 0; null = beyond the plan. */
  frameOf(picture: number): number | null {
    return this.#frames[this.#places[picture] ?? -1] ?? null;
  }

  /** The picture that stands at a frame; −1 before the first, or where it is missing. */
  pictureAt(frame: number): number {
    const place = this.#frames.findLastIndex((first) => first <= frame);
    return place < 0 ? -1 : this.#places.indexOf(place);
  }
}

/** The ruler that lies in the shot's picture, as it is read; null = none does. */
export function rulerOf({ ruler }: Pick<AnimatedShot, 'ruler'>): Ruler | null {
  return ruler && { fromPx: ruler.from, toPx: ruler.to, lengthMm: ruler.lengthMm };
}

function plannedShot(plan: Plan, motion: PuppetMotion): PlannedShot {
  const { keys, holds, exposures } = plan.timing;
  return { motion, rate: plan.book.rate, keys, holds, exposures };
}
