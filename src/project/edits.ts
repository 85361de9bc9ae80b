import { never } from '../base/assert.ts';
import type { FrameRate } from '../base/frameRate.ts';
import type { Joint, PropId } from '../base/joints.ts';
import type { PoseFix } from '../puppet/poseFix.ts';
import { type PuppetProfile, puppetOfHeight } from '../puppet/profile.ts';
import type { StepPlan } from '../puppet/puppetMotion.ts';
import type { FrameMove } from '../timing/retime.ts';
import type { Retiming } from '../timing/timeMap.ts';
import type { Chain, Exaggeration, ExposureSpan, OnFrames, PinnedKey, SoundChoices } from '../timing/timing.ts';
import type { Correction } from '../track/correction.ts';
import type { HandContact } from '../track/handContact.ts';
import type { Prop } from '../track/prop.ts';
import type { AnimatedShot, Book, CutPart, FrameNote, PrintedKinds, ReplanChoice } from './book.ts';
import { inOrder } from './cutReplans.ts';
import { moveCut } from './moveCut.ts';
import { moveFrames } from './moveFrames.ts';

/** Everything an animator can decide about a shot. Times are take seconds, so that a change of frame rate moves nothing. */
export type Edit =
  | { readonly kind: 'rename'; readonly shotName: string }
  | { readonly kind: 'setNotes'; readonly notes: string }
  | { readonly kind: 'setMirrored'; readonly mirrored: boolean }
  | { readonly kind: 'trim'; readonly startSec: number | null; readonly endSec: number | null }
  /** Other stretches become the shot that is cut together; what stands at their moments goes along (see `moveCut`). */
  | { readonly kind: 'setCut'; readonly cut: readonly CutPart[] }
  | { readonly kind: 'setRate'; readonly rate: FrameRate }
  | { readonly kind: 'setOnFrames'; readonly onFrames: OnFrames }
  /** Null gives the number back to the computation. */
  | { readonly kind: 'setKeyCount'; readonly keyCount: number | null }
  /** A key of the animator's own, or a computed one locked where it is. */
  | { readonly kind: 'pinKey'; readonly key: PinnedKey }
  /** Moves a key, whether pinned or computed: it becomes the animator's. */
  | { readonly kind: 'moveKey'; readonly id: string; readonly fromSec: number; readonly key: PinnedKey }
  /** Takes a key away and keeps the computation from putting it back. */
  | { readonly kind: 'removeKey'; readonly id: string; readonly takeSec: number }
  /** Gives a pinned key back to the computation. */
  | { readonly kind: 'unpinKey'; readonly id: string }
  /** The take's time laid over the shot anew; what is written at frames goes along (see `moveFrames`). */
  | { readonly kind: 'retime'; readonly retiming: Retiming; readonly moves: readonly FrameMove[] }
  | { readonly kind: 'exaggerate'; readonly exaggeration: Exaggeration }
  /** Null gives up the budget: runs of `onFrames` again. */
  | { readonly kind: 'setExposureBudget'; readonly exposures: number | null }
  | { readonly kind: 'setExposureSpans'; readonly spans: readonly ExposureSpan[] }
  | { readonly kind: 'setExposedFrames'; readonly frames: readonly number[] }
  /** An empty name gives the phase its own name back. */
  | { readonly kind: 'namePhase'; readonly id: string; readonly name: string }
  | { readonly kind: 'setChains'; readonly chains: readonly Chain[] }
  | { readonly kind: 'setSound'; readonly sound: SoundChoices }
  /** A marked point, new or changed. */
  | { readonly kind: 'setProp'; readonly prop: Prop }
  | { readonly kind: 'removeProp'; readonly id: PropId }
  | { readonly kind: 'setPuppet'; readonly puppet: PuppetProfile }
  | { readonly kind: 'setSteps'; readonly steps: StepPlan }
  /** A hand that keeps its place, new or changed. */
  | { readonly kind: 'setHandContact'; readonly contact: HandContact }
  | { readonly kind: 'removeHandContact'; readonly id: string }
  /** A pose changed to what the puppet can do. */
  | { readonly kind: 'setPoseFix'; readonly fix: PoseFix }
  | { readonly kind: 'removePoseFix'; readonly id: string }
  /** The shot as it was animated, and how it is laid over the plan; null = none. */
  | { readonly kind: 'setAnimated'; readonly animated: AnimatedShot | null }
  /** The moves go on from a pose that was shot; instead of what went on from the same frame before. */
  | { readonly kind: 'setReplan'; readonly replan: ReplanChoice }
  | { readonly kind: 'removeReplan'; readonly firstFrame: number }
  /** Null lets the tail hang. */
  | { readonly kind: 'setTailChain'; readonly chainId: string | null }
  /** The same puppet built larger or smaller. */
  | { readonly kind: 'setPuppetHeight'; readonly puppetHeightMm: number }
  | { readonly kind: 'setSmallestStep'; readonly smallestStepMm: number }
  | { readonly kind: 'correct'; readonly correction: Correction }
  /** Takes back the correction at this place in the list. */
  | { readonly kind: 'uncorrect'; readonly index: number }
  | { readonly kind: 'setSheetJoints'; readonly joints: readonly Joint[] }
  | { readonly kind: 'writeNote'; readonly frameIndex: number; readonly note: FrameNote }
  | { readonly kind: 'setMinutesPerExposure'; readonly minutes: number }
  /** Blank checks are left out. */
  | { readonly kind: 'setChecks'; readonly checks: readonly string[] }
  | { readonly kind: 'setPrinted'; readonly printed: PrintedKinds };

