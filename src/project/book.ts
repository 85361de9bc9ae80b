import type { FrameRate } from '../base/frameRate.ts';
import type { Joint } from '../base/joints.ts';
import type { Orientation, PageKind } from '../base/paper.ts';
import type { Laying } from '../compare/laying.ts';
import type { NumberGaps } from '../compare/pictureNumbers.ts';
import type { PictureOrder } from '../compare/shotFrames.ts';
import type { Stance } from '../compare/stance.ts';
import { newPuppet } from '../puppet/builtIn.ts';
import type { PoseFix } from '../puppet/poseFix.ts';
import { type PuppetProfile, standingHeightMm } from '../puppet/profile.ts';
import type { FrameRun, StepPlan } from '../puppet/puppetMotion.ts';
import type { Retiming, TimeKnot } from '../timing/timeMap.ts';
import {
  asFilmed,
  type Chain,
  type Exaggeration,
  type ExposureSpan,
  type OnFrames,
  type PinnedKey,
  type SoundChoices,
  soundAsRecorded,
  type TimingChoices,
} from '../timing/timing.ts';
import type { Correction } from '../track/correction.ts';
import type { HandContact } from '../track/handContact.ts';
import type { Prop } from '../track/prop.ts';
import { notBegun, type Shooting } from './shooting.ts';

/**
 * One shot as the animator has decided it. Nothing computed is in it (a take's sightings are kept beside it), so undo,
 * saving and "why?" come almost for free. Immutable: edits make a new one.
 */
export interface Book {
  readonly version: 3;
  /** The shot's name, printed on every page. */
  readonly shotName: string;
  /** Notes of the animator for the whole shot. */
  readonly notes: string;
  /** Is the take mirrored (a selfie view)? Then left and right are exchanged before anything is computed. */
  readonly mirrored: boolean;
  /** Part of the take that is the shot, take seconds; null = from the first or to the last picture. */
  readonly trimStartSec: number | null;
  readonly trimEndSec: number | null;
  readonly rate: FrameRate;
  readonly onFrames: OnFrames;
  readonly keyCount: number | null;
  readonly pinnedKeys: readonly PinnedKey[];
  readonly removedKeysSec: readonly number[];
  readonly retiming: Retiming;
  readonly exaggeration: Exaggeration;
  readonly exposureBudget: number | null;
  readonly exposureSpans: readonly ExposureSpan[];
  readonly exposedFrames: readonly number[];
  /** Names the animator gave to phases of moves, by the phase's id. */
  readonly phaseNames: ReadonlyMap<string, string>;
  /** Chains of parts picked for lead and drag, besides the body's own. */
  readonly chains: readonly Chain[];
  readonly sound: SoundChoices;
  /** Marked points, in the order in which they were marked. */
  readonly props: readonly Prop[];
  /** The puppet that will be animated. */
  readonly puppet: PuppetProfile;
  readonly steps: StepPlan;
  /** Hands that keep their place on something. */
  readonly handContacts: readonly HandContact[];
  /** The chain of marked points that the puppet's tail follows, by its id; null = it hangs. */
  readonly tailChain: string | null;
  /** Poses changed to what the puppet can do. */
  readonly poseFixes: readonly PoseFix[];
  readonly corrections: readonly Correction[];
  /** The stretches of other takes that this shot is cut together from, in order; none = it has one take of its own. */
  readonly cut: readonly CutPart[];
  /** Joints whose moves stand on the sheet, in column order. */
  readonly sheetJoints: readonly Joint[];
  /** What the animator wrote beside a frame, by frame index (from 0). */
  readonly frameNotes: ReadonlyMap<number, FrameNote>;
  /** What one exposure takes at the set, minutes, over 0: hours are reckoned from it. */
  readonly minutesPerExposure: number;
  /** What is looked at before the first exposure, in the animator's words and order; none is empty. */
  readonly checks: readonly string[];
  /** What is printed, and which way round the paper lies. */
  readonly printed: PrintedKinds;
  /** The shot as it was animated, to be held against the plan; null = none was chosen. */
  readonly animated: AnimatedShot | null;
  /** Where the moves go on from a pose that was shot, rising; at most one from each frame, and `mostReplans`. */
  readonly replans: readonly ReplanChoice[];
  /** How far it is shot: no decision, see `Shooting`. Nothing that is computed of the shot may hang on it. */
  readonly shooting: Shooting;
}

