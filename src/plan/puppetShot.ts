import { fpsOf } from '../base/frameRate.ts';
import type { Book } from '../project/book.ts';
import { measurePerformer, type PerformerLengths } from '../puppet/performer.ts';
import type { PuppetMotion } from '../puppet/puppetMotion.ts';
import { type RetargetChoices, retarget } from '../puppet/retarget.ts';
import type { Timing } from '../timing/timing.ts';
import type { Motion, Tracks } from '../track/motion.ts';

/** What was worked out last of each motion: most edits change neither the motion nor the puppet. */
const lastOfMotion = new WeakMap<Motion, { readonly puppet: Book['puppet']; readonly made: PuppetMotion }>();
/** The performer is measured over the whole take, which is longer than the shot and shows limbs at more angles. */
const lengthsOfTracks = new WeakMap<Tracks, PerformerLengths>();

/** The shot's motion on the animator's puppet. Asked again of the same motion and puppet, it hands out the same object. */
export function puppetMotionOf(book: Book, timing: Timing, tracks: Tracks): PuppetMotion {
  const before = lastOfMotion.get(timing.motion);
  if (before && before.puppet === book.puppet) return before.made;
  const { bodyHeightPx: heightPx } = tracks;
  let lengths = lengthsOfTracks.get(tracks);
  if (!lengths) {
    lengths = measurePerformer(tracks.at(tracks.timesSec), heightPx);
    lengthsOfTracks.set(tracks, lengths);
  }
  const choices: RetargetChoices = { fps: fpsOf(timing.grid.rate), steps: 'sameSteps', handContacts: [], tail: null };
  const made = retarget(timing.motion, { heightPx, lengths }, book.puppet, choices);
  lastOfMotion.set(timing.motion, { puppet: book.puppet, made });
  return made;
}
