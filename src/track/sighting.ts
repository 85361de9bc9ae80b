import { assert } from '../base/assert.ts';
import { detectedJoints } from '../base/joints.ts';

/** How many joints stand in one row of a `Sightings` column. */
export const jointsPerPicture = detectedJoints.length;

/** Which detector saw the joints, and what it cost. */
export interface DetectorFacts {
  /** The model's name ("movenet-thunder"). */
  readonly model: string;
  /** What it ran on: "webgpu", "webgl" or "wasm". */
  readonly backend: string;
  /** Time per picture spent on decoding, resizing and detecting, milliseconds. NaN when unknown. */
  readonly millisecondsPerFrame: number;
  /** Wall time of the whole reading, seconds. NaN when unknown. */
  readonly readSeconds: number;
}

/**
 * What the detector saw, picture by picture: raw, never edited. Everything downstream is computed from it again, so the
 * video is not needed a second time.
 *
 * Columns have shape [picture × joint], joint running fastest in the order of `detectedJoints`. NaN in x and y = not
 * seen, or not read yet. Left and right are as the detector said them, before sides are settled.
 */
export interface Sightings {
  readonly detector: DetectorFacts;
  /** Size of the upright picture. */
  readonly widthPx: number;
  readonly heightPx: number;
  /** Shape [picture], seconds, strictly rising; equal to the footage's. */
  readonly timesSec: Float64Array;
  readonly xPx: Float32Array;
  readonly yPx: Float32Array;
  /** 0..1 as the model gives it; 0 where not seen. */
  readonly confidence: Float32Array;
  /**
   * Distance from the lens as the model guesses it, in picture pixels (the scale of x), relative to the middle of the hips;
   * negative = nearer to the lens. NaN where no model says.
   */
  readonly depthPx: Float32Array;
  /**
   * How far the picture around the joint moves from this picture to the next one, pixels, and its standard deviation along
   * one axis; measured by optical flow, so it says nothing about where the joint is. NaN = not measured (also in the last
   * picture). The row is that of the earlier picture: exchanging sides there takes it along.
   */
  readonly onwardXPx: Float32Array;
  readonly onwardYPx: Float32Array;
  readonly onwardSdPx: Float32Array;
  /** How many pictures have been read, from the first on. Less than the footage's after a pause or cancel. */
  readonly readCount: number;
  /** How many of them, from the first on, have been looked at finely, too; absent = none. */
  readonly fineCount?: number | undefined;
  /** From how many of them, from the first on, steps to the next have been measured; absent = none. */
  readonly followCount?: number | undefined;
  /** People counted in some of the pictures (not in all: counting is dear). Rising times; may be empty. */
  readonly peopleSeen: readonly { readonly timeSec: number; readonly count: number }[];
}

/** The number columns of sightings, in the order in which files hold them. */
export const sightingColumns = ['xPx', 'yPx', 'confidence', 'depthPx', 'onwardXPx', 'onwardYPx', 'onwardSdPx'] as const;
/** The number columns by themselves. */
export type SightingColumns = Readonly<Record<(typeof sightingColumns)[number], Float32Array>>;

/** Columns in which nothing has been seen yet: NaN places, no confidence. */
export function emptySightingColumns(pictures: number): SightingColumns {
  const length = pictures * jointsPerPicture;
  const column = (name: string) => new Float32Array(length).fill(name === 'confidence' ? 0 : Number.NaN);
  return Object.fromEntries(sightingColumns.map((name) => [name, column(name)])) as SightingColumns;
}

/** The same columns with only these rows, in this order. */
export function sightingRows(columns: SightingColumns, rows: Int32Array): SightingColumns {
  const taken = emptySightingColumns(rows.length);
  for (const name of sightingColumns)
    for (const [to, from] of rows.entries())
      taken[name].set(
        columns[name].subarray(from * jointsPerPicture, (from + 1) * jointsPerPicture),
        to * jointsPerPicture,
      );
  return taken;
}

/** Where joint number `joint` of picture `picture` stands in the columns. */
export function cell(picture: number, joint: number): number {
  return picture * jointsPerPicture + joint;
}

/** Asserts that columns, times and counts fit one another. @throws BrokenPromise naming the misfit. */
export function checkSightings(s: Sightings): void {
  const n = s.timesSec.length * jointsPerPicture;
  for (const name of sightingColumns)
    assert(s[name].length === n, `sightings: ${name} of ${s[name].length}, expected ${n}`);
  assert(
    s.readCount >= 0 && s.readCount <= s.timesSec.length,
    `sightings: ${s.readCount} read of ${s.timesSec.length}`,
  );
  for (let i = 1; i < s.timesSec.length; i++)
    assert(s.timesSec[i]! > s.timesSec[i - 1]!, `sightings: time ${i} does not rise`);
}
