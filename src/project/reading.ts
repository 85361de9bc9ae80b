import type { Footage } from '../base/footage.ts';
import { cocoJoints, detectedJoints } from '../base/joints.ts';
import type { Soundtrack } from '../base/sound.ts';
import type { FollowedProps } from '../track/followedProp.ts';
import {
  cell,
  emptySightingColumns,
  type SightingColumns,
  type Sightings,
  sightingColumns,
} from '../track/sighting.ts';

/** What one reading of a take brought: enough to compute everything again without the video. */
export interface Reading {
  readonly footage: Footage;
  readonly sightings: Sightings;
  /** Absent where the take has no sound, or where it was not read. */
  readonly sound?: Soundtrack;
  /** Marked points as they were followed; absent where none was. */
  readonly followed?: FollowedProps;
}

/** A take in which nobody was looked for yet. */
export function unread(footage: Footage): Reading {
  const { timesSec, widthPx, heightPx } = footage;
  return {
    footage,
    sightings: {
      detector: { model: '', backend: '', millisecondsPerFrame: Number.NaN, readSeconds: Number.NaN },
      ...{ timesSec, widthPx, heightPx, ...emptySightingColumns(timesSec.length) },
      ...{ readCount: 0, peopleSeen: [] },
    },
  };
}

/**
 * What is still true of a reading when the take's pictures have become others, or more: its first pictures as they were seen. The rest
 * is to be read yet, and marked points that went further are to be followed again.
 * @param unchanged how many pictures, from the first on, are the same as before.
 * @param footage of the pictures as they are now, at the same rate.
 */
export function readingOfChanged(before: Reading, unchanged: number, footage: Footage): Reading {
  const { sightings, followed } = before;
  const was = sightings.timesSec.length;
  const count = Math.min(unchanged, was, footage.timesSec.length);
  const columns = emptySightingColumns(footage.timesSec.length);
  for (const name of sightingColumns) columns[name].set(sightings[name].subarray(0, cell(count, 0)));
  // The step from the last picture leads to one that is another now, or is new.
  const steps = Math.min(sightings.followCount ?? 0, count - 1);
  for (const name of ['onwardXPx', 'onwardYPx', 'onwardSdPx'] as const)
    columns[name].fill(Number.NaN, cell(Math.max(0, steps), 0), cell(count, 0));
  const endSec = footage.timesSec[count] ?? Number.POSITIVE_INFINITY;
  const legs = [...(followed ?? [])].flatMap(([id, all]) => {
    const within = all.filter(({ mark, timesSec }) => Math.max(mark.takeSec, ...timesSec) < endSec - 1e-4);
    return within.length > 0 ? [[id, within] as const] : [];
  });
  return {
    footage,
    sightings: {
      ...sightings,
      timesSec: footage.timesSec,
      ...columns,
      readCount: Math.min(sightings.readCount, count),
      fineCount: Math.min(sightings.fineCount ?? 0, count),
      followCount: Math.max(0, steps),
      peopleSeen: sightings.peopleSeen.filter(({ timeSec }) => timeSec < endSec - 1e-4),
    },
    ...(legs.length > 0 ? { followed: new Map(legs) } : {}),
  };
}

/** The version of a stored reading. 1 held the 17 COCO joints and three columns. */
export const readingVersion = 2;

/** The words part of a reading, as JSON; the number columns stand in `readingNumbers`. Times are written in full. */
export function readingHead({ footage, sightings }: Reading): string {
  const { timesSec, ...film } = footage;
  const { detector, widthPx, heightPx, readCount, fineCount, followCount, peopleSeen } = sightings;
  // JSON has no NaN: an unknown rate or cost is null in the file.
  return JSON.stringify(
    {
      format: 'nudgebook-reading',
      version: readingVersion,
      joints: detectedJoints,
      columns: sightingColumns,
      footage: { ...film, timesSec: [...timesSec] },
      sightings: { detector, widthPx, heightPx, readCount, fineCount, followCount, peopleSeen },
    },
    (_key, value: unknown) => (typeof value === 'number' && !Number.isFinite(value) ? null : value),
    1,
  );
}

/**
 * The number columns of a reading: little-endian 32-bit floats, column after column in the order of `sightingColumns`,
 * each of shape [picture × joint] in the order of `detectedJoints`; NaN = not seen.
 */
export function readingNumbers({ sightings: s }: Reading): Uint8Array {
  const n = s.xPx.length;
  const bytes = new Uint8Array(n * sightingColumns.length * 4);
  const view = new DataView(bytes.buffer);
  for (const [c, name] of sightingColumns.entries())
    for (let i = 0; i < n; i++) view.setFloat32((c * n + i) * 4, s[name][i]!, true);
  return bytes;
}

/** What a stored reading's number columns are, in its own order; a joint or column of another version may be among them. */
export interface StoredColumns {
  readonly joints: readonly string[];
  readonly columns: readonly string[];
}

/** How the columns of a version 1 reading stood. */
export const storedInVersion1: StoredColumns = { joints: cocoJoints, columns: ['xPx', 'yPx', 'confidence'] };

/**
 * The columns back from `readingNumbers`; joints and columns that the file does not hold come out unseen.
 * @returns null when the bytes are not as many as `stored` says.
 */
export function columnsFrom(bytes: Uint8Array, pictures: number, stored: StoredColumns): SightingColumns | null {
  const row = stored.joints.length;
  if (bytes.byteLength !== pictures * row * stored.columns.length * 4) return null;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const result = emptySightingColumns(pictures);
  const places = stored.joints.map((joint) => (detectedJoints as readonly string[]).indexOf(joint));
  for (const [c, name] of stored.columns.entries()) {
    const into = sightingColumns.find((known) => known === name);
    for (let i = 0; into && i < pictures; i++)
      for (const [j, place] of places.entries())
        if (place >= 0) result[into][cell(i, place)] = view.getFloat32(((c * pictures + i) * row + j) * 4, true);
  }
  return result;
}
