import type { PlacedExtreme } from '../../draw/extremeMarks.ts';
import { type Extreme, extremesOf } from '../../timing/extremes.ts';
import { samplePoses } from '../../timing/poseSamples.ts';
import type { Timing } from '../../timing/timing.ts';
import type { Session } from '../session.svelte.ts';

/** An extreme of the part that is looked at, with its place in the take and in the shot. */
export interface ShownExtreme extends PlacedExtreme {
  readonly takeSec: Extreme['takeSec'];
}

/** A key within this of an extreme is the same pose, frames of the shot. */
const sameFrames = 1;

/** The extremes of the part picked on the Poses tab; empty while none is. */
export function extremesNow(session: Session, timing: Timing): ShownExtreme[] {
  const { tracks } = session;
  const part = session.view.extremesPart;
  if (!tracks || !part) return [];
  const { startSec, endSec, rate, puppetHeightMm } = timing.choices;
  const lastSec = Math.max(startSec, tracks.timesSec.at(-1) ?? endSec);
  const samples = samplePoses(tracks, startSec, Math.min(endSec, lastSec));
  return extremesOf(tracks, part, samples).map((extreme) => {
    const exact = (timing.map.shotAt(extreme.takeSec) * rate.frames) / rate.seconds;
    const frame = Math.max(0, Math.min(timing.grid.frameCount - 1, Math.round(exact)));
    return {
      takeSec: extreme.takeSec,
      kind: extreme.kind,
      frame,
      prominenceMm: extreme.prominence * puppetHeightMm,
      isKey: timing.keys.some((k) => Math.abs(k.frameIndex - frame) <= sameFrames),
    };
  });
}
