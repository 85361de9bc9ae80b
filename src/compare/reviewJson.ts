import { fpsOf } from '../base/frameRate.ts';
import type { Joint } from '../base/joints.ts';
import type { Exposure } from '../timing/timing.ts';
import type { Deviation } from './deviations.ts';
import type { Finding } from './finding.ts';
import { keysMet, notesOf, type Review } from './review.ts';
import type { PlannedKey } from './shot.ts';
import type { PictureOrder } from './shotFrames.ts';

/** A number, or null where it is not known: JSON has no NaN. */
type MaybeNumber = number | null;

/** One joint against the plan. Every array has one entry per exposure; see `Deviation`. */
interface DeviationsJson {
  xMm: MaybeNumber[];
  yMm: MaybeNumber[];
  sdMm: MaybeNumber[];
  frameXMm: MaybeNumber[];
  frameYMm: MaybeNumber[];
  deg: MaybeNumber[];
  sdDeg: MaybeNumber[];
}

/**
 * The shot against its plan for other programs: names and meanings do not change within a version. Frames and exposures from 0, `exposure`s
 * are places in `exposures`. Millimetres are those of the set: x to the right, y up in the picture, shot minus plan. Pixels are upright
 * pixels of the shot's pictures, y down. Null stands where something is not known.
 */
export interface ReviewJson {
  format: 'nudgebook-review';
  version: 1;
  shot: { name: string; firstDay: string | null; lastDay: string | null; pictures: PictureOrder };
  grid: { fps: MaybeNumber; fpsExact: [number, number] };
  /** How the picture is laid over the set. Where poses are held against each other one by one (`none`), it has no one direction. */
  registration: {
    kind: 'similarity' | 'ruler' | 'none';
    mmPerPx: MaybeNumber;
    rotationDeg: MaybeNumber;
    mirrored: boolean;
  };
  /** What was shot, with the frame of the plan that each shows, with fractions. */
  exposures: { firstFrame: number; frames: number; planFrame: MaybeNumber }[];
  /** Where the background lies against the first picture, an entry for each exposure; null = it was not measured. */
  camera: { xPx: MaybeNumber[]; yPx: MaybeNumber[] } | null;
  /** `lateFrames` is negative for a key that is early; `off` where that is sure. */
  keys: {
    number: number;
    kind: PlannedKey['kind'];
    frameIndex: number;
    name: string;
    lateFrames: MaybeNumber;
    sdFrames: MaybeNumber;
    off: boolean;
  }[];
  /** Worst first. `note` is the number on the printed page, from 1; null for what camera and light did. */
  findings: {
    note: number | null;
    kind: Finding['kind'];
    joint: Joint | null;
    also: Joint[];
    firstFrame: number;
    frames: number;
    atFrame: number;
    size: MaybeNumber;
    unit: Finding['unit'];
    sd: MaybeNumber;
    weight: MaybeNumber;
    sentence: string;
  }[];
  /**
   * Joints that were found elsewhere on what carries them in all of the shot, and are judged as if they were not, the furthest first:
   * how far, and how much further from what carries them (negative = nearer).
   */
  leftOut: { joint: Joint; carrier: Joint; sizeMm: MaybeNumber; furtherMm: MaybeNumber; sdMm: MaybeNumber }[];
  /** Joints that were hardly recognised, and are judged only by what they do from one picture to the next. */
  unsure: Joint[];
  /**
   * Where marked points may have left their joints, so that nothing is judged: from `firstFrame` on for so many frames. `offMm` from wherever
   * the joint could be then; null = followed from two marks the point comes to two places.
   */
  astray: { joint: Joint; firstFrame: number; frames: number; offMm: MaybeNumber }[];
  /** Where left and right limbs were taken for each other, so that neither is judged: from `firstFrame` on for so many frames. */
  mistaken: { limbs: 'arms' | 'legs'; firstFrame: number; frames: number }[];
  /** As measured, with what was left out in it. */
  deviations: Partial<Record<Joint, DeviationsJson>>;
  /** Ways of joints from key to key; fractions tell how much of the way is behind each of the exposures. */
  moves: {
    joint: Joint;
    fromFrame: number;
    toFrame: number;
    exposures: number[];
    planMm: MaybeNumber;
    shotMm: MaybeNumber;
    planFractions: MaybeNumber[];
    shotFractions: MaybeNumber[];
    besideMm: MaybeNumber;
    sdMm: MaybeNumber;
  }[];
}

