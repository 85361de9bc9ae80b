import type { Tracks } from '../track/motion.ts';
import { exaggerate, neutralPose } from './exaggerate.ts';
import type { TimingChoices } from './timing.ts';

interface Pushed {
  readonly asked: readonly unknown[];
  readonly tracks: Tracks;
}

/** What was pushed last of each tracks: asked for again and again while the same shot is on screen. */
const lastPushed = new WeakMap<Tracks, Pushed>();

/**
 * The performer as the shot will show him, poses pushed away from the neutral one, at any time of the take; the tracks themselves
 * where nothing is exaggerated.
 */
export function pushedTracks(tracks: Tracks, { exaggeration, handContacts, startSec, endSec }: TimingChoices): Tracks {
  const { amount, neutralSec } = exaggeration;
  if (amount === 1) return tracks;
  const last = lastPushed.get(tracks);
  const asked = [amount, neutralSec, handContacts, startSec, endSec];
  if (last && asked.every((a, i) => a === last.asked[i])) return last.tracks;
  const neutral = neutralPose(tracks, startSec, endSec, neutralSec);
  const pushed: Tracks = {
    timesSec: tracks.timesSec,
    bodyHeightPx: tracks.bodyHeightPx,
    torsoPx: tracks.torsoPx,
    joints: tracks.joints,
    seen: (joint) => tracks.seen(joint),
    get doubts() {
      return tracks.doubts;
    },
    at: (timesSec) => {
      const stepSec = timesSec.length > 1 ? (timesSec[1] ?? 0) - (timesSec[0] ?? 0) : 1 / 24;
      return exaggerate(tracks.at(timesSec), neutral, amount, tracks.bodyHeightPx, stepSec, handContacts);
    },
  };
  lastPushed.set(tracks, { asked, tracks: pushed });
  return pushed;
}
