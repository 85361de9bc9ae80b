import { frameStartSec } from '../base/frameRate.ts';
import type { TakenExposure } from '../project/shooting.ts';
import type { Timing } from '../timing/timing.ts';
import { many } from './shotFacts.ts';

/** A moment of the take within this share of a frame is the same one: spans that were not retimed keep theirs to the last digit. */
const sameMoment = 0.25;

/** What the plan says otherwise by now than when an exposure was shot, a phrase; "" = nothing. */
export function changedSince(
  { exposures, takeTimeSec, grid }: Timing,
  { firstFrame, frames, takeSec }: Pick<TakenExposure, 'firstFrame' | 'frames' | 'takeSec'>,
): string {
  if (firstFrame >= grid.frameCount) return 'behind the end of the shot now';
  const now = exposures.find((e) => e.firstFrame === firstFrame);
  if (!now) return 'no exposure begins at this frame now';
  const awaySec = Math.abs((takeTimeSec[firstFrame] ?? Number.NaN) - takeSec);
  if (!(awaySec <= sameMoment * frameStartSec(grid.rate, 1))) return 'another pose stands here now';
  return now.frames === frames ? '' : `stays ${many(now.frames, 'frame')} now`;
}