/** Pictures of the puppet, in a book of their own, and how they are laid over the plan. */
export interface AnimatedShot {
  /** The book that holds its pictures and what was read of them. */
  readonly bookId: string;
  /** What its pictures are; null = as their number tells. */
  readonly pictures: PictureOrder | null;
  /** What it means where numbers of its stills are not there; null = as the numbers tell. */
  readonly gaps: NumberGaps | null;
  /** The frame of the plan at which its first picture stands, from 0. */
  readonly firstFrame: number;
  /** The camera sees the set mirrored as against the plan. */
  readonly mirrored: boolean;
  /** How it is laid over the plan; by a ruler that is not there: by its joints. */
  readonly laid: Laying;
  /** A length in its picture; null = none was marked. */
  readonly ruler: PictureRuler | null;
  /** Joints that count when it is laid over the plan; null = all that are usual. */
  readonly joints: readonly Joint[] | null;
  /** Frames of the plan that count; null = all. */
  readonly frames: FrameRun | null;
}

/** A shot as it is laid over the plan at first: its pictures one after another from the first frame on. */
export function newAnimatedShot(bookId: string): AnimatedShot {
  return {
    ...{ bookId, pictures: null, gaps: null, firstFrame: 0, mirrored: false },
    ...{ laid: 'joints', ruler: null, joints: null, frames: null },
  };
}

/** More are not kept: a shot has fewer exposures than that, and only those that went wrong are worth one. */
export const mostReplans = 500;

/** The moves after an exposure that was shot are laid anew from where the puppet stood in it, to a key. */
export interface ReplanChoice {
  readonly stance: Stance;
  /** The moment of the take that the plan showed at the stance's first frame, seconds: whether it still means that pose is seen by it. */
  readonly takeSec: number;
  /** How high the puppet was that was measured, standing upright, over 0. */
  readonly heightMm: number;
  /** The moment of the key that is met on its frame, take seconds. */
  readonly keySec: number;
  /** That moment in the take of a cut shot, while it is not in the shot: `keySec` is the stance's own then, at which no key lies ahead. */
  readonly keyAside: TakeMoment | null;
}

/** A moment of a take, wherever that stands in a cut shot. */
export interface TakeMoment {
  /** Of the stretch in which it was last. */
  readonly partId: string;
  readonly takeId: string;
  /** Seconds of the take itself. */
  readonly sec: number;
}

/** Two places in a picture and the length between them on the set. */
export interface PictureRuler {
  /** Upright pixels. */
  readonly from: readonly [x: number, y: number];
  readonly to: readonly [x: number, y: number];
  /** Over 0. */
  readonly lengthMm: number;
}

/** Which pages of a shot are printed; their order is the program's. */
export interface PrintedKinds {
  /** At least one. */
  readonly pages: readonly PageKind[];
  readonly orientation: Orientation;
}

/** What there is to look at before animating when the animator has written nothing (common practice, no source). */
export const usualChecks: readonly string[] = [
  'Joints tight enough to hold every pose of this shot',
  'Tie-downs and rigs ready for the frames named here',
  'Puppet, set and props fixed; nothing rocks when touched',
  'Camera and tripod locked; focus, exposure and white balance by hand',
  'Lights warm and steady; no daylight, no reflection of clothes',
  'First pose framed as on the pop-through; room for the biggest move',
  'Costume, face and hair as in the shot before',
  'Frame rate, ones or twos and length agree with this card',
  'Test picture taken; free space and power for the whole shot',
];

/**
 * A stretch of one take in a shot that is cut together. The shot's own clock runs through all of them: sightings and corrections of a
 * cut shot are on it.
 */
