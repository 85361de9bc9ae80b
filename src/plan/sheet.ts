import { type FrameRate, fpsOf } from '../base/frameRate.ts';
import type { Part } from '../base/joints.ts';
import { feetAndFrames } from '../base/timecode.ts';
import { type SizeUnit, sizeUnitOf } from '../timing/sizeUnit.ts';
import { beatsOfPlan, cuesOfPlan } from './heard.ts';
import { clockHour } from './moves.ts';
import type { Plan } from './plan.ts';
import { exposureAtFrame } from './poses.ts';
import { replanAt } from './replans.ts';
import { sheetParts } from './sheetParts.ts';
import { supportChanges } from './support.ts';

/** How the pose column of a row is marked. The trade's marks: key circled, breakdown underlined, hold as a line down. */
export type PoseMark =
  /** A pose begins here. */
  | { readonly kind: 'key' | 'breakdown' | 'inBetween'; readonly poseNumber: number }
  /** The exposure before stays on screen (the second frame of a two). */
  | { readonly kind: 'dash'; readonly poseNumber: number }
  /** Nothing is moved: the pose above is exposed again. `ends` where this is the hold's last frame. */
  | { readonly kind: 'hold'; readonly poseNumber: number; readonly ends: boolean };

/** One part's move in a row. */
export interface RowMove {
  readonly joint: Part;
  /** How far to move in the sheet's unit, a multiple of the printed step; 0 = leave it; NaN = nothing can be said. */
  readonly amount: number;
  /** Where to on a clock face (12 = up on the screen), 1 to 12; NaN when `amount` is 0 or NaN. */
  readonly hour: number;
  /** True where the number is not to be trusted: the joint was hidden, or moves toward or away from the lens. */
  readonly isDoubtful: boolean;
}

/** One frame of the shot on paper. */
export interface SheetRow {
  /** From 0; paper prints `frameIndex + 1`. */
  readonly frameIndex: number;
  readonly mark: PoseMark;
  /** True within a moving hold. */
  readonly isMovingHold: boolean;
  /** The moves were laid anew from where the puppet was found to stand. */
  readonly isLaidAnew: boolean;
  /** The animator's words, else the key's name or first reason; "" = none. */
  readonly action: string;
  /** True when `action` is the animator's own. */
  readonly actionIsWritten: boolean;
  readonly dialogue: string;
  /** The number (from 1) of the beat that falls on this frame; null = none. Beats before the first are 0 and less. */
  readonly beat: number | null;
  /** Does a sound begin in this frame? */
  readonly isCue: boolean;
  readonly camera: string;
  /** What the puppet stands on, where that changes; "" = as above, or no foot was seen. */
  readonly support: string;
  /** In the order of the sheet's joints; empty in rows where no pose begins and in the first. */
  readonly moves: readonly RowMove[];
  /** Frames that the pose beginning here stays; 0 in other rows. */
  readonly poseFrames: number;
}

/** What stands at the head of every page. Ready to print. */
export interface SheetHeader {
  readonly shot: string;
  readonly take: string;
  /** "7.00 s". */
  readonly length: string;
  readonly frames: number;
  /** 35 mm film, 16 frames a foot: "10 + 08". */
  readonly feetAndFrames: string;
  /** "24", "23.976". */
  readonly fps: string;
  /** "twos". */
  readonly on: string;
  /** "250 mm". */
  readonly puppet: string;
  /** How many poses a hand has to set. */
  readonly poses: number;
  /** How many of them are keys or breakdowns. */
  readonly keys: number;
  readonly notes: string;
}

/** The exposure sheet, before any layout. */
export interface Sheet {
  readonly header: SheetHeader;
  /** Parts whose moves are printed: those asked for that were tracked; the marked points where nobody was seen. */
  readonly joints: readonly Part[];
  /** What moves are told in: millimetres on the puppet, picture pixels where nothing tells how large things are. */
  readonly unit: SizeUnit['name'];
  /** One row per frame. */
  readonly rows: readonly SheetRow[];
  /** Rows of one printed page. */
  readonly rowsPerPage: number;
  /** A heavier line is drawn after every this many rows. */
  readonly heavyEvery: number;
  /** Frames of one second to the next whole frame, for the second marks (24 at 23.976). */
  readonly framesPerSecond: number;
}

/**
 * Rows of one page: as many whole seconds as make up to 100 rows. 24 fps gives the trade's 96 (six feet of film) and
 * 25 fps its 100; 30 gives 90, 12 gives 96.
 */
export function rowsPerPage(rate: FrameRate): number {
  const second = Math.round(fpsOf(rate));
  return Math.max(1, Math.floor(100 / second)) * second;
}

/**
 * Distance of the heavier lines: 8 rows where a second is a multiple of 8 (half a foot of film, three to the second at
 * 24), else 5 (25, 30, 50 …) or 6 (12, 18), so that every second ends on a heavy line.
 */
