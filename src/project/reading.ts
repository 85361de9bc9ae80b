import { assert } from '../base/assert.ts';
import type { Footage } from '../base/footage.ts';
import type { Sightings } from '../track/sighting.ts';

/** What one reading of a take brought: enough to compute everything again without the video. */
export interface Reading {
  readonly footage: Footage;
  readonly sightings: Sightings;
}

/** The words part of a reading, as JSON; the number columns stand in `readingNumbers`. Times are written in full. */
export function readingHead({ footage, sightings }: Reading): string {
  const { timesSec, ...film } = footage;
  const { xPx: _x, yPx: _y, confidence: _c, timesSec: _t, ...seen } = sightings;
  // JSON has no NaN: an unknown rate or cost is null in the file.
  return JSON.stringify(
    { format: 'nudgebook-reading', version: 1, footage: { ...film, timesSec: [...timesSec] }, sightings: seen },
    (_key, value: unknown) => (typeof value === 'number' && !Number.isFinite(value) ? null : value),
    1,
  );
}

/**
 * The number columns of a reading: little-endian 32-bit floats, first all x, then all y (upright pixels, NaN = not seen),
 * then all confidences, each of shape [picture × joint] in the order of `detectedJoints`.
 */
export function readingNumbers({ sightings: s }: Reading): Uint8Array {
  const n = s.xPx.length;
  const bytes = new Uint8Array(n * 3 * 4);
  const view = new DataView(bytes.buffer);
  for (const [c, column] of [s.xPx, s.yPx, s.confidence].entries())
    for (let i = 0; i < n; i++) view.setFloat32((c * n + i) * 4, column[i]!, true);
  return bytes;
}

/** The three columns back from `readingNumbers`. @throws BrokenPromise when the length is not that of `cells` cells. */
export function columnsFrom(
  bytes: Uint8Array,
  cells: number,
): { xPx: Float32Array; yPx: Float32Array; confidence: Float32Array } {
  assert(bytes.byteLength === cells * 3 * 4, `reading: ${bytes.byteLength} bytes for ${cells} cells`);
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const column = (c: number) =>
    Float32Array.from({ length: cells }, (_, i) => view.getFloat32((c * cells + i) * 4, true));
  return { xPx: column(0), yPx: column(1), confidence: column(2) };
}