export interface CutPart {
  /** Stable while the same stretch is meant, wherever it begins and ends. */
  readonly id: string;
  /** The book in which the take was read, as the shelf knows it: its pictures are shown from there. */
  readonly takeId: string;
  /** The take's name, as the animator knows it. */
  readonly name: string;
  /** The picture of the take that is its first, from 0. */
  readonly firstOfTake: number;
  /** Pictures of the cut shot that are its, from 0, and how many. */
  readonly firstPicture: number;
  readonly pictures: number;
  /** When its first picture appears, on the cut shot's clock and in the take itself, seconds. */
  readonly startSec: number;
  readonly fromSec: number;
  /** How long it lasts in the take, seconds. */
  readonly lengthSec: number;
  /** The file's own time stamp of the take's picture 0, seconds. */
  readonly firstStampSec: number;
  /** What is decided about the take beyond the stretch: it comes back when the stretch is made longer. */
  readonly aside: SetAside;
}

/** Decisions about a take, in the take's own seconds, and what was written beside its stretch. */
export interface SetAside {
  readonly corrections: readonly Correction[];
  readonly pinnedKeys: readonly PinnedKey[];
  readonly removedKeysSec: readonly number[];
  /** The time given to what lies outside: `shotSec` from the stretch's begin (before it, ≤ 0) or its end (after it, ≥ 0). */
  readonly knots: readonly TimeKnot[];
  readonly frames: FramesAside;
}

/** What stands at frames outside a stretch, counted from its first frame (before it: below 0) or from the one after its last (0 and up). */
export interface FramesAside {
  readonly notes: readonly { readonly frame: number; readonly action: string; readonly camera: string }[];
  readonly exposed: readonly number[];
  readonly spans: readonly ExposureSpan[];
  readonly replans: readonly ReplanAside[];
}

/** A re-plan whose pose is not in the shot. */
export interface ReplanAside {
  readonly frame: number;
  /** By how much its moment lies behind the one that is shown there, seconds; 0 when it is in force. */
  readonly awaySec: number;
  /** As it stood in the shot last. */
  readonly replan: ReplanChoice;
}

/** Nothing is decided about what lies outside. */
export const nothingAside: SetAside = {
  corrections: [],
  pinnedKeys: [],
  removedKeysSec: [],
  knots: [],
  frames: { notes: [], exposed: [], spans: [], replans: [] },
};

/** Words of the animator on one row of the sheet. Empty string = nothing written. */
export interface FrameNote {
  readonly action: string;
  readonly dialogue: string;
  readonly camera: string;
}

/** A new shot: 24 fps on twos, a 250 mm puppet, the parts most often printed. */
export function newBook(shotName: string): Book {
  return {
    version: 3,
    shotName,
    notes: '',
    mirrored: false,
    trimStartSec: null,
    trimEndSec: null,
    rate: { frames: 24, seconds: 1 },
    onFrames: 2,
    keyCount: null,
    pinnedKeys: [],
    removedKeysSec: [],
    retiming: { knots: [] },
    exaggeration: asFilmed,
    exposureBudget: null,
    exposureSpans: [],
    exposedFrames: [],
    phaseNames: new Map(),
    chains: [],
    sound: soundAsRecorded,
    props: [],
    puppet: newPuppet,
    steps: 'sameSteps',
    handContacts: [],
    tailChain: null,
    poseFixes: [],
    corrections: [],
    cut: [],
    sheetJoints: ['nose', 'leftWrist', 'rightWrist', 'pelvis'],
    frameNotes: new Map(),
    // Common practice, no source: a puppet with few moving parts is faster, a crowd much slower.
    minutesPerExposure: 10,
    checks: usualChecks,
    printed: { pages: ['popThrough', 'sheet'], orientation: 'portrait' },
    animated: null,
    replans: [],
    shooting: notBegun,
  };
}

/** The timing's share of a book's decisions, for the part of the take that is the shot (take seconds). */
export function choicesOf(book: Book, startSec: number, endSec: number): TimingChoices {
  const { rate, onFrames, keyCount, pinnedKeys, removedKeysSec, retiming, exaggeration, handContacts } = book;
  const { exposureBudget, exposureSpans, exposedFrames, puppet } = book;
  return {
    rate,
    startSec,
    endSec,
    onFrames,
    keyCount,
    pinnedKeys,
    removedKeysSec,
    retiming,
    exaggeration,
    handContacts,
    exposureBudget,
    exposureSpans,
    exposedFrames,
    puppetHeightMm: standingHeightMm(puppet),
    smallestStepMm: puppet.smallestStepMm,
  };
}