export function heavyLineEvery(rate: FrameRate): number {
  const second = Math.round(fpsOf(rate));
  return [8, 5, 6].find((n) => second % n === 0) ?? 8;
}

/** Lays the plan out in rows. */
export function writeSheet(plan: Plan): Sheet {
  const { timing, book, poses } = plan;
  const { grid, exposures, holds } = timing;
  const parts = sheetParts(plan);
  const exposureAt = exposureAtFrame(timing);
  const poseOfExposure = poses.flatMap((pose) => new Array<(typeof poses)[number]>(pose.exposureCount).fill(pose));
  const movesInto = groupMoves(plan, parts);
  const beatAt = new Map(beatsOfPlan(plan).map((beat) => [beat.frame, beat.number + 1]));
  const support = supportChanges(plan.puppet, grid.frameCount);
  const cueAt = new Set(cuesOfPlan(plan).map((cue) => cue.frame));

  const rows: SheetRow[] = [];
  for (let k = 0; k < grid.frameCount; k++) {
    const exposure = exposureAt[k] ?? -1;
    const pose = poseOfExposure[exposure];
    const note = book.frameNotes.get(k);
    const key = timing.keys.find((candidate) => candidate.frameIndex === k);
    const begins = pose?.firstFrame === k;
    const written = note?.action ?? '';
    rows.push({
      frameIndex: k,
      mark: markOf(k),
      isMovingHold: holds.some((h) => h.kind === 'movingHold' && h.firstFrame <= k && k < h.firstFrame + h.frames),
      isLaidAnew: replanAt(plan, k) !== null,
      action: written || (key ? key.name || (key.reasons[0] ?? '') : ''),
      actionIsWritten: written !== '',
      dialogue: note?.dialogue ?? '',
      beat: beatAt.get(k) ?? null,
      isCue: cueAt.has(k),
      camera: note?.camera ?? '',
      support: support[k] ?? '',
      moves: begins ? (movesInto.get(exposure) ?? []) : [],
      poseFrames: begins ? pose.frames : 0,
    });
  }
  return {
    header: headerOf(plan),
    joints: parts,
    unit: sizeUnitOf(timing).name,
    rows,
    rowsPerPage: rowsPerPage(grid.rate),
    heavyEvery: heavyLineEvery(grid.rate),
    framesPerSecond: Math.round(fpsOf(grid.rate)),
  };

  function markOf(k: number): PoseMark {
    const exposure = exposureAt[k] ?? -1;
    const pose = poseOfExposure[exposure];
    if (!pose) return { kind: 'dash', poseNumber: 0 };
    const poseNumber = pose.number;
    if (pose.firstFrame === k) return { kind: pose.key?.kind ?? 'inBetween', poseNumber };
    // A pose of one exposure is an ordinary two or three; of several, a hold, whose line begins at its second frame.
    const first = exposures[pose.firstExposure];
    const isHold = pose.exposureCount > 1 || (first !== undefined && first.frames > 4);
    if (!isHold) return { kind: 'dash', poseNumber };
    return { kind: 'hold', poseNumber, ends: k === pose.firstFrame + pose.frames - 1 };
  }
}

/** The printed moves by the exposure that they lead into. */
function groupMoves(plan: Plan, parts: readonly Part[]): Map<number, RowMove[]> {
  const column = new Map(parts.map((joint, i) => [joint, i]));
  const grouped = new Map<number, RowMove[]>();
  for (const move of plan.moves) {
    const at = column.get(move.joint);
    if (at === undefined) continue;
    const row = grouped.get(move.exposure) ?? [];
    row[at] = {
      joint: move.joint,
      amount: move.px?.rounded ?? move.roundedMm,
      hour: clockHour(move.nudgeDeg),
      isDoubtful: move.outOfPlane || move.guessed,
    };
    grouped.set(move.exposure, row);
  }
  return grouped;
}

function headerOf({ book, footage, timing, poses }: Plan): SheetHeader {
  const { grid, choices } = timing;
  const seconds = (grid.frameCount * grid.rate.seconds) / grid.rate.frames;
  return {
    shot: book.shotName,
    take: footage.name,
    length: `${seconds.toFixed(2)} s`,
    frames: grid.frameCount,
    feetAndFrames: feetAndFrames(grid.frameCount),
    fps: fpsLabel(grid.rate),
    on: ['', 'ones', 'twos', 'threes', 'fours'][choices.onFrames] ?? '',
    puppet: `${choices.puppetHeightMm} mm`,
    poses: poses.length,
    keys: timing.keys.length,
    notes: book.notes,
  };
}

/** The rate as animators say it: whole, or with up to three digits ("23.976"). */
export function fpsLabel(rate: FrameRate): string {
  return String(Math.round(fpsOf(rate) * 1000) / 1000);
}
