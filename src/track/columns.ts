import { type DetectedJoint, detectedJoints, sideFollowers, sidePairs } from '../base/joints.ts';
import type { Correction, SwappedPart } from './correction.ts';
import { cell, jointsPerPicture, type Sightings, type sightingColumns } from './sighting.ts';

/**
 * A working copy of the sightings that were read: sides may be exchanged in it, sightings struck out. Columns have shape
 * [picture × joint] as in `Sightings`; confidence 0 = nothing seen, whatever x and y hold.
 */
export interface Columns {
  /** Seconds. Shape [picture], only those read. */
  readonly timesSec: Float64Array;
  readonly xPx: Float64Array;
  readonly yPx: Float64Array;
  readonly confidence: Float64Array;
  /** As in `Sightings`; NaN = no model says. */
  readonly depthPx: Float64Array;
  /** How far the picture around the joint moves until the next picture, and its sd; NaN = not measured. */
  readonly onwardXPx: Float64Array;
  readonly onwardYPx: Float64Array;
  readonly onwardSdPx: Float64Array;
}

const numberOf: ReadonlyMap<string, number> = new Map(detectedJoints.map((joint, j) => [joint, j]));

/** Where a joint stands in a row. */
export function numberOfJoint(joint: DetectedJoint): number {
  return numberOf.get(joint)!;
}

/** `sidePairs` as numbers in a row. */
export const pairNumbers: readonly (readonly [number, number])[] = sidePairs.map(([left, right]) => [
  numberOfJoint(left),
  numberOfJoint(right),
]);

/** Copies what was read; sightings that are not finite or have no confidence become confidence 0. */
export function copyColumns(s: Sightings): Columns {
  const cells = s.readCount * jointsPerPicture;
  const xPx = Float64Array.from(s.xPx.subarray(0, cells));
  const yPx = Float64Array.from(s.yPx.subarray(0, cells));
  const confidence = Float64Array.from(s.confidence.subarray(0, cells), (c, i) =>
    Number.isFinite(xPx[i]!) && Number.isFinite(yPx[i]!) && c > 0 ? Math.min(1, c) : 0,
  );
  return {
    timesSec: s.timesSec.slice(0, s.readCount),
    xPx,
    yPx,
    confidence,
    depthPx: Float64Array.from(s.depthPx.subarray(0, cells)),
    onwardXPx: Float64Array.from(s.onwardXPx.subarray(0, cells)),
    onwardYPx: Float64Array.from(s.onwardYPx.subarray(0, cells)),
    onwardSdPx: Float64Array.from(s.onwardSdPx.subarray(0, cells)),
  };
}

/** Each pair of `sidePairs` with what hangs on it, as numbers in a row. */
const exchanged: readonly (readonly (readonly [number, number])[])[] = sidePairs.map(([left, right]) => [
  [numberOfJoint(left), numberOfJoint(right)],
  ...sideFollowers
    .filter((f) => f.of === left)
    .map((f): [number, number] => [numberOfJoint(f.pair[0]), numberOfJoint(f.pair[1])]),
]);

/** Columns in which sides can be exchanged, of whichever precision. */
export type SidedColumns = Readonly<Record<(typeof sightingColumns)[number], Float64Array | Float32Array>>;

/** Exchanges left and right of one pair (an index of `sidePairs`), and of what hangs on it, in one picture. */
export function exchangePair(c: SidedColumns, picture: number, pair: number): void {
  for (const [left, right] of exchanged[pair]!) {
    const a = cell(picture, left);
    const b = cell(picture, right);
    for (const column of [c.xPx, c.yPx, c.confidence, c.depthPx, c.onwardXPx, c.onwardYPx, c.onwardSdPx]) {
      const kept = column[a]!;
      column[a] = column[b]!;
      column[b] = kept;
    }
  }
}

/** The pairs (indices of `sidePairs`) that each part has. Arms begin at the shoulders, legs at the hips. */
const pairsOfPart: Readonly<Record<SwappedPart, readonly number[]>> = {
  all: [...pairNumbers.keys()],
  arms: [2, 3, 4],
  legs: [5, 6, 7],
};

/** Exchanges left and right in the spans where the animator says so, in place. */
export function exchangeAsTold(c: Columns, corrections: readonly Correction[]): void {
  for (const told of corrections) {
    if (told.kind !== 'swapSides') continue;
    for (const [i, sec] of c.timesSec.entries())
      if (sec >= told.startSec && sec <= told.endSec)
        for (const pair of pairsOfPart[told.part]) exchangePair(c, i, pair);
  }
}

/** Exchanges left and right of every pair in one picture. */
export function exchangeSides(c: SidedColumns, picture: number): void {
  for (let pair = 0; pair < pairNumbers.length; pair++) exchangePair(c, picture, pair);
}
