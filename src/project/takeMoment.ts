import type { CutPart, TakeMoment } from './book.ts';

/** Moments nearer than this are one, seconds. */
const sameSec = 1e-6;

/** The moment of a take that stands at a moment of a cut shot; null = beyond its stretches. */
export function momentOf(cut: readonly CutPart[], shotSec: number): TakeMoment | null {
  const part = cut.find((p) => shotSec >= p.startSec - sameSec && shotSec < p.startSec + p.lengthSec - sameSec);
  return part ? { partId: part.id, takeId: part.takeId, sec: shotSec - part.startSec + part.fromSec } : null;
}

/** Where a moment of a take stands in a cut shot, in its own stretch rather than in another that shows it; null = it is not shown. */
export function shotSecOf(cut: readonly CutPart[], { partId, takeId, sec }: TakeMoment): number | null {
  const isShown = (p: CutPart) =>
    p.takeId === takeId && sec >= p.fromSec - sameSec && sec < p.fromSec + p.lengthSec - sameSec;
  const part = cut.find((p) => p.id === partId && isShown(p)) ?? cut.find(isShown);
  return part ? sec - part.fromSec + part.startSec : null;
}
