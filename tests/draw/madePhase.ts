import type { Phase, PhaseKind } from '../../src/timing/phases.ts';

/** A phase of one made move of the left wrist, at 24 frames a second. */
export function madePhase(kind: PhaseKind, firstFrame: number, frames: number, more: Partial<Phase> = {}): Phase {
  return {
    id: `k0>k1/${kind}`,
    kind,
    moveId: 'k0>k1',
    part: 'leftWrist',
    firstFrame,
    frames,
    startSec: firstFrame / 24,
    endSec: (firstFrame + frames) / 24,
    sizeMm: 10,
    sizePx: 16,
    share: 0.1,
    name: '',
    sentence: 'Left wrist goes.',
    ...more,
  };
}