/** Two placements of one joint closer than this are the same one, dragged again: less than half a frame at 60 fps. */
const samePlaceSec = 0.008;
/** A removed key is forgotten when a key is pinned this near: the animator changed their mind. */
const sameKeySec = 0.02;

/** The book with one decision changed. Pure; the old book is untouched. */
export function applyEdit(book: Book, edit: Edit): Book {
  switch (edit.kind) {
    case 'rename':
      return { ...book, shotName: edit.shotName };
    case 'setNotes':
      return { ...book, notes: edit.notes };
    case 'setMirrored':
      return { ...book, mirrored: edit.mirrored };
    case 'trim':
      return { ...book, trimStartSec: edit.startSec, trimEndSec: edit.endSec };
    case 'setCut':
      return moveCut(book, edit.cut);
    case 'setRate':
      return { ...book, rate: edit.rate };
    case 'setOnFrames':
      return { ...book, onFrames: edit.onFrames };
    case 'setKeyCount':
      return { ...book, keyCount: edit.keyCount };
    case 'pinKey':
      return withKey(book, edit.key, book.removedKeysSec);
    case 'moveKey': {
      const others = book.pinnedKeys.filter((k) => k.id !== edit.id);
      const wasPinned = others.length < book.pinnedKeys.length;
      // A computed key would be found again where it was; a pinned one is simply gone from there.
      const removed = wasPinned ? book.removedKeysSec : [...book.removedKeysSec, edit.fromSec];
      return withKey({ ...book, pinnedKeys: others }, edit.key, removed);
    }
    case 'removeKey':
      return {
        ...book,
        pinnedKeys: book.pinnedKeys.filter((k) => k.id !== edit.id),
        removedKeysSec: [...book.removedKeysSec, edit.takeSec],
      };
    case 'unpinKey':
      return { ...book, pinnedKeys: book.pinnedKeys.filter((k) => k.id !== edit.id) };
    case 'retime':
      return { ...moveFrames(book, edit.moves), retiming: edit.retiming };
    case 'exaggerate':
      return { ...book, exaggeration: edit.exaggeration };
    case 'setExposureBudget':
      return { ...book, exposureBudget: edit.exposures };
    case 'setExposureSpans':
      return { ...book, exposureSpans: edit.spans };
    case 'setExposedFrames':
      return { ...book, exposedFrames: rising(edit.frames) };
    case 'namePhase':
      return { ...book, phaseNames: named(book.phaseNames, edit.id, edit.name) };
    case 'setChains':
      return { ...book, chains: edit.chains };
    case 'setSound':
      return { ...book, sound: edit.sound };
    case 'setProp': {
      const isKnown = book.props.some((p) => p.id === edit.prop.id);
      const props = isKnown
        ? book.props.map((p) => (p.id === edit.prop.id ? edit.prop : p))
        : [...book.props, edit.prop];
      return { ...book, props };
    }
    case 'removeProp':
      return { ...book, props: book.props.filter((p) => p.id !== edit.id) };
    case 'setPuppet':
      return { ...book, puppet: edit.puppet };
    case 'setSteps':
      return { ...book, steps: edit.steps };
    case 'setHandContact':
      return {
        ...book,
        handContacts: [...book.handContacts.filter((c) => c.id !== edit.contact.id), edit.contact].sort(
          (a, b) => a.startSec - b.startSec,
        ),
      };
    case 'removeHandContact':
      return { ...book, handContacts: book.handContacts.filter((c) => c.id !== edit.id) };
    case 'setPoseFix':
      return { ...book, poseFixes: [...book.poseFixes.filter((f) => f.id !== edit.fix.id), edit.fix] };
    case 'removePoseFix':
      return { ...book, poseFixes: book.poseFixes.filter((f) => f.id !== edit.id) };
    case 'setAnimated':
      return { ...book, animated: edit.animated };
    case 'setReplan':
      return { ...book, replans: inOrder([edit.replan, ...book.replans]) };
    case 'removeReplan':
      return { ...book, replans: book.replans.filter((r) => r.stance.firstFrame !== edit.firstFrame) };
    case 'setTailChain':
      return { ...book, tailChain: edit.chainId };
    case 'setPuppetHeight':
      return { ...book, puppet: puppetOfHeight(book.puppet, edit.puppetHeightMm) };
    case 'setSmallestStep':
      return { ...book, puppet: { ...book.puppet, smallestStepMm: edit.smallestStepMm } };
    case 'correct':
      return { ...book, corrections: addCorrection(book.corrections, edit.correction) };
    case 'uncorrect':
      return { ...book, corrections: book.corrections.filter((_, i) => i !== edit.index) };
    case 'setSheetJoints':
      return { ...book, sheetJoints: edit.joints };
    case 'writeNote':
      return { ...book, frameNotes: writeNote(book.frameNotes, edit.frameIndex, edit.note) };
    case 'setMinutesPerExposure':
      return { ...book, minutesPerExposure: edit.minutes };
    case 'setChecks':
      return { ...book, checks: edit.checks.map((check) => check.trim()).filter((check) => check !== '') };
    case 'setPrinted':
      return { ...book, printed: edit.printed };
    default:
      return never(edit);
  }
}

