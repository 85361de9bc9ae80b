import type { Failure } from '../../base/failure.ts';
import type { Comparison } from '../../compare/compareShot.ts';
import { type Deviation, listDeviations } from '../../compare/deviations.ts';
import type { PictureScale } from '../../compare/jointScale.ts';
import { WorkerCalls } from '../../ingest/calls.ts';
import type { CompareCalls, CompareReply, CompareRequest } from './compareProtocol.ts';

/** A comparison, and what the joints say of the scale where a ruler gave it. */
export interface Compared {
  /** Null = too little is known of one of both. */
  readonly comparison: Comparison | null;
  readonly byJoints: PictureScale | null;
}

/**
 * The newest comparison, made in a worker: it takes half a second, in which the page is not to wait. What was compared before stays until
 * then; of several wishes the newest alone is seen to.
 */
export class Comparing {
  #made = $state.raw<Compared | null>(null);
  /** What was asked for last; null = nothing is wanted. */
  #wanted = $state.raw<CompareRequest | null>(null);
  #answered = $state.raw<CompareRequest | null>(null);
  #worker: WorkerCalls<CompareCalls> | null = null;
  #isAtWork = false;
  readonly #onfail: (failure: Failure) => void;

  /** @param onfail is told when the worker could not do it. */
  constructor(onfail: (failure: Failure) => void) {
    this.#onfail = onfail;
  }

  /** Null = nothing yet. */
  readonly made = $derived<Compared | null>(this.#made);
  /** Something newer is being compared. */
  readonly busy = $derived(this.#wanted !== this.#answered);

  /** Compares this next; null: nothing, and what was compared is forgotten. */
  ask(wanted: CompareRequest | null): void {
    this.#wanted = wanted;
    if (wanted === null) {
      this.#made = null;
      this.#answered = null;
    } else void this.#work();
  }

  async #work(): Promise<void> {
    if (this.#isAtWork) return;
    this.#isAtWork = true;
    this.#worker ??= new WorkerCalls<CompareCalls>(
      new Worker(new URL('./compare.worker.ts', import.meta.url), { type: 'module', name: 'compare' }),
    );
    for (let wanted = this.#wanted; wanted && wanted !== this.#answered; wanted = this.#wanted) {
      const reply = await this.#worker.call('compare', sendable(wanted));
      if (this.#wanted !== wanted) continue;
      this.#made = reply.ok ? comparedOf(reply.value) : null;
      this.#answered = wanted;
      if (!reply.ok) this.#onfail(reply.failure);
    }
    this.#isAtWork = false;
  }
}

/** What was asked without the performer's motion behind the plan: no comparison reads it, and its functions cannot be posted. */
function sendable(request: CompareRequest): CompareRequest {
  const { motion } = request.plan;
  const followed = { timesSec: motion.followed.timesSec, paths: new Map() };
  return { ...request, plan: { ...request.plan, motion: { ...motion, followed } } };
}

function comparedOf({ comparison, byJoints }: CompareReply): Compared {
  if (!comparison) return { comparison, byJoints };
  const { registration, planFrame, exposures } = comparison;
  let listed: readonly Deviation[] | null = null;
  return {
    byJoints,
    comparison: {
      ...comparison,
      get deviations() {
        listed ??= listDeviations(
          registration.places,
          registration.planned,
          planFrame,
          exposures.map((e) => e.firstFrame),
        );
        return listed;
      },
    },
  };
}
