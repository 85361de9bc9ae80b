import { fpsOf } from '../base/frameRate.ts';
import type { Book } from '../project/book.ts';
import { applyFixes } from '../puppet/applyFixes.ts';
import { findHitches, type Hitches } from '../puppet/hitches.ts';
import { measurePerformer, type PerformerLengths } from '../puppet/performer.ts';
import type { PuppetMotion } from '../puppet/puppetMotion.ts';
import { retarget } from '../puppet/retarget.ts';
import type { Timing } from '../timing/timing.ts';
import type { JointPath, Motion, Tracks } from '../track/motion.ts';
import { type ReplannedMotion, replanMotion } from './replans.ts';

/** What of a book the shot on the puppet hangs on. */
type PuppetChoices = Pick<Book, 'puppet' | 'steps' | 'handContacts' | 'poseFixes' | 'tailChain' | 'chains'>;

/** What was worked out last of each motion: most edits change neither the motion nor what is decided about the puppet. */
const lastOfMotion = new WeakMap<Motion, { readonly choices: PuppetChoices; readonly made: PuppetMotion }>();
/** The performer is measured over the whole take, which is longer than the shot and shows limbs at more angles. */
const lengthsOfTracks = new WeakMap<Tracks, PerformerLengths>();

/** What was laid anew last of each motion on the puppet. */
const lastReplanned = new WeakMap<
  PuppetMotion,
  { readonly timing: Timing; readonly replans: Book['replans']; readonly made: ReplannedMotion }
>();

/** The shot on the animator's puppet, with the moves laid anew that the book says. Asked again of the same, it hands out the same object. */
export function replannedOf(book: Book, timing: Timing, tracks: Tracks): ReplannedMotion {
  const motion = puppetMotionOf(book, timing, tracks);
  const { replans } = book;
  const before = lastReplanned.get(motion);
  if (before && before.timing === timing && before.replans === replans) return before.made;
  const made = replanMotion(motion, timing, replans);
  lastReplanned.set(motion, { timing, replans, made });
  return made;
}

/** The shot's motion on the animator's puppet, as the take has it. Asked again of the same motion and decisions, it hands out the same object. */
export function puppetMotionOf(book: Book, timing: Timing, tracks: Tracks): PuppetMotion {
  const { puppet, steps, handContacts, poseFixes, tailChain, chains } = book;
  const choices: PuppetChoices = { puppet, steps, handContacts, poseFixes, tailChain, chains };
  const before = lastOfMotion.get(timing.motion);
  if (before && Object.entries(choices).every(([name, value]) => before.choices[name as keyof PuppetChoices] === value))
    return before.made;
  const { bodyHeightPx: heightPx } = tracks;
  let lengths = lengthsOfTracks.get(tracks);
  if (!lengths) {
    lengths = measurePerformer(tracks.at(tracks.timesSec), heightPx);
    lengthsOfTracks.set(tracks, lengths);
  }
  const asActed = retarget(timing.motion, { heightPx, lengths }, puppet, {
    fps: fpsOf(timing.grid.rate),
    steps,
    handContacts,
    tail: tailOf(choices, timing.motion),
  });
  const made = applyFixes(asActed, poseFixes);
  lastOfMotion.set(timing.motion, { choices, made });
  return made;
}

/** What was found last of each motion on the puppet. */
const lastHitches = new WeakMap<PuppetMotion, Hitches>();

/** What this puppet may not be able to do of the shot; the same object for the same puppet motion. */
export function hitchesOf(puppet: PuppetMotion): Hitches {
  const before = lastHitches.get(puppet);
  if (before) return before;
  const hitches = findHitches(puppet);
  lastHitches.set(puppet, hitches);
  return hitches;
}

/** The points that the tail follows; null where it has none, or not all of them are known. */
function tailOf({ puppet, tailChain, chains }: PuppetChoices, { paths }: Motion): readonly JointPath[] | null {
  const chain = puppet.tail && chains.find((c) => c.id === tailChain);
  if (!chain) return null;
  const along = chain.parts.map((part) => paths.get(part));
  return along.length > 1 && along.every((path) => path !== undefined) ? along : null;
}