/** What undo calls the edit: "Undo move key". */
export function editLabel(edit: Edit): string {
  return edit.kind === 'correct' ? correctionLabels[edit.correction.kind] : labels[edit.kind];
}

const correctionLabels: Record<Correction['kind'], string> = {
  place: 'place joint',
  hide: 'hidden span',
  swapSides: 'swap sides',
  performer: 'choose performer',
};

const labels: Record<Edit['kind'], string> = {
  rename: 'rename shot',
  setNotes: 'shot notes',
  setMirrored: 'mirror',
  trim: 'trim',
  setCut: 'stretches of takes',
  setRate: 'frame rate',
  setOnFrames: 'ones or twos',
  setKeyCount: 'number of keys',
  pinKey: 'add key',
  moveKey: 'move key',
  removeKey: 'remove key',
  unpinKey: 'unlock key',
  retime: 'retiming',
  exaggerate: 'exaggeration',
  setExposureBudget: 'number of exposures',
  setExposureSpans: 'exposures by hand',
  setExposedFrames: 'locked exposure',
  namePhase: 'name of a phase',
  setChains: 'chain of parts',
  setSound: 'sound and beats',
  setProp: 'marked point',
  removeProp: 'take marked point away',
  setPuppet: 'puppet',
  setSteps: 'steps of the walk',
  setHandContact: 'hand contact',
  removeHandContact: 'take hand contact away',
  setPoseFix: 'nearest pose',
  removePoseFix: 'take nearest pose back',
  setAnimated: 'animated shot',
  setReplan: 'going on from a shot pose',
  removeReplan: 'take going on back',
  setTailChain: 'tail',
  setPuppetHeight: 'puppet height',
  setSmallestStep: 'smallest step',
  correct: 'correct joint',
  uncorrect: 'take back correction',
  setSheetJoints: 'parts on the sheet',
  writeNote: 'note',
  setMinutesPerExposure: 'minutes per exposure',
  setChecks: 'checks before animating',
  setPrinted: 'pages to print',
};

function withKey(book: Book, key: PinnedKey, removedKeysSec: readonly number[]): Book {
  const pinnedKeys = [...book.pinnedKeys.filter((k) => k.id !== key.id), key].sort((a, b) => a.takeSec - b.takeSec);
  return {
    ...book,
    pinnedKeys,
    removedKeysSec: removedKeysSec.filter((sec) => Math.abs(sec - key.takeSec) > sameKeySec),
  };
}

/** The corrections with one more; what it says anew about the same joint and moment gives way. */
function addCorrection(all: readonly Correction[], added: Correction): readonly Correction[] {
  const isSame = (c: Correction) => {
    if (added.kind === 'place')
      return c.kind === 'place' && c.joint === added.joint && Math.abs(c.takeSec - added.takeSec) < samePlaceSec;
    if (added.kind === 'performer') return c.kind === 'performer' && Math.abs(c.takeSec - added.takeSec) < samePlaceSec;
    return false;
  };
  return [...all.filter((c) => !isSame(c)), added];
}

function writeNote(notes: Book['frameNotes'], frameIndex: number, note: FrameNote): Book['frameNotes'] {
  const next = new Map(notes);
  if (note.action || note.dialogue || note.camera) next.set(frameIndex, note);
  else next.delete(frameIndex);
  return next;
}

function rising(frames: readonly number[]): readonly number[] {
  return [...new Set(frames)].sort((a, b) => a - b);
}

function named(names: Book['phaseNames'], id: string, name: string): Book['phaseNames'] {
  const next = new Map(names);
  if (name) next.set(id, name);
  else next.delete(id);
  return next;
}
