import { assert } from '../base/assert.ts';
import type { FootageNote } from '../base/footage.ts';

/** One stored picture as the container tells it, before anything is decoded. */
export interface StoredPicture {
  /** The file's own time stamp, seconds; may be negative (cut away by an edit list). */
  readonly stampSec: number;
  /** How long the container says it stays on screen, seconds; 0 where it does not say. */
  readonly durationSec: number;
}

/** The pictures that a take shows, in the order in which they are seen. */
export interface FrameTable {
  /** The file's own time stamps, seconds, strictly rising. Shape [picture]. */
  readonly stampsSec: Float64Array;
  /** The container's durations, seconds, 0 where unknown. Shape [picture]. */
  readonly durationsSec: Float64Array;
}

/**
 * The frame table: sorted by time, pictures before 0 (cut away by the edit list) and second pictures at one and the same
 * time dropped. The place in it is the frame number: never a product of index and rate.
 */
export function frameTableOf(stored: readonly StoredPicture[]): FrameTable {
  // A hair below zero is rounding (edit lists count in other units than the track), a whole picture below is a cut.
  const kept = stored.filter((p) => p.stampSec > -1e-6).sort((a, b) => a.stampSec - b.stampSec);
  const rising = kept.filter((p, i) => i === 0 || p.stampSec - kept[i - 1]!.stampSec > 1e-6);
  return {
    stampsSec: Float64Array.from(rising, (p) => p.stampSec),
    durationsSec: Float64Array.from(rising, (p) => p.durationSec),
  };
}

/** The index of the picture whose stamp is nearest to `sec`, or −1 when none is within `tolerance` seconds. */
export function pictureStamped(stampsSec: Float64Array, sec: number, tolerance: number): number {
  let low = 0;
  let high = stampsSec.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (stampsSec[middle]! < sec) low = middle + 1;
    else high = middle;
  }
  const after = low < stampsSec.length ? stampsSec[low]! - sec : Number.POSITIVE_INFINITY;
  const before = low > 0 ? sec - stampsSec[low - 1]! : Number.POSITIVE_INFINITY;
  if (Math.min(after, before) > tolerance) return -1;
  return after <= before ? low : low - 1;
}

/** The picture on screen at `sec` seconds: the last one that began by then; the first one before that; −1 for no pictures. */
export function pictureShownAt(timesSec: Float64Array, sec: number): number {
  if (timesSec.length === 0) return -1;
  let low = 0;
  let high = timesSec.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (timesSec[middle]! <= sec + 1e-6) low = middle + 1;
    else high = middle;
  }
  return Math.max(0, low - 1);
}

/** What the intervals between pictures say. */
export interface Rhythm {
  /** NaN with fewer than 2 pictures. */
  readonly medianSec: number;
  /** True when intervals differ by more than rounding explains. */
  readonly varies: boolean;
}

/**
 * Median interval, and whether the intervals vary. `tickSec` is the container's own step (1 ms in WebM, 1/600 s in old
 * phone movies): two rounded stamps may put an interval wrong by one whole step either way.
 */
export function rhythmOf(timesSec: Float64Array, tickSec: number): Rhythm {
  const intervals = intervalsOf(timesSec);
  if (intervals.length === 0) return { medianSec: Number.NaN, varies: false };
  const medianSec = medianOf(intervals);
  const allowed = Math.max(1.01 * tickSec, 1e-4);
  // Judged against the mean, not the median: 33, 33, 34 ms has a median of 33 and a mean of 33.3.
  const mean = (timesSec[timesSec.length - 1]! - timesSec[0]!) / intervals.length;
  return { medianSec, varies: intervals.some((d) => Math.abs(d - mean) > allowed) };
}

/** When the last picture leaves the screen: its own duration if the file gives one, else the median interval (0 for a lone picture without one). */
export function endOf(timesSec: Float64Array, lastDurationSec: number, medianSec: number): number {
  assert(timesSec.length > 0, 'a take without pictures has no end');
  const stay = lastDurationSec > 0 ? lastDurationSec : Number.isFinite(medianSec) ? medianSec : 0;
  return timesSec[timesSec.length - 1]! + stay;
}

/** Notes on uneven times: one for a rate that varies, one for each long hole (more than 2.5 median intervals). */
export function notesOnTimes(timesSec: Float64Array, rhythm: Rhythm): FootageNote[] {
  const notes: FootageNote[] = [];
  const last = timesSec.length - 1;
  if (!rhythm.varies) return notes;
  const intervals = intervalsOf(timesSec);
  const holes: FootageNote[] = [];
  for (let i = 0; i < last; i++) {
    if (intervals[i]! <= 2.5 * rhythm.medianSec) continue;
    holes.push({
      code: 'gap',
      firstPicture: i,
      lastPicture: i + 1,
      sentence: `Between pictures ${i + 1} and ${i + 2} the camera skipped ${intervals[i]!.toFixed(2)} s (${clock(timesSec[i]!)}–${clock(timesSec[i + 1]!)}). Movement in between is guessed; film again if it matters.`,
    });
  }
  const uneven = intervals.filter((d) => Math.abs(d - rhythm.medianSec) > 0.02 * rhythm.medianSec).length;
  if (uneven > holes.length || holes.length === 0)
    notes.push({
      code: 'variable-rate',
      firstPicture: 0,
      lastPicture: last,
      sentence: `This take's pictures come at uneven times (${(1000 * minOf(intervals)).toFixed(0)} to ${(1000 * maxOf(intervals)).toFixed(0)} ms apart). Each picture keeps its own time, so the plan is not thrown off.`,
    });
  return [...notes, ...holes];
}

/** Minutes, seconds and hundredths: "0:01.37". */
export function clock(sec: number): string {
  const hundredths = Math.round(sec * 100);
  const seconds = (hundredths % 6000) / 100;
  return `${Math.floor(hundredths / 6000)}:${seconds.toFixed(2).padStart(5, '0')}`;
}

function intervalsOf(timesSec: Float64Array): number[] {
  return Array.from({ length: Math.max(0, timesSec.length - 1) }, (_, i) => timesSec[i + 1]! - timesSec[i]!);
}

function medianOf(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[half]! : (sorted[half - 1]! + sorted[half]!) / 2;
}

const minOf = (values: readonly number[]) => values.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY);
const maxOf = (values: readonly number[]) => values.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
