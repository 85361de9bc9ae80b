import { frameStartSec } from '../../base/frameRate.ts';
import type { SoundPlace } from '../../base/sound.ts';
import { type Beat, beatsIn, fastestTempo, slowestTempo } from '../../base/tempo.ts';
import type { SoundLane } from '../../draw/soundStrip.ts';
import { type Cue, cuesIn } from '../../timing/cues.ts';
import { moveAnchor } from '../../timing/retime.ts';
import type { SnapProposal } from '../../timing/snapToBeats.ts';
import type { SoundChoices } from '../../timing/timing.ts';
import type { Session } from '../session.svelte.ts';

/** How the take's sound lies against the shot. */
export function soundPlaceOf(session: Session): SoundPlace {
  return { startSec: session.span.startSec, nudgeSec: session.book.sound.nudgeSec };
}

/** The beats in so many frames (those on screen); none without a tempo. */
export function laidBeats(session: Session, frameCount = session.grid?.frameCount ?? 0): Beat[] {
  const { beatsPerMinute, firstBeatSec } = session.book.sound;
  if (beatsPerMinute === null) return [];
  return beatsIn(session.book.rate, beatsPerMinute, firstBeatSec, frameCount);
}

/** The sounds that begin within the shot, in order. */
export function cuesOf(session: Session): Cue[] {
  return session.grid ? cuesIn(session.sound.onsets, soundPlaceOf(session), session.grid) : [];
}

/** Everything that the strip shows. */
export function soundLaneOf(session: Session): SoundLane {
  return {
    rate: session.book.rate,
    frameCount: session.grid?.frameCount ?? 1,
    sound: session.sound.track,
    place: soundPlaceOf(session),
    onsets: session.sound.onsets,
    beats: laidBeats(session),
    dialogue: saidIn(session),
  };
}

/** What is said in the shot, by frame, rising. */
export function saidIn(session: Session): { readonly frameIndex: number; readonly text: string }[] {
  return [...session.book.frameNotes]
    .flatMap(([frameIndex, { dialogue }]) => (dialogue === '' ? [] : [{ frameIndex, text: dialogue }]))
    .sort((a, b) => a.frameIndex - b.frameIndex);
}

/** Changes some of what the animator says about the sound. */
export function changeSound(session: Session, change: Partial<SoundChoices>, gesture: string | null = null): void {
  session.edit({ kind: 'setSound', sound: { ...session.book.sound, ...change } }, gesture);
}

/** The tempo as it may be: within what is offered, and no longer than it can be read. */
export function tempoFit(beatsPerMinute: number): number {
  return Math.round(Math.min(fastestTempo, Math.max(slowestTempo, beatsPerMinute)) * 1000) / 1000;
}

/** One tap on the beat; from the third on, the beats follow the taps. */
export function tapBeat(session: Session): void {
  const { taps } = session.sound;
  taps.tap(performance.now(), session.playhead);
  const { tempo, count, gesture } = taps;
  if (!tempo || count < 3) return;
  const beatsPerMinute = tempoFit(tempo.beatsPerMinute);
  changeSound(session, { beatsPerMinute, firstBeatSec: tempo.firstBeatSec }, gesture);
  session.say(`${Math.round(beatsPerMinute)} beats a minute`);
}

/** The first beat falls on the frame under the playhead. */
export function firstBeatHere(session: Session): void {
  const { frame } = session.playhead;
  const firstBeatSec = frameStartSec(session.book.rate, frame);
  changeSound(session, { firstBeatSec, beatsPerMinute: session.book.sound.beatsPerMinute ?? 120 });
  session.say(`The first beat falls on frame ${frame + 1}`);
}

/** Writes what is said at a frame; nothing takes the note away. */
export function say(session: Session, frameIndex: number, dialogue: string, gesture: string | null): void {
  const note = session.book.frameNotes.get(frameIndex) ?? { action: '', dialogue: '', camera: '' };
  if (note.dialogue !== dialogue) session.edit({ kind: 'writeNote', frameIndex, note: { ...note, dialogue } }, gesture);
}

/** Goes to the field for what is said at the playhead, opening its tab where it is not in sight. */
export function writeSaid(session: Session): void {
  session.view.timingTab = 'sound';
  session.playhead.pause();
  requestAnimationFrame(() => document.getElementById(saidFieldId)?.focus());
}

/** Where what is said is typed. */
export const saidFieldId = 'said-here';

let snaps = 0;

/** Puts keys on their beats: the poses stay, the time on both sides of each gives and takes. One step to undo. */
export function putOnBeats(session: Session, offers: readonly SnapProposal[]): void {
  const gesture = `snap ${++snaps}`;
  const before = session.shotTiming?.keys ?? [];
  // The last first where keys come later, the first first where they come earlier: so none has to pass another.
  const later = offers.filter((o) => o.byFrames > 0).reverse();
  const earlier = offers.filter((o) => o.byFrames < 0);
  let put = 0;
  for (const { key, toFrame } of [...later, ...earlier]) {
    const now = session.shotTiming;
    if (!now) return;
    const moved = moveAnchor(now, `key ${key.id}`, toFrame, 'absorb');
    if (moved.moves.length === 0) continue;
    // Of one gesture the last retiming counts, from where all began: it says where every key went.
    const frameOf = (id: string) => (id === key.id ? toFrame : now.keys.find((k) => k.id === id)?.frameIndex);
    const moves = before.map((k) => ({ fromFrame: k.frameIndex, toFrame: frameOf(k.id) ?? k.frameIndex }));
    session.edit({ kind: 'retime', retiming: moved.retiming, moves }, gesture);
    put++;
  }
  session.say(put === 1 ? 'One key stands on its beat' : `${put} keys stand on their beats`);
}