/** The review as the plain object of `review.json`, ready for JSON.stringify. Never holds NaN, infinities or undefined. */
export function reviewJson(review: Review): ReviewJson {
  const { comparison, planned, days } = review;
  const { registration, camera, planFrame, exposures } = comparison;
  const notes = notesOf(review);
  const toMm = registration.toMm[0];
  return {
    format: 'nudgebook-review',
    version: 1,
    shot: {
      name: review.shotName,
      firstDay: days?.[0] ?? null,
      lastDay: days?.[1] ?? null,
      pictures: review.pictures,
    },
    grid: { fps: said(fpsOf(planned.rate), 9), fpsExact: [planned.rate.frames, planned.rate.seconds] },
    registration: {
      kind: registration.kind,
      mmPerPx: said(registration.mmPerPx, 6),
      rotationDeg: registration.fit && toMm ? said(toMm.rotationDeg, 3) : null,
      mirrored: toMm?.isMirrored ?? false,
    },
    exposures: exposures.map(({ firstFrame, frames }, i) => ({
      firstFrame,
      frames,
      planFrame: said(planFrame[i] ?? Number.NaN, 3),
    })),
    camera: review.isCameraMeasured ? { xPx: column(camera.xPx, 3), yPx: column(camera.yPx, 3) } : null,
    keys: keysMet(review).map(({ key, number, late, sd, isOff }) => ({
      number,
      kind: key.kind,
      frameIndex: key.frameIndex,
      name: key.name,
      lateFrames: said(late, 3),
      sdFrames: said(sd, 3),
      off: isOff,
    })),
    findings: comparison.findings.map((f) => ({
      note: notes.indexOf(f) + 1 || null,
      kind: f.kind,
      joint: f.joint,
      also: [...f.also],
      firstFrame: f.firstFrame,
      frames: f.frames,
      atFrame: f.atFrame,
      size: said(f.size, 4),
      unit: f.unit,
      sd: said(f.sd, 4),
      weight: said(f.weight, 4),
      sentence: f.sentence,
    })),
    leftOut: comparison.leftOut.map((t) => ({
      joint: t.joint,
      carrier: t.carrier,
      sizeMm: said(t.sizeMm, 3),
      furtherMm: said(t.furtherMm, 3),
      sdMm: said(t.sdMm, 3),
    })),
    unsure: [...comparison.unsure],
    astray: comparison.astray.map(({ joint, offMm, ...run }) => ({
      joint,
      ...framesFrom(exposures, run),
      offMm: said(offMm ?? Number.NaN, 3),
    })),
    mistaken: comparison.mistaken.map(({ limbs, ...run }) => ({ limbs, ...framesFrom(exposures, run) })),
    deviations: deviationsJson(comparison.deviations, exposures.length),
    moves: comparison.moves.map((m) => ({
      joint: m.joint,
      fromFrame: m.fromKey.frameIndex,
      toFrame: m.toKey.frameIndex,
      exposures: [...m.exposures],
      planMm: said(m.planMm, 3),
      shotMm: said(m.shotMm, 3),
      planFractions: column(m.planFractions, 4),
      shotFractions: column(m.shotFractions, 4),
      besideMm: said(m.besideMm, 3),
      sdMm: said(m.sdMm, 3),
    })),
  };
}

function deviationsJson(deviations: readonly Deviation[], count: number): ReviewJson['deviations'] {
  const nothing = (): MaybeNumber[] => new Array<MaybeNumber>(count).fill(null);
  const byJoint: ReviewJson['deviations'] = {};
  for (const d of deviations) {
    byJoint[d.joint] ??= {
      ...{ xMm: nothing(), yMm: nothing(), sdMm: nothing(), frameXMm: nothing(), frameYMm: nothing() },
      ...{ deg: nothing(), sdDeg: nothing() },
    };
    const of = byJoint[d.joint]!;
    for (const name of ['xMm', 'yMm', 'sdMm', 'frameXMm', 'frameYMm', 'deg', 'sdDeg'] as const)
      of[name][d.exposure] = said(d[name], 3);
  }
  return byJoint;
}

/** Null for what is not known; else rounded to the digits that can mean something. */
/** A run of exposures as frames. */
function framesFrom(
  exposures: readonly Exposure[],
  { first, last }: { readonly first: number; readonly last: number },
) {
  const [from, end] = [exposures[first]!, exposures[last]!];
  return { firstFrame: from.firstFrame, frames: end.firstFrame + end.frames - from.firstFrame };
}

function said(value: number, digits: number): MaybeNumber {
  // + 0 turns −0 into 0.
  return Number.isFinite(value) ? Number(value.toFixed(digits)) + 0 : null;
}

function column(values: Iterable<number>, digits: number): MaybeNumber[] {
  return Array.from(values, (v) => said(v, digits));
}
