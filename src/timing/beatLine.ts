import { median } from '../track/quantile.ts';

/** Something that was heard or tapped on a beat. */
export interface NumberedBeat {
  readonly sec: number;
  /** Which beat, counted from any. */
  readonly beat: number;
}

/** A steady beat: `at(beat)` is its time, `step` the seconds from one to the next. */
export interface BeatLine {
  readonly step: number;
  at(beat: number): number;
}

const mostPaired = 48;

/** Least squares through beats; at least two different ones. */
export function leastSquaresBeat(beats: readonly NumberedBeat[]): BeatLine {
  const n = beats.length;
  const meanBeat = beats.reduce((sum, t) => sum + t.beat, 0) / n;
  const meanSec = beats.reduce((sum, t) => sum + t.sec, 0) / n;
  const spread = beats.reduce((sum, t) => sum + (t.beat - meanBeat) ** 2, 0);
  const step = beats.reduce((sum, t) => sum + (t.beat - meanBeat) * (t.sec - meanSec), 0) / spread;
  return { step, at: (beat) => meanSec + step * (beat - meanBeat) };
}

/** The median of the slopes between all pairs, and of what it leaves (Theil 1950, Sen 1968): nearly a third may be far off. */
export function medianBeat(all: readonly NumberedBeat[]): BeatLine {
  // Of very many, evenly picked ones say the same: the pairs grow with the square.
  const beats = all.filter((_, i) => i % Math.ceil(all.length / mostPaired) === 0);
  const slopes = beats.flatMap((a, i) =>
    beats.slice(i + 1).flatMap((b) => (b.beat === a.beat ? [] : [(b.sec - a.sec) / (b.beat - a.beat)])),
  );
  const step = median(slopes);
  const first = median(beats.map((t) => t.sec - step * t.beat));
  return { step, at: (beat) => first + step * beat };
}

/** Do these fall on at least two different beats? Only then is there a line through them. */
export function spansBeats(beats: readonly NumberedBeat[]): boolean {
  return beats.some((b) => b.beat !== beats[0]!.beat);
}
