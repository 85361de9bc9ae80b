import type { Joint } from '../base/joints.ts';
import type { FrameRun } from '../puppet/puppetMotion.ts';
import type { RegistrationChoice } from './registration.ts';
import { type Ruler, readRuler } from './ruler.ts';

/** How a shot is laid over its plan: by its joints alone, with its size from a ruler, or not at all, pose by pose on its own hips. */
export const layings = ['joints', 'ruler', 'angles'] as const;
/** One of the ways. */
export type Laying = (typeof layings)[number];

/** What the animator decided about it. */
export interface LayingChoice {
  readonly laid: Laying;
  /** Null = there is none; one that cannot be read counts as none. */
  readonly ruler: Ruler | null;
  readonly mirrored: boolean;
  /** Joints and frames that count; null = all that are usual, and all frames. */
  readonly joints: readonly Joint[] | null;
  readonly frames: FrameRun | null;
}

/** What is asked of the registration. Where a ruler is wanted and there is none, the joints tell the size. */
export function registrationOf({ laid, ruler, mirrored, joints, frames }: LayingChoice): RegistrationChoice {
  if (laid === 'angles') return { kind: 'none' };
  const by = { joints, frames, mirror: mirrored };
  const scale = laid === 'ruler' && ruler ? readRuler(ruler) : null;
  return scale ? { kind: 'ruler', mmPerPx: scale.mmPerPx, ...by } : { kind: 'similarity', ...by };
}
